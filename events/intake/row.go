package intake

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"pairwalk/events"
)

// row is one row while it is read. What is wrong with it goes to the reading.
type row struct {
	*reading
	number int
	cells  []string
	typed  []Cell // of a workbook, else nil
	out    Row
	also   events.Payload // a second thing the row says
	bad    bool
}

// wrong notes a problem with a column, or with the row where column is "". Of
// one cell only the first is noted.
func (r *row) wrong(column, wrong, right string) {
	column, r.bad = r.label(column), true
	for i := len(r.problems) - 1; i >= 0 && r.problems[i].Row == r.number; i-- {
		if column != "" && r.problems[i].Column == column {
			return
		}
	}
	r.problems = append(r.problems, Problem{r.number, column, wrong, right})
}

// note says that a column of this row is not taken.
func (r *row) note(column, text string) {
	r.notes = append(r.notes, Problem{r.number, r.label(column), text, ""})
}

// label is what people find a column by: the heading that the file gives it, or
// else its proper name.
func (in *reading) label(column string) string {
	if h, ok := in.headings[column]; ok {
		return h.text
	}
	for _, c := range in.columns {
		if c.name == column {
			return c.String()
		}
	}
	return column
}

// has says whether the file has a column.
func (r *row) has(column string) bool {
	_, ok := r.headings[column]
	return ok
}

// cell is what the row says in a column; "" also where there is no such column.
// A number, date or time of a workbook is what the cell holds, not as it shows.
func (r *row) cell(column string) string {
	if v := r.held(column).Value; v != "" {
		return v
	}
	return r.shown(column)
}

// shown is what people see in a column.
func (r *row) shown(column string) string {
	h, ok := r.headings[column]
	if !ok || h.at >= len(r.cells) {
		return ""
	}
	return tidy(unguard(tidy(r.cells[h.at])))
}

// held is the cell of a workbook; the zero value where the file is text.
func (r *row) held(column string) Cell {
	h, ok := r.headings[column]
	if !ok || h.at >= len(r.typed) {
		return Cell{}
	}
	return r.typed[h.at]
}

// checkCells looks at the row as text: its length, its encoding, and formulas,
// whose values only a spreadsheet knows. A cell that fails is emptied.
func (r *row) checkCells() {
	if r.typed != nil {
		r.checkTyped()
		return
	}
	for i, c := range r.cells {
		label := fmt.Sprintf("%d", i+1)
		if i < len(r.header) && r.header[i] != "" {
			label = r.header[i]
		}
		switch {
		case i >= len(r.header) && tidy(c) != "":
			r.wrong("", fmt.Sprintf("has %d cells, but the header row only %d", len(r.cells), len(r.header)),
				"a cell with the separator in it belongs in quotation marks")
			return
		case !utf8.ValidString(c):
			r.wrong(label, "is not UTF-8 text", "save the sheet as CSV in UTF-8")
		case strings.HasPrefix(tidy(c), "="):
			r.wrong(label, fmt.Sprintf("%q is a formula", clip(tidy(c))), "save the sheet with values in place of formulas")
		default:
			continue
		}
		r.cells[i] = ""
	}
}

// unique notes a name that no other row may use, and complains where one did.
func (r *row) unique(column, class, id string) {
	if id == "" {
		return
	}
	key := class + ":" + id
	if other, twice := r.first[key]; twice {
		r.wrong(column, fmt.Sprintf("%q is on row %d already", id, other), "give each its own row and name")
		return
	}
	r.first[key] = r.number
}

// about notes what the row is about, the first of all; it is known even if the
// row turns out bad.
func (r *row) about(subjects ...events.Subject) {
	r.blind = r.blind || subjects[0].ID == ""
	for _, s := range subjects {
		if s.ID != "" {
			r.named[s] = true
		}
	}
}
