package paper

import (
	"fmt"

	"pairwalk/projection/handover"
)

const (
	cellPad  mm = 1.3 // beside a cell's text
	cellRise mm = 0.9 // above and below it
	hairline mm = 0.14

	captionType    = tableType + 0.5
	captionGap  mm = 0.8
)

// table is rows under a head.
type table struct {
	handover.Table
	lies            bool
	upright, across []mm
}

func newTable(p *press, t handover.Table) (*table, error) {
	if len(t.Columns) == 0 && len(t.Rows) > 0 {
		return nil, fmt.Errorf("table %q has %d rows and no columns", t.Caption, len(t.Rows))
	}
	for i, row := range t.Rows {
		if len(row) != len(t.Columns) {
			return nil, fmt.Errorf("table %q: row %d has %d cells for %d columns", t.Caption, i+1, len(row), len(t.Columns))
		}
	}
	out := &table{Table: t}
	if len(t.Rows) == 0 {
		return out, nil
	}
	out.lies, out.upright, out.across = p.claims(t).layOut(p)
	if out.head(p, out.lies).tall() > p.full(out.lies)/2 {
		return nil, fmt.Errorf("table %q: the heads of its %d columns take more than half a page", t.Caption, len(t.Columns))
	}
	return out, nil
}

func (t *table) lying(*press) bool { return t.lies }

func (t *table) widths(wide bool) []mm {
	if wide {
		return t.across
	}
	return t.upright
}

// row is a row ready to be printed: the lines of each cell.
type row struct {
	cells [][]string
	deep  int // lines of the deepest
}

func (t *table) wrap(f *face, cells []string, widths []mm) row {
	r := row{make([][]string, len(cells)), 1}
	for i, c := range cells {
		r.cells[i] = f.lines(c, tableType, widths[i]-2*cellPad)
		r.deep = max(r.deep, len(r.cells[i]))
	}
	return r
}

func (r row) tall() mm { return rowTall(r.deep) }

func rowTall(lines int) mm { return line(tableType)*mm(lines) + 2*cellRise }

// from gives the row without its first lines.
func (r row) from(n int) row {
	rest := row{make([][]string, len(r.cells)), r.deep - n}
	for i, c := range r.cells {
		rest.cells[i] = c[min(n, len(c)):]
	}
	return rest
}

func (t *table) head(p *press, wide bool) row {
	heads := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		heads[i] = c.Head
	}
	return t.wrap(p.bold, heads, t.widths(wide))
}

// begin is the caption, the head and two rows.
func (t *table) begin(p *press, wide bool) mm {
	tall := p.captionTall(t.Caption, wide) + line(tableType)
	if len(t.Rows) == 0 {
		return tall
	}
	tall += t.head(p, wide).tall()
	for _, cells := range t.Rows[:min(2, len(t.Rows))] {
		tall += t.wrap(p.regular, cells, t.widths(wide)).tall()
	}
	return min(tall, p.full(wide)/2)
}

func (t *table) set(p *press) {
	p.gap(1.5)
	if len(t.Rows) == 0 {
		t.setNone(p)
		return
	}
	upright := p.wide() && !t.lies && !p.fresh && !t.whole(p)
	if t.lies && !p.wide() || upright || t.begin(p, p.wide()) > p.room() && !p.fresh {
		p.turn(t.lies)
	}
	p.setCaption(t.Caption)
	t.setHead(p)
	for i, cells := range t.Rows {
		r := t.wrap(p.regular, cells, t.widths(p.wide()))
		for room := p.lines(); r.deep > room; room = p.lines() {
			// A row is parted only where it is taller than a whole page.
			if limit := t.most(p); r.deep > limit && room >= 3 {
				t.setRow(p, row{t.first(r, room), room}, i%2 == 1)
				r = r.from(room)
			}
			p.turn(p.wide())
			p.setCaption(t.more(p))
			t.setHead(p)
		}
		t.setRow(p, r, i%2 == 1)
	}
	p.y += 4
}

// lines is how many lines of a row still go on the sheet.
func (p *press) lines() int { return int((p.room() - 2*cellRise) / line(tableType)) }

// most is how many lines of one row go on a sheet below the head.
func (t *table) most(p *press) int {
	top := p.captionTall("x", p.wide()) + t.head(p, p.wide()).tall()
	return int((p.full(p.wide()) - top - 2*cellRise) / line(tableType))
}

// first gives the first lines of each cell.
func (t *table) first(r row, n int) [][]string {
	out := make([][]string, len(r.cells))
	for i, c := range r.cells {
		out[i] = c[:min(n, len(c))]
	}
	return out
}

// whole says whether all of it goes on what is left of this sheet.
func (t *table) whole(p *press) bool {
	left := p.room() - p.captionTall(t.Caption, p.wide()) - t.head(p, p.wide()).tall()
	for _, cells := range t.Rows {
		if left -= t.wrap(p.regular, cells, t.widths(p.wide())).tall(); left < 0 {
			return false
		}
	}
	return true
}

func (t *table) setNone(p *press) {
	none := t.None
	if none == "" {
		none = "None."
	}
	p.need(t.begin(p, p.wide()))
	p.setCaption(t.Caption)
	paragraph{none, tableType + 0.5}.set(p)
	p.y += 1.5
}

// setCaption prints what stands above a table or a drawing.
func (p *press) setCaption(caption string) {
	if caption == "" {
		return
	}
	for _, l := range p.bold.lines(caption, captionType, p.width()) {
		p.need(line(captionType))
		p.write(p.bold, captionType, leftEdge, p.y, l, black)
		p.y += line(captionType)
	}
	p.y += captionGap
}

// captionTall is the height of a caption, or of as much of it as counts in deciding
// where to begin.
func (p *press) captionTall(caption string, wide bool) mm {
	if caption == "" {
		return 0
	}
	lines := len(p.bold.lines(caption, captionType, width(wide)))
	return min(line(captionType)*mm(lines)+captionGap, p.full(wide)/4)
}

// more is the caption above what goes on.
func (t *table) more(p *press) string {
	const words = ", continued"
	if t.Caption == "" {
		return ""
	}
	return p.bold.short(t.Caption, captionType, p.width()-p.bold.width(words, captionType)) + words
}

// setHead prints the head of the columns.
func (t *table) setHead(p *press) {
	head := t.head(p, p.wide())
	p.need(head.tall() + rowTall(1))
	p.fill(leftEdge, p.y, p.width(), head.tall(), headGrey)
	t.setCells(p, p.bold, head)
	p.stroke(leftEdge, p.y, leftEdge+p.width(), p.y, 0.35, black)
}

func (t *table) setRow(p *press, r row, shaded bool) {
	if shaded {
		p.fill(leftEdge, p.y+hairline/2, p.width(), r.tall()-hairline, shade) // not over its neighbour's rule
	}
	t.setCells(p, p.regular, r)
	p.stroke(leftEdge, p.y, leftEdge+p.width(), p.y, hairline, rule)
}

func (t *table) setCells(p *press, f *face, r row) {
	x := leftEdge
	for i, w := range t.widths(p.wide()) {
		y := p.y + cellRise
		for _, l := range r.cells[i] {
			if t.Columns[i].Right {
				p.writeRight(f, tableType, x+w-cellPad, y, l, black)
			} else {
				p.write(f, tableType, x+cellPad, y, l, black)
			}
			y += line(tableType)
		}
		x += w
	}
	p.y += r.tall()
}
