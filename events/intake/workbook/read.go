package workbook

import (
	"fmt"
	"strings"

	"github.com/xuri/excelize/v2"

	"pairwalk/events/intake"
)

// Read cuts a workbook into tables, in its own order. Charts are no tables.
func Read(data []byte) (tables []intake.Table, err error) {
	defer func() {
		// The library trusts what a file says of itself, and the file is a stranger's.
		if r := recover(); r != nil {
			tables, err = nil, fmt.Errorf("read workbook: %w: save it again (%v)", ErrDamaged, r)
		}
	}()
	f, err := open(data)
	if err != nil {
		return nil, fmt.Errorf("read workbook: %w", err)
	}
	defer f.Close()
	props, err := f.GetWorkbookProps()
	if err != nil {
		return nil, fmt.Errorf("read workbook: %w: save it again (%w)", ErrDamaged, err)
	}
	formats := map[int]format{}
	for _, name := range f.GetSheetList() {
		s := &sheet{f: f, name: name, from1904: props.Date1904 != nil && *props.Date1904, formats: formats}
		t, ok, err := s.table()
		if err != nil {
			return nil, fmt.Errorf("read workbook: sheet %q: %w: save it again (%w)", name, ErrDamaged, err)
		}
		if ok {
			tables = append(tables, t)
		}
	}
	return tables, nil
}

// Named is the table of a name, as written, else whatever its case.
func Named(tables []intake.Table, name string) (intake.Table, error) {
	var names []string
	for _, t := range tables {
		if t.Name == name {
			return t, nil
		}
		names = append(names, t.Name)
	}
	for _, t := range tables {
		if strings.EqualFold(t.Name, name) {
			return t, nil
		}
	}
	return intake.Table{}, fmt.Errorf("the workbook has no sheet %q; it has %s", name, strings.Join(names, ", "))
}

// sheet is one sheet on its way to a table.
type sheet struct {
	f        *excelize.File
	name     string
	from1904 bool
	formats  map[int]format // by style
	merged   []area
	formulas []string // the cells that have one, with its value
	emptied  []string // those whose value is empty
}

// table cuts the sheet; false if it is none, but a chart.
func (s *sheet) table() (intake.Table, bool, error) {
	err := s.readMerged()
	if err != nil && strings.Contains(err.Error(), "not a worksheet") { // the library has no error of its own for it
		return intake.Table{}, false, nil
	}
	if err != nil {
		return intake.Table{}, false, err
	}
	lengths, err := s.lengths()
	if err != nil {
		return intake.Table{}, false, err
	}
	visible, err := s.f.GetSheetVisible(s.name)
	if err != nil {
		return intake.Table{}, false, err
	}
	t := intake.Table{Name: s.name, Hidden: !visible}
	var blank, hidden []int
	for i, cells := range lengths {
		number := i + 1
		row, err := s.row(number, cells)
		if err != nil {
			return intake.Table{}, false, err
		}
		if row == nil {
			blank = append(blank, number)
			continue
		}
		t.Rows = append(t.Rows, intake.TableRow{Number: number, Cells: row})
		if shown, err := s.f.GetRowVisible(s.name, number); err == nil && !shown {
			hidden = append(hidden, number)
		}
	}
	t.Notes = s.notes(t.Rows, blank, hidden)
	return t, true, nil
}

// lengths says of each row how many cells to look at. All rows are looked at as
// far as the longest one goes, within reason: a cell that can't be read looks
// blank at this stage.
func (s *sheet) lengths() ([]int, error) {
	const reason = 100
	rows, err := s.f.Rows(s.name)
	if err != nil {
		return nil, err
	}
	var out []int
	longest, last := 0, 0
	for rows.Next() {
		cells, err := rows.Columns(excelize.Options{RawCellValue: true})
		if err != nil {
			return nil, err
		}
		out = append(out, len(cells))
		longest = max(longest, len(cells))
		if len(cells) > 0 {
			last = len(out)
		}
	}
	out = out[:last]
	for i := range out {
		if out[i] > 0 {
			out[i] = max(out[i], min(longest, reason))
		}
	}
	return out, rows.Close()
}

// row reads a row of that many cells, or more where a merged cell reaches into
// it; nil if nothing stands in it.
func (s *sheet) row(number, cells int) ([]intake.Cell, error) {
	var out []intake.Cell
	blank := true
	for col := 1; col <= cells; col++ {
		if s.beneath(number, col) {
			out = append(out, intake.Cell{})
			continue
		}
		c, err := s.cell(col, number)
		if err != nil {
			return nil, err
		}
		blank = blank && strings.TrimSpace(c.Text+c.Wrong) == ""
		out = append(out, c)
	}
	if blank {
		return nil, nil
	}
	for _, a := range s.merged {
		if number <= a.top || number > a.bottom || a.left > widest {
			continue
		}
		c, err := s.cell(a.left, a.top)
		if err != nil {
			return nil, err
		}
		for len(out) < a.left {
			out = append(out, intake.Cell{})
		}
		out[a.left-1] = c
	}
	return out, nil
}

// widest is the last column that a merged cell fills downward.
const widest = 1_000
