package workbook

import (
	"fmt"
	"strings"

	"github.com/xuri/excelize/v2"

	"pairwalk/events/intake"
)

// area is a range of merged cells, by row and column from 1.
type area struct {
	name                     string
	left, top, right, bottom int
}

func (s *sheet) readMerged() error {
	cells, err := s.f.GetMergeCells(s.name, true)
	if err != nil {
		return err
	}
	for _, m := range cells {
		a := area{name: m.GetStartAxis() + ":" + m.GetEndAxis()}
		if a.left, a.top, err = excelize.CellNameToCoordinates(m.GetStartAxis()); err != nil {
			return err
		}
		if a.right, a.bottom, err = excelize.CellNameToCoordinates(m.GetEndAxis()); err != nil {
			return err
		}
		s.merged = append(s.merged, a)
	}
	return nil
}

// beneath says whether a cell lies under a merged one that begins elsewhere.
func (s *sheet) beneath(row, col int) bool {
	for _, a := range s.merged {
		if row >= a.top && row <= a.bottom && col >= a.left && col <= a.right {
			return row != a.top || col != a.left
		}
	}
	return false
}

// notes says what people should know of the sheet.
func (s *sheet) notes(rows []intake.TableRow, blank, hidden []int) []string {
	var out []string
	if len(s.formulas) > 0 {
		out = append(out, "formulas, taken with the value they had when the workbook was saved: "+list(s.formulas))
	}
	if len(s.emptied) > 0 {
		out = append(out, "formulas whose value was empty when the workbook was saved: "+list(s.emptied))
	}
	var merged []string
	for _, a := range s.merged {
		if len(rows) > 0 && a.top <= rows[len(rows)-1].Number {
			merged = append(merged, a.name)
		}
	}
	if len(merged) > 0 {
		out = append(out, fmt.Sprintf("merged cells, of which each row takes the value: %s", list(merged)))
	}
	if len(rows) > 0 {
		first := rows[0].Number
		for len(blank) > 0 && blank[0] < first {
			blank = blank[1:]
		}
		for len(blank) > 0 && blank[len(blank)-1] > rows[len(rows)-1].Number {
			blank = blank[:len(blank)-1]
		}
	}
	if len(blank) > 0 && len(rows) > 0 {
		out = append(out, "passed over as blank: "+rowsText(blank))
	}
	if len(hidden) > 0 {
		out = append(out, "taken though hidden: "+rowsText(hidden))
	}
	return append(out, s.hiddenColumns(rows)...)
}

func (s *sheet) hiddenColumns(rows []intake.TableRow) []string {
	width := 0
	for _, r := range rows {
		width = max(width, len(r.Cells))
	}
	var names []string
	for col := 1; col <= width; col++ {
		name, err := excelize.ColumnNumberToName(col)
		if err != nil {
			break
		}
		if shown, err := s.f.GetColVisible(s.name, name); err == nil && !shown {
			names = append(names, name)
		}
	}
	if len(names) == 0 {
		return nil
	}
	return []string{"taken though hidden: " + plural(len(names), "column") + " " + list(names)}
}

// rowsText lists rows: "rows 3, 5 to 8".
func rowsText(rows []int) string {
	var parts []string
	for i := 0; i < len(rows); {
		j := i
		for j+1 < len(rows) && rows[j+1] == rows[j]+1 {
			j++
		}
		part := fmt.Sprint(rows[i])
		if j > i {
			part = fmt.Sprintf("%d to %d", rows[i], rows[j])
		}
		parts = append(parts, part)
		i = j + 1
	}
	return plural(len(rows), "row") + " " + list(parts)
}

// list joins a list of which only the first few are told.
func list(parts []string) string {
	const most = 8
	if len(parts) > most {
		return strings.Join(parts[:most], ", ") + fmt.Sprintf(" and %d more", len(parts)-most)
	}
	return strings.Join(parts, ", ")
}

func plural(n int, what string) string {
	if n == 1 {
		return what
	}
	return what + "s"
}
