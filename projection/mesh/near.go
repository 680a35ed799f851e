package mesh

import "slices"

// near visits the pairs of a network that are placed, may talk, and are close
// enough for a link to be possible: by a grid over the places, so that a large
// site does not cost every pair of it. Pairs come in the order of their ends.
func (g *Ground) near(w *network, visit func(a, b int32)) {
	hub := w.node(g, 0)
	for v := int32(1); hub.placed && int(v) < w.len(); v++ {
		if a := w.node(g, v); a.placed && w.talks(g, 0, v) && g.within(hub, a) {
			visit(0, v)
		}
	}
	cells := newGrid(g, w)
	if most := g.thinned(w, &cells); most > 0 {
		g.nearMost(w, &cells, most, visit)
		return
	}
	var found []int32
	for v := int32(1); int(v) < w.len(); v++ {
		found = g.around(w, &cells, v, v+1, found[:0])
		slices.Sort(found)
		for _, u := range found {
			visit(v, u)
		}
	}
}

// around adds to a list the nodes from a certain one on that a mesh device may
// have a link to.
func (g *Ground) around(w *network, c *grid, v, from int32, out []int32) []int32 {
	a := w.node(g, v)
	if !a.placed || a.star {
		return out
	}
	c.around(a, func(u int32) {
		if u >= from && u != v && w.talks(g, v, u) && g.within(a, w.node(g, u)) {
			out = append(out, u)
		}
	})
	return out
}

// within says whether two places are near enough for a link.
func (g *Ground) within(a, b *node) bool {
	reach := g.bands[bandOf(a.star || b.star)].reach
	n := slabs(a, b)
	return n < len(reach) && metres(a.at, b.at) <= reach[n]
}

// grid holds the placed mesh devices of a network by squares of the plan, as wide
// as the farthest possible link.
type grid struct {
	wide int64 // mm
	in   map[square][]int32
}

type square struct{ x, y int64 }

func newGrid(g *Ground, w *network) grid {
	far := 0.0
	for _, r := range g.bands[meshBand].reach {
		far = max(far, r)
	}
	c := grid{wide: int64(far*1000) + 1, in: map[square][]int32{}}
	for v := int32(1); int(v) < w.len(); v++ {
		if n := w.node(g, v); n.placed && !n.star {
			at := c.square(n)
			c.in[at] = append(c.in[at], v)
		}
	}
	return c
}

func (c *grid) square(n *node) square {
	return square{floorDiv(n.at.X, c.wide), floorDiv(n.at.Y, c.wide)}
}

// around visits what is in a node's square and the eight about it.
func (c *grid) around(n *node, visit func(int32)) {
	at := c.square(n)
	for x := at.x - 1; x <= at.x+1; x++ {
		for y := at.y - 1; y <= at.y+1; y++ {
			for _, v := range c.in[square{x, y}] {
				visit(v)
			}
		}
	}
}

// floorDiv rounds down, also below 0.
func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}
