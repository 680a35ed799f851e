package intake

import (
	"cmp"
	"fmt"
	"slices"

	"pairwalk/events"
)

// reading is a file on its way to a Sheet.
type reading struct {
	layout
	opt      Options
	sep      rune
	header   []string
	headings map[string]heading
	first    map[string]int // where a name that must be unique was first used
	named    map[events.Subject]bool
	blind    bool
	rows     []Row
	origin   events.Maybe[origin]
	known    []events.Tag // devices, and of links hubs too, in order; made when first needed
	guesses  int          // unknown tags so far
	problems []Problem
	notes    []Problem
}

func newReading(l layout, header []string, headings map[string]heading, sep rune, opt Options) *reading {
	return &reading{
		layout: l, opt: opt, sep: sep, header: header, headings: headings,
		first: map[string]int{}, named: map[events.Subject]bool{},
	}
}

// passOver notes the columns that nobody here understands.
func (in *reading) passOver(number int) {
	for i, text := range in.header {
		if _, _, ok := in.find(text); ok || text == "" {
			continue
		}
		p := Problem{Row: number, Column: text, Wrong: fmt.Sprintf("column %d is not taken: a %s has no such column", i+1, in.kind)}
		if _, _, ok := in.find(text + lengthUnits[0]); ok {
			p.Wrong, p.Right = fmt.Sprintf("column %d is not taken: it is a length without a unit", i+1), "end its heading in _m, _mm or _ft"
		}
		in.notes = append(in.notes, p)
	}
}

// take reads one row.
func (in *reading) take(rec record) {
	r := &row{reading: in, number: rec.number, cells: rec.cells, typed: rec.typed}
	if rec.err != nil {
		in.blind = true
		r.wrong("", "a quotation mark is out of place", `put quotation marks around the whole cell, and write each one inside it twice ("")`)
		return
	}
	r.checkCells()
	payload := in.layout.row(r)
	if r.bad {
		return
	}
	r.out.Number, r.out.Payload = rec.number, payload
	in.rows = append(in.rows, r.out)
	if r.also != nil {
		r.out.Payload = r.also
		in.rows = append(in.rows, r.out)
	}
}

// sheet finishes the reading: rows that contradict each other are dropped too.
func (in *reading) sheet() Sheet {
	in.whole(in)
	bad := map[int]bool{}
	for _, p := range in.problems {
		bad[p.Row] = true
	}
	present := map[string]bool{}
	for name := range in.headings {
		present[name] = true
	}
	slices.SortStableFunc(in.problems, func(a, b Problem) int { return cmp.Compare(a.Row, b.Row) })
	slices.SortStableFunc(in.notes, func(a, b Problem) int { return cmp.Compare(a.Row, b.Row) })
	return Sheet{
		Kind:     in.kind,
		Rows:     slices.DeleteFunc(in.rows, func(r Row) bool { return bad[r.Number] }),
		Problems: in.problems,
		Notes:    in.notes,
		layout:   in.layout,
		present:  present,
		named:    in.named,
		blind:    in.blind,
	}
}
