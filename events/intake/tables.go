package intake

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// titleMost is how many rows may stand above the header row of a table.
const titleMost = 20

// ReadTables reads a workbook: the first table that is not hidden and has a
// header row which is known here. Notes name the others. One table alone is
// taken even if it is hidden.
func ReadTables(tables []Table, opt Options) (Sheet, error) {
	tables = slices.DeleteFunc(slices.Clone(tables), func(t Table) bool { return len(t.records()) == 0 })
	if len(tables) == 0 {
		return Sheet{}, fmt.Errorf("read sheet: %w", ErrEmpty)
	}
	at := slices.IndexFunc(tables, func(t Table) bool {
		_, ok := t.kind()
		return ok && (!t.Hidden || len(tables) == 1)
	})
	if at < 0 {
		return Sheet{}, likeliest(tables, opt)
	}
	sheet, err := tables[at].read(opt)
	if err != nil {
		return Sheet{}, fmt.Errorf("sheet %q: %w", tables[at].Name, err)
	}
	sheet.Table = tables[at].Name
	sheet.Notes = slices.Concat(others(tables, at), sheet.Notes)
	return sheet, nil
}

// likeliest is what is wrong with the first table that looks like a sheet, else
// with the first of all.
func likeliest(tables []Table, opt Options) error {
	var first error
	for _, t := range tables {
		_, err := t.read(opt)
		if err == nil {
			err = fmt.Errorf("it is hidden; name it behind the file to take it: FILE#%s", t.Name)
		}
		err = fmt.Errorf("sheet %q: %w", t.Name, err)
		if errors.Is(err, ErrHeader) {
			return err
		}
		if first == nil {
			first = err
		}
	}
	return first
}

// others notes the tables of a workbook that are not taken.
func others(tables []Table, at int) []Problem {
	var notes []Problem
	for i, t := range tables {
		if i == at {
			continue
		}
		kind, ok := t.kind()
		switch {
		case !ok:
			notes = append(notes, Problem{Wrong: fmt.Sprintf("sheet %q is not taken: its header row is not known here", t.Name)})
		case t.Hidden:
			notes = append(notes, Problem{Wrong: fmt.Sprintf("sheet %q is not taken: it is hidden", t.Name), Right: "name it behind the file to take it: FILE#" + t.Name})
		default:
			notes = append(notes, Problem{Wrong: fmt.Sprintf("sheet %q is not taken, and is a %s", t.Name, kind), Right: "name it behind the file to take it: FILE#" + t.Name})
		}
	}
	return notes
}

// read reads one table.
func (t Table) read(opt Options) (Sheet, error) {
	records := t.records()
	at := max(0, headerAt(records))
	header, err := headerCells(records[at])
	if err != nil {
		return Sheet{}, err
	}
	sheet, err := readRows(header, records[at:], 0, opt)
	if err != nil {
		return Sheet{}, err
	}
	var notes []Problem
	if at > 0 {
		notes = append(notes, Problem{Wrong: fmt.Sprintf("what stands above the header row, row %d, is not taken", records[at].number)})
	}
	for _, n := range t.Notes {
		notes = append(notes, Problem{Wrong: n})
	}
	sheet.Notes = slices.Concat(notes, sheet.Notes)
	return sheet, nil
}

// kind says which sheet a table is.
func (t Table) kind() (SheetKind, bool) {
	records := t.records()
	if at := headerAt(records); at >= 0 {
		return complete(records[at].cells)
	}
	return "", false
}

// records cuts a table as a file of text is cut.
func (t Table) records() []record {
	var out []record
	for _, row := range t.Rows {
		rec := record{number: row.Number, typed: slices.Clone(row.Cells)}
		for _, c := range row.Cells {
			rec.cells = append(rec.cells, c.Text)
		}
		blank := !slices.ContainsFunc(row.Cells, func(c Cell) bool { return strings.TrimSpace(c.Text+c.Wrong) != "" })
		if !blank {
			out = append(out, rec)
		}
	}
	return out
}

// headerAt finds the header row: the first near the top that has all that some
// sheet needs; -1 if there is none.
func headerAt(records []record) int {
	for i, rec := range records[:min(len(records), titleMost+1)] {
		if _, ok := complete(rec.cells); ok {
			return i
		}
	}
	return -1
}

// complete says which sheet a header row has all the columns for.
func complete(header []string) (SheetKind, bool) {
	l, _, err := match(header, 0)
	return l.kind, err == nil
}
