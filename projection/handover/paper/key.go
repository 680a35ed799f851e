package paper

import (
	"codeberg.org/go-pdf/fpdf"

	"pairwalk/projection/handover"
)

// key is the legend below a drawing: its marks and lines with what they mean, as
// many beside each other as go.
type key struct{ rows [][]entry }

type entry struct {
	mark  handover.Mark
	style handover.LineStyle // of a line; "" for a mark
	lines []string
	wide  mm
}

const (
	keyIndent mm = 6.5
	keyGap    mm = 6
)

var lineWords = []struct {
	style handover.LineStyle
	words string
}{
	{handover.WallLine, "wall"},
	{handover.WayLine, "a hop on the way home"},
	{handover.RawLine, "a hop that is not sure"},
}

func (pl *plan) key(p *press, wide bool) key {
	var all []entry
	for _, m := range pl.Legend {
		all = append(all, entry{mark: m, lines: p.regular.lines(m.Label, keyType, width(wide)-keyIndent)})
	}
	for _, w := range lineWords {
		for _, l := range pl.Lines {
			if styleOf(l) == w.style {
				all = append(all, entry{style: w.style, lines: []string{w.words}})
				break
			}
		}
	}
	return arrange(p, all, width(wide))
}

// arrange puts entries in columns as wide as the widest of them.
func arrange(p *press, all []entry, total mm) key {
	var widest mm
	for i, e := range all {
		for _, l := range e.lines {
			all[i].wide = max(all[i].wide, keyIndent+p.regular.width(l, keyType))
		}
		widest = max(widest, all[i].wide)
	}
	columns := max(1, min(int((total+keyGap)/(widest+keyGap)), 6))
	var k key
	for i := 0; i < len(all); i += columns {
		row := all[i:min(i+columns, len(all))]
		for j := range row {
			row[j].wide = total / mm(columns)
		}
		k.rows = append(k.rows, row)
	}
	return k
}

func (k key) tall() mm {
	var tall mm
	for _, row := range k.rows {
		tall += rowTallest(row)
	}
	return tall
}

func rowTallest(row []entry) mm {
	lines := 1
	for _, e := range row {
		lines = max(lines, len(e.lines))
	}
	return line(keyType)*mm(lines) + 0.8
}

func (k key) set(p *press) {
	for _, row := range k.rows {
		p.need(rowTallest(row))
		x := leftEdge
		for _, e := range row {
			p.setEntry(e, x)
			x += e.wide
		}
		p.y += rowTallest(row)
	}
}

func (p *press) setEntry(e entry, x mm) {
	mid := p.y + line(keyType)/2
	if e.style == "" {
		p.draw(func(pdf *fpdf.Fpdf) { mark(pdf, e.mark, x+2.5, mid, 1.5) })
	} else {
		p.draw(func(pdf *fpdf.Fpdf) {
			polyline(pdf, e.style, []point{{X: x, Y: mid}, {X: x + 5, Y: mid}})
		})
	}
	for i, l := range e.lines {
		p.write(p.regular, keyType, x+keyIndent, p.y+mm(i)*line(keyType), l, black)
	}
}
