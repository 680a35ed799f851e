package mesh

import (
	"pairwalk/events"
	"pairwalk/projection/mesh/graph"
)

// paths is a tree of best paths to the hub.
type paths struct {
	graph *graph.Graph
	tree  *graph.Tree
	links []*Link // by node, that to its parent; nil not told yet
}

func newPaths(g *graph.Graph, t *graph.Tree) paths {
	return paths{graph: g, tree: t, links: make([]*Link, g.Len())}
}

// nowhere is a tree in which nothing but the hub is reached.
func nowhere(g *graph.Graph, s *graph.Scratch) *graph.Tree {
	v := graph.View{Up: make([]bool, g.Len()), Relays: make([]bool, g.Len())}
	v.Up[0] = true
	return g.Cheapest(0, v, s)
}

// straight hangs nodes on the hub, as far as they have a link to it.
func (p *paths) straight(nodes []int32) {
	for _, v := range nodes {
		if h := p.graph.Halves(v); len(h) > 0 { // of a star device: to the hub
			e := p.graph.Edge(h[0].Edge)
			p.tree.Parent[v], p.tree.Edge[v], p.tree.Hops[v], p.tree.Width[v], p.tree.Cost[v] = 0, h[0].Edge, 1, e.Width, e.Cost
		}
	}
}

func (p *paths) reaches(v int32) bool { return p.tree != nil && p.tree.Hops[v] >= 0 }

// up is the next node on the way home, and the network's edge to it.
func (p *paths) up(v int32) (parent, edge int32) { return p.tree.Parent[v], p.tree.Edge[v] }

// linkUp tells the link from a node to its parent. Each is told once, and shared.
func (f *field) linkUp(g *Ground, p *paths, edge, below, above int32) *Link {
	if l := p.links[below]; l != nil {
		return l
	}
	l := f.link(g, below, above, edge)
	p.links[below] = &l
	return &l
}

// link tells all of a link of the network, seen from a.
func (f *field) link(g *Ground, a, b, edge int32) Link {
	if real := int32(len(f.w.nodes)); a < real && b < real && len(g.measured) > 0 {
		l, _ := g.link(f.w.nodes[a], f.w.nodes[b])
		return l
	}
	x := f.w.strength(edge)
	l := x.link(f.w.node(g, a), f.w.node(g, b))
	g.lay(&l, f.w.node(g, a), f.w.node(g, b))
	return l
}

// link tells a strength as a link.
func (x *strength) link(a, b *node) Link {
	l := Link{
		A: a.tag, B: b.tag, Radio: events.Mesh, Basis: Predicted,
		Margin: Range{int64(x.lo), int64(x.hi)}, Mean: int64(x.mean), Chance: Range{int64(x.from), int64(x.to)},
		ETX: x.etx, Sure: x.sure, Possible: x.possible(),
	}
	if a.star || b.star {
		l.Radio = events.Star
	}
	return l
}

// lay fills in how two places lie to each other.
func (g *Ground) lay(l *Link, a, b *node) {
	if a.placed && b.placed {
		l.Metres, l.Floors = events.Some(metres(a.at, b.at)), slabs(a, b)
		_, l.Walls = g.walls.plans.between(a, b, bandOf(a.star || b.star))
	}
}
