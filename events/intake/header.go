package intake

import (
	"cmp"
	"fmt"
	"strings"
)

// column is one thing that a kind of sheet may say.
type column struct {
	name string
	also string // other headings for it, between commas
	need bool
	unit bool   // a length: the heading ends in _m, _mm or _ft
	bare string // the unit of a length whose heading names none; "" where it must
	best string // the unit that people are shown; "" for m
}

// lengthUnits are the endings of a length's heading.
var lengthUnits = []string{"m", "mm", "ft"}

// heading is a column as a file has it.
type heading struct {
	at   int    // its place in the row, from 0
	text string // as the file spells it
	unit string // of a length: m, mm or ft
}

// String is what a length's column is called: x_m where its name is x.
func (c column) String() string {
	if c.unit && c.bare == "" {
		return c.name + "_" + cmp.Or(c.best, lengthUnits[0])
	}
	return c.name
}

// reads says whether a heading means this column, and in which unit.
func (c column) reads(text string) (unit string, ok bool) {
	s := squash(text)
	for _, spelled := range append([]string{c.name}, strings.Split(c.also, ",")...) {
		spelled = squash(spelled)
		if spelled == "" || !strings.HasPrefix(s, spelled) {
			continue
		}
		rest := s[len(spelled):]
		if rest == "" && (!c.unit || c.bare != "") {
			return c.bare, true
		}
		for _, u := range lengthUnits {
			if c.unit && rest == u {
				return u, true
			}
		}
	}
	return "", false
}

// find finds the column that a heading means.
func (l layout) find(text string) (c column, unit string, ok bool) {
	for _, c := range l.columns {
		if unit, ok := c.reads(text); ok {
			return c, unit, true
		}
	}
	return column{}, "", false
}

// known counts the headings that some kind of sheet would understand.
func known(header []string) int {
	most := 0
	for _, l := range layouts {
		n := 0
		for _, text := range header {
			if _, _, ok := l.find(text); ok {
				n++
			}
		}
		most = max(most, n)
	}
	return most
}

// match finds out which kind of sheet a header row belongs to: the one that has
// all it needs and understands the most.
func match(header []string, number int) (layout, map[string]heading, error) {
	best, bestScore := layout{}, 0
	for _, l := range layouts {
		score := 0
		for _, text := range header {
			if c, _, ok := l.find(text); ok && c.need {
				score += 100
			} else if ok {
				score++
			}
		}
		if len(l.missing(header)) == 0 {
			score += 10_000
		}
		if score > bestScore {
			best, bestScore = l, score
		}
	}
	if bestScore == 0 {
		return layout{}, nil, fmt.Errorf("read sheet: row %d: %w; the first row names the columns: %s", number, ErrUnknownSheet, allNeeds())
	}
	if missing := best.missing(header); len(missing) > 0 {
		return layout{}, nil, fmt.Errorf("read sheet: row %d: %w: looks like a %s, but no column is called %s; it needs %s",
			number, ErrHeader, best.kind, strings.Join(missing, " or "), strings.Join(best.needs(), ", "))
	}
	headings, err := best.place(header, number)
	return best, headings, err
}

// place notes where each column stands. Two headings for one column are an
// error: nobody can say which of them counts.
func (l layout) place(header []string, number int) (map[string]heading, error) {
	headings := map[string]heading{}
	for i, text := range header {
		c, unit, ok := l.find(text)
		if !ok {
			continue
		}
		if other, twice := headings[c.name]; twice {
			return nil, fmt.Errorf("read sheet: row %d: %w: columns %d (%s) and %d (%s) both mean %s; keep one",
				number, ErrHeader, other.at+1, clip(other.text), i+1, clip(text), c.name)
		}
		headings[c.name] = heading{i, text, unit}
	}
	return headings, nil
}

func (l layout) needs() []string {
	var names []string
	for _, c := range l.columns {
		if c.need {
			names = append(names, c.String())
		}
	}
	return names
}

func (l layout) missing(header []string) []string {
	var names []string
	for _, c := range l.columns {
		found := !c.need
		for _, text := range header {
			if _, ok := c.reads(text); ok {
				found = true
			}
		}
		if !found {
			names = append(names, c.String())
		}
	}
	return names
}

// allNeeds says of every kind of sheet which columns it needs.
func allNeeds() string {
	var parts []string
	for _, l := range layouts {
		parts = append(parts, fmt.Sprintf("a %s has %s", l.kind, strings.Join(l.needs(), ", ")))
	}
	return strings.Join(parts, "; ")
}
