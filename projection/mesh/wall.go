package mesh

import (
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection/radio"
)

// listedWalls are a site's walls as they were listed, and what was made of them.
type listedWalls struct {
	list  []events.WallListed
	mhz   [bands]float64
	plans walls
	odd   []string // which nothing could be made of, and why
}

// again is the walls of another moment: the same where nothing about them changed.
func (x listedWalls) again(list []events.WallListed, mhz [bands]float64) listedWalls {
	same := func(a, b events.WallListed) bool {
		return a.Wall == b.Wall && a.Floor == b.Floor && a.Material == b.Material && a.Thickness == b.Thickness && slices.Equal(a.Line, b.Line)
	}
	if x.plans != nil && x.mhz == mhz && slices.EqualFunc(x.list, list, same) {
		return x
	}
	plans, odd := newWalls(list, mhz)
	return listedWalls{list, mhz, plans, odd}
}

// walls are the listed walls by floor.
type walls map[events.FloorID]*plan

// plan is the walls of one floor, in a grid so that a link meets only those near
// it.
type plan struct {
	segments []segment
	low      events.XY // of the grid
	cols     int64
	rows     int64
	cell     int64     // mm
	in       [][]int32 // segments by cell, row by row
}

// segment is one straight piece of a wall, with what it takes from either radio.
type segment struct {
	a, b events.XY
	loss [bands]radio.Span
}

// maxCells bounds a floor's grid.
const maxCells = 1 << 14

// newWalls makes segments of the listed walls and says which it can't make
// anything of.
func newWalls(list []events.WallListed, mhz [bands]float64) (walls, []string) {
	out, notes := walls{}, []string(nil)
	for _, w := range list {
		var loss [bands]radio.Span
		var err error
		for b := range loss {
			if loss[b], err = radio.Slab(w.Material, float64(w.Thickness), mhz[b]); err != nil {
				break
			}
		}
		if err != nil {
			notes = append(notes, fmt.Sprintf("wall %s counts for nothing: %v", w.Wall, err))
			continue
		}
		if out[w.Floor] == nil {
			out[w.Floor] = &plan{}
		}
		for i := 1; i < len(w.Line); i++ {
			out[w.Floor].segments = append(out[w.Floor].segments, segment{w.Line[i-1], w.Line[i], loss})
		}
	}
	for _, p := range out {
		p.index()
	}
	return out, notes
}

// index lays the grid: cells of 4 m, or larger on a very large floor.
func (p *plan) index() {
	if len(p.segments) == 0 {
		return
	}
	high := p.segments[0].a
	p.low = high
	for _, g := range p.segments {
		p.low = events.XY{X: min(p.low.X, g.a.X, g.b.X), Y: min(p.low.Y, g.a.Y, g.b.Y)}
		high = events.XY{X: max(high.X, g.a.X, g.b.X), Y: max(high.Y, g.a.Y, g.b.Y)}
	}
	for p.cell = 4_000; ; p.cell *= 2 {
		p.cols, p.rows = (high.X-p.low.X)/p.cell+1, (high.Y-p.low.Y)/p.cell+1
		if p.cols < maxCells && p.rows < maxCells && p.cols*p.rows <= maxCells {
			break
		}
	}
	p.in = make([][]int32, p.cols*p.rows)
	for i, g := range p.segments {
		p.cells(g.a, g.b, func(cell int64) { p.in[cell] = append(p.in[cell], int32(i)) })
	}
}

// cells visits every cell that a line may touch, and perhaps a few besides.
func (p *plan) cells(a, b events.XY, visit func(int64)) {
	if a.Y > b.Y {
		a, b = b, a
	}
	from, to := max((a.Y-p.low.Y)/p.cell-1, 0), min((b.Y-p.low.Y)/p.cell+1, p.rows-1)
	for row := from; row <= to; row++ {
		left, right := min(a.X, b.X), max(a.X, b.X)
		if a.Y != b.Y { // the part of the line within the row, a cell wider at either side
			slope := float64(b.X-a.X) / float64(b.Y-a.Y)
			bottom := max(p.low.Y+(row-1)*p.cell, a.Y)
			top := min(p.low.Y+(row+2)*p.cell, b.Y)
			x, y := a.X+int64(slope*float64(bottom-a.Y)), a.X+int64(slope*float64(top-a.Y))
			left, right = max(left, min(x, y)-p.cell), min(right, max(x, y)+p.cell)
		}
		for col := max((left-p.low.X)/p.cell, 0); col <= min((right-p.low.X)/p.cell, p.cols-1); col++ {
			if right >= p.low.X {
				visit(row*p.cols + col)
			}
		}
	}
}

// between adds up the walls on the straight line between two nodes, if both are
// on one floor, and counts them.
func (w walls) between(a, b *node, band int) (radio.Span, int) {
	var sum radio.Span
	if len(w) == 0 || a.floor != b.floor || a.floor == "" {
		return sum, 0
	}
	p := w[a.floor]
	if p == nil || len(p.segments) == 0 {
		return sum, 0
	}
	var met [64]int32
	crossed := met[:0]
	from, to := events.XY{X: a.at.X, Y: a.at.Y}, events.XY{X: b.at.X, Y: b.at.Y}
	p.cells(from, to, func(cell int64) {
		for _, i := range p.in[cell] {
			if g := &p.segments[i]; crosses(from, to, g.a, g.b) && !slices.Contains(crossed, i) {
				crossed = append(crossed, i)
			}
		}
	})
	slices.Sort(crossed) // one order of adding, so one sum
	for _, i := range crossed {
		loss := p.segments[i].loss[band]
		sum.Lo, sum.Mid, sum.Hi = sum.Lo+loss.Lo, sum.Mid+loss.Mid, sum.Hi+loss.Hi
	}
	return sum, len(crossed)
}

// crosses says whether the line a–b crosses the piece of wall p–q. A line through
// the corner of two pieces crosses one of them, not both or none: a corner counts
// as lying to the right of it. Whoever sits on the wall itself, as wall controls
// do, is on neither side and not cut off by it.
func crosses(a, b, p, q events.XY) bool {
	if b.X < a.X || b.X == a.X && b.Y < a.Y {
		a, b = b, a // so that both ends see the same
	}
	if max(p.X, q.X) < a.X || min(p.X, q.X) > b.X || max(p.Y, q.Y) < min(a.Y, b.Y) || min(p.Y, q.Y) > max(a.Y, b.Y) {
		return false
	}
	if (side(a, b, p) > 0) == (side(a, b, q) > 0) {
		return false
	}
	m, n := side(p, q, a), side(p, q, b)
	return m > 0 && n < 0 || m < 0 && n > 0
}

// side is positive where c lies to the left of the line a–b, 0 on it. Coordinates
// are held to a thousand kilometres, so the products fit.
func side(a, b, c events.XY) int64 { return (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X) }
