package intake

import (
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"pairwalk/events"
)

// row is one row while it is read. What is wrong with it goes to the reading.
type row struct {
	*reading
	number int
	cells  []string
	out    Row
	also   events.Payload // a second thing the row says
	bad    bool
}

// wrong notes a problem with a column, or with the row where column is "".
func (r *row) wrong(column, wrong, right string) {
	if h, ok := r.headings[column]; ok {
		column = h.text
	}
	r.problems = append(r.problems, Problem{r.number, column, wrong, right})
	r.bad = true
}

// note says that a column of this row is not taken.
func (r *row) note(column, text string) {
	r.notes = append(r.notes, Problem{r.number, r.headings[column].text, text, ""})
}

// has says whether the file has a column.
func (r *row) has(column string) bool {
	_, ok := r.headings[column]
	return ok
}

// cell is what the row says in a column; "" also where there is no such column.
func (r *row) cell(column string) string {
	h, ok := r.headings[column]
	if !ok || h.at >= len(r.cells) {
		return ""
	}
	return tidy(unguard(tidy(r.cells[h.at])))
}

// checkCells looks at the row as text: its length, its encoding, and formulas,
// whose values only a spreadsheet knows. A cell that fails is emptied, so that
// it is complained of once.
func (r *row) checkCells() {
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

// The longest texts that an event holds, in characters.
const (
	nameMost  = 64
	lineMost  = 400
	proseMost = 4000
)

func (r *row) text(column string, most int, breaks bool) string {
	s := r.cell(column)
	if n := utf8.RuneCountInString(s); n > most {
		r.wrong(column, fmt.Sprintf("is %d characters long", n), fmt.Sprintf("the most is %d", most))
		return ""
	}
	s = strings.ReplaceAll(s, "\r\n", "\n")
	for _, c := range s {
		if unicode.IsControl(c) && (!breaks || c != '\n' && c != '\t') {
			r.wrong(column, fmt.Sprintf("%q has a line break or another control character in it", clip(s)), "write it on one line")
			return ""
		}
	}
	return s
}

// name reads the name of something; "" where the cell is empty.
func name[T ~string](r *row, column string) T { return T(r.text(column, nameMost, false)) }

// needName reads a name that must be there.
func needName[T ~string](r *row, column, right string) T {
	before := len(r.problems)
	s := name[T](r, column)
	if s == "" && len(r.problems) == before {
		r.wrong(column, "is empty", right)
	}
	return s
}

// line reads one line of text, prose a text of any number of lines.
func (r *row) line(column string) string  { return r.text(column, lineMost, false) }
func (r *row) prose(column string) string { return r.text(column, proseMost, true) }

// word reads one of a list of words; "" where the cell is empty or wrong.
func (r *row) word(column string, list wordList) string {
	cell := r.cell(column)
	if cell == "" {
		return ""
	}
	w, ok := list.find(cell)
	if !ok {
		r.wrong(column, list.wrong(cell), list.right(cell))
	}
	return w
}

// whole reads a whole number between lo and hi; unknown where the cell is empty.
func (r *row) whole(column string, lo, hi int) events.Maybe[int] {
	cell := r.cell(column)
	if cell == "" {
		return events.Maybe[int]{}
	}
	n, err := strconv.Atoi(cell)
	if err != nil || n < lo || n > hi {
		r.wrong(column, fmt.Sprintf("%q is not a whole number from %d to %d", clip(cell), lo, hi), "")
		return events.Maybe[int]{}
	}
	return events.Some(n)
}

// length reads a length in mm between lo and hi; unknown where the cell is empty.
func (r *row) length(column string, lo, hi int64) events.Maybe[int64] {
	cell := r.cell(column)
	if cell == "" {
		return events.Maybe[int64]{}
	}
	mm, err := millimetres(cell, r.headings[column].unit, r.sep)
	switch {
	case err != nil:
		r.wrong(column, err.Error(), "")
	case mm < lo || mm > hi:
		r.wrong(column, fmt.Sprintf("%q is not between %s m and %s m", clip(cell), metres(lo), metres(hi)), "is the unit in the column's heading right?")
	default:
		return events.Some(mm)
	}
	return events.Maybe[int64]{}
}

// date reads a calendar date; "" where the cell is empty or wrong.
func (r *row) date(column string) string {
	cell := r.cell(column)
	if cell == "" {
		return ""
	}
	t, err := time.Parse(time.DateOnly, cell)
	if err != nil || t.Year() < 1970 || t.Year() > 2199 {
		r.wrong(column, fmt.Sprintf("%q is not a date", clip(cell)), "write it like 2026-03-31")
		return ""
	}
	return cell
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

// about notes what the row is about; known even if the row turns out bad.
func (r *row) about(subjects ...events.Subject) {
	for _, s := range subjects {
		if s.ID != "" {
			r.named[s] = true
		}
	}
}
