package intake

import (
	"fmt"
	"strings"
)

// Table is one sheet of a workbook, cut into cells.
type Table struct {
	Name   string
	Hidden bool
	Rows   []TableRow // in order; blank ones may be left out
	Notes  []string   // what people should know of it, such as merged cells
}

// TableRow is one row of a Table.
type TableRow struct {
	Number int // as the spreadsheet shows it
	Cells  []Cell
}

// Cell is one cell of a Table. Names and notes are taken as they show, numbers
// and times as they are.
type Cell struct {
	Text  string // as people see it
	Value string // of a number or time: what it holds, written as our sheets write it
	Is    CellKind
	Wrong string // what is wrong with a cell that has no value to take
	Right string // and what would be right
}

// CellKind says what a cell holds.
type CellKind int

// The kinds of cell.
const (
	InText CellKind = iota
	InNumber
	InTime // a date, a time, or both
)

// midnight ends the Value of a date whose format shows a time too.
const midnight = " 00:00"

// digitsKept is how many digits a spreadsheet keeps of a number.
const digitsKept = 15

// mangled says how a spreadsheet has spoiled what was meant as a name or model:
// 2-10 is a date to it, 12E5 a power of ten, and of long numbers it keeps only so
// much.
func (c Cell) mangled() string {
	switch {
	case c.Is == InTime:
		return fmt.Sprintf("is the date or time %s to the spreadsheet", c.Value)
	case c.Is == InNumber && strings.ContainsAny(c.Text, "Ee"):
		return fmt.Sprintf("is the number %s to the spreadsheet", c.Value)
	case c.Is == InNumber && len(strings.TrimLeft(c.Value, "-")) > digitsKept && !strings.Contains(c.Value, "."):
		return fmt.Sprintf("is the number %s to the spreadsheet, which keeps %d digits", c.Value, digitsKept)
	}
	return ""
}

// comma says how decimal signs in a column are to be understood.
func (r *row) comma(column string) comma {
	return comma{r.sep, r.held(column).Is == InNumber}
}

// checkTyped looks at a row of a workbook.
func (r *row) checkTyped() {
	for i, c := range r.typed {
		switch {
		case i >= len(r.header) || r.header[i] == "":
			if tidy(c.Text) != "" && i >= len(r.header) {
				r.wrong("", fmt.Sprintf("has something in column %s, which has no heading", letters(i)), "give the column a heading, or clear the cell")
				return
			}
		case c.Wrong != "":
			r.wrong(r.header[i], c.Wrong, c.Right)
		}
	}
}

// letters is what a spreadsheet calls the column at a place counted from 0.
func letters(i int) string {
	s := ""
	for i++; i > 0; i = (i - 1) / 26 {
		s = string(rune('A'+(i-1)%26)) + s
	}
	return s
}
