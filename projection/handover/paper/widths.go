package paper

import (
	"slices"
	"strings"

	"pairwalk/projection/handover"
)

const (
	longestWord mm  = 45 // a column makes room for words up to here; longer ones are broken
	mostAsked   int = 80 // rows that the widths of a table are tried on
)

// claims is what the columns of a table ask for: need, so that no word is broken,
// and want, so that no line is.
type claims struct {
	share, need, want []mm
	rows              []asked // the head, and rows picked evenly
	all               int     // rows of the table
}

// asked is a row: of each cell, its lines as they were typed, as the widths of their
// words.
type asked [][][]mm

func (p *press) claims(t handover.Table) claims {
	n := len(t.Columns)
	c := claims{share: make([]mm, n), need: make([]mm, n), want: make([]mm, n), all: len(t.Rows)}
	head := make(asked, n)
	for i, col := range t.Columns {
		c.share[i] = mm(max(col.Share, 1))
		head[i] = c.ask(i, p.bold, col.Head)
	}
	c.rows = append(c.rows, head)
	step := len(t.Rows)/mostAsked + 1
	for r, cells := range t.Rows {
		row := make(asked, n)
		for i, cell := range cells {
			row[i] = c.ask(i, p.regular, cell)
		}
		if r%step == 0 {
			c.rows = append(c.rows, row)
		}
	}
	return c
}

// ask enters the text of a cell among its column's claims.
func (c claims) ask(i int, f *face, s string) [][]mm {
	var lines [][]mm
	blank := f.width(" ", tableType)
	for l := range strings.SplitSeq(f.legible(s), "\n") {
		var words []mm
		long := 0.0
		for w := range strings.FieldsSeq(l) {
			words = append(words, f.width(w, tableType))
			long += words[len(words)-1] + blank
			c.need[i] = max(c.need[i], min(words[len(words)-1], longestWord)+2*cellPad)
		}
		lines = append(lines, words)
		c.want[i] = max(c.want[i], long-blank+2*cellPad)
	}
	c.need[i] = max(c.need[i], 2*cellPad+3)
	return lines
}

// deep is how many lines a cell takes in a column.
func deep(lines [][]mm, column mm) int {
	const blank = 0.9
	n, wide := 0, max(column-2*cellPad, 1)
	for _, words := range lines {
		n++
		used := 0.0
		for _, w := range words {
			if used > 0 && used+w > wide+slack {
				n, used = n+1, 0
			}
			for ; w > wide+slack; w -= wide {
				n++
			}
			used += w + blank
		}
	}
	return n
}

// fit shares out a width: as the document says, except that no column breaks words
// or lines while another has more than it wants, and that width goes where it saves
// most lines. It says whether words fit.
func (c claims) fit(total mm) ([]mm, bool) {
	w := make([]mm, len(c.share))
	if need := sum(c.need); need > total {
		for i := range w {
			w[i] = c.need[i] * total / need
		}
		return w, false
	}
	for i := range w {
		w[i] = total * c.share[i] / sum(c.share)
	}
	even(w, c.need, c.need)
	even(w, c.want, c.want)
	for better := true; better; {
		better = false
		for _, step := range []mm{48, 24, 12, 6, 3, 1.5, 0.7} {
			for c.move(w, step) {
				better = true // until no step saves anything
			}
		}
	}
	return w, true
}

// even moves width from columns above their ceiling to columns below their floor,
// in proportion, as far as it goes.
func even(w, floor, ceiling []mm) {
	var lack, spare mm
	for i := range w {
		lack += max(0, floor[i]-w[i])
		spare += max(0, w[i]-ceiling[i])
	}
	if lack == 0 || spare == 0 {
		return
	}
	moved := min(lack, spare)
	for i := range w {
		w[i] += max(0, floor[i]-w[i])*moved/lack - max(0, w[i]-ceiling[i])*moved/spare
	}
}

// move moves a step of width from one column to another, or from all that have some
// to spare to one, where that saves most, and says whether it saved anything.
func (c claims) move(w []mm, step mm) bool {
	same, less, more := c.depths(w, 0), c.depths(w, -step), c.depths(w, step)
	best, saved := w, false
	least := cost(same)
	for j := range w {
		for i := range w {
			if i == j || w[i]-step < c.need[i] {
				continue
			}
			tried := slices.Clone(same)
			tried[i], tried[j] = less[i], more[j]
			if n := cost(tried); n < least {
				best, least, saved = slices.Clone(w), n, true
				best[i], best[j] = w[i]-step, w[j]+step
			}
		}
		if all := c.gather(w, j, step); all != nil {
			if n := cost(c.depths(all, 0)); n < least {
				best, least, saved = all, n, true
			}
		}
	}
	copy(w, best)
	return saved
}

// gather takes a step from all other columns, in proportion to what they can spare;
// nil where they can't.
func (c claims) gather(w []mm, to int, step mm) []mm {
	var spare mm
	for i := range w {
		if i != to {
			spare += w[i] - c.need[i]
		}
	}
	if spare < step {
		return nil
	}
	out := slices.Clone(w)
	for i := range w {
		if i != to {
			out[i] -= (w[i] - c.need[i]) * step / spare
		}
	}
	out[to] += step
	return out
}

// depths gives of every column how many lines each row takes in it.
func (c claims) depths(w []mm, by mm) [][]int {
	out := make([][]int, len(w))
	for i := range w {
		out[i] = make([]int, len(c.rows))
		for r, row := range c.rows {
			out[i][r] = deep(row[i], w[i]+by)
		}
	}
	return out
}

// lines counts the lines of all rows: each is as deep as its deepest cell.
func lines(depths [][]int) int {
	n := 0
	for r := range depths[0] {
		most := 1
		for _, column := range depths {
			most = max(most, column[r])
		}
		n += most
	}
	return n
}

// cost of widths: the lines of all rows, and, much less, those of all cells.
func cost(depths [][]int) int {
	n := lines(depths) * 10 * len(depths)
	for _, column := range depths {
		for _, d := range column {
			n += d
		}
	}
	return n
}

// layOut decides how a table lies, and its widths either way. It lies on its long
// side where words would be broken upright and not, or less, across; or where it
// takes a fifth less paper.
func (c claims) layOut(p *press) (lying bool, upright, across []mm) {
	upright, fits := c.fit(width(false))
	across, _ = c.fit(width(true))
	sheets := func(w []mm, wide bool) float64 {
		n := mm(len(c.rows))
		tall := line(tableType)*mm(lines(c.depths(w, 0))) + 2*cellRise*n
		return tall / n * mm(c.all+1) / p.full(wide)
	}
	tall := sheets(upright, false)
	return !fits || tall > 1 && sheets(across, true) < 0.8*tall, upright, across
}

func sum(of []mm) mm {
	var s mm
	for _, v := range of {
		s += v
	}
	return s
}
