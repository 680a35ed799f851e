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

// The longest texts that an event holds, in characters.
const (
	nameMost  = 64
	lineMost  = 400
	proseMost = 4000
)

func (r *row) text(column string, most int, breaks bool) string {
	if wrong := r.held(column).mangled(); wrong != "" && !breaks {
		r.wrong(column, wrong, "format the column as text, and write it again")
		return ""
	}
	s := r.shown(column)
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
	s := name[T](r, column)
	if s == "" {
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
	mm, err := millimetres(cell, r.headings[column].unit, r.comma(column))
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
	if r.held(column).Is == InTime {
		cell = strings.TrimSuffix(cell, midnight)
	}
	t, err := time.Parse(time.DateOnly, cell)
	if err != nil || t.Year() < 1970 || t.Year() > 2199 {
		r.wrong(column, fmt.Sprintf("%q is not a date", clip(cell)), "write it like 2026-03-31")
		return ""
	}
	return cell
}
