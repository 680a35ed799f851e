package graph

import (
	"cmp"
	"slices"
)

// Edge is a link between two nodes, the same both ways.
type Edge struct {
	A, B  int32
	Width int32 // how much it has to spare, such as a margin in centi-dB; more is better
	Cost  int64 // what it adds to a path, such as ETX in millionths; above 0
}

// Half is an edge as one of its nodes sees it.
type Half struct{ To, Edge int32 }

// Graph is a set of nodes 0 … n-1 and links between them.
type Graph struct {
	edges  []Edge
	first  []int32 // of each node: where its halves begin; one more at the end
	halves []Half  // by node, then by the node at the other end
	prices []int32 // the cost of each half, so that a search need not look for its edge; dear where that is no such number

	narrowest int32 // the width of the narrowest link; Unlimited where there are none
}

// New makes a graph. Loops are left out; of parallel links the widest stays, of
// those the cheapest. The order in which edges are given does not matter; those that
// are in the order of their ends already are not copied, and must not be changed.
func New(nodes int, edges []Edge) *Graph {
	if slices.IsSortedFunc(edges, strictly) && !slices.ContainsFunc(edges, func(e Edge) bool { return e.A >= e.B }) {
		return tie(nodes, edges, func(int32) bool { return true })
	}
	kept := make([]Edge, 0, len(edges))
	for _, e := range edges {
		if e.A > e.B {
			e.A, e.B = e.B, e.A
		}
		if e.A != e.B {
			kept = append(kept, e)
		}
	}
	slices.SortFunc(kept, func(x, y Edge) int {
		return cmp.Or(cmp.Compare(x.A, y.A), cmp.Compare(x.B, y.B), cmp.Compare(y.Width, x.Width), cmp.Compare(x.Cost, y.Cost))
	})
	kept = slices.CompactFunc(kept, func(x, y Edge) bool { return x.A == y.A && x.B == y.B })
	return tie(nodes, kept, func(int32) bool { return true })
}

// strictly puts edges in the order of their ends, and none beside another like it.
func strictly(x, y Edge) int {
	if n := cmp.Or(cmp.Compare(x.A, y.A), cmp.Compare(x.B, y.B)); n != 0 {
		return n
	}
	return -1 // two of the same ends are in no order, whichever comes first
}

// Only is the same graph with some of its links alone: those that keep says yes
// to. They go by the numbers they had, and Edges lists the others too.
func (g *Graph) Only(keep func(edge int32) bool) *Graph { return tie(g.Len(), g.edges, keep) }

// tie makes the halves of those edges that are kept; all are in the order of their
// ends.
func tie(nodes int, edges []Edge, keep func(edge int32) bool) *Graph {
	g := &Graph{edges: edges, first: make([]int32, nodes+1), narrowest: Unlimited}
	kept := make([]int32, 0, len(edges))
	for i := range edges {
		if e := &edges[i]; keep(int32(i)) {
			kept = append(kept, int32(i))
			g.first[e.A+1]++
			g.first[e.B+1]++
			g.narrowest = min(g.narrowest, e.Width)
		}
	}
	for v := range nodes {
		g.first[v+1] += g.first[v]
	}
	g.halves, g.prices = make([]Half, 2*len(kept)), make([]int32, 2*len(kept))
	next := slices.Clone(g.first)
	put := func(v, to, edge int32) {
		g.halves[next[v]], g.prices[next[v]] = Half{to, edge}, int32(min(edges[edge].Cost, dear))
		next[v]++
	}
	for _, i := range kept {
		put(edges[i].B, edges[i].A, i) // those to lower nodes first: the edges are sorted
	}
	for _, i := range kept {
		put(edges[i].A, edges[i].B, i)
	}
	return g
}

// Len is the number of nodes.
func (g *Graph) Len() int { return len(g.first) - 1 }

// Edges lists every link, by its lower node and then its higher one. It must not
// be changed.
func (g *Graph) Edges() []Edge { return g.edges }

// Links is how many links there are.
func (g *Graph) Links() int { return len(g.halves) / 2 }

// Edge is the i-th link.
func (g *Graph) Edge(i int32) *Edge { return &g.edges[i] }

// Halves lists the links of a node by the node at the other end, lowest first. It
// must not be changed.
func (g *Graph) Halves(v int32) []Half { return g.halves[g.first[v]:g.first[v+1]] }

// View says which part of a graph counts.
type View struct {
	Up     []bool // nodes that are there
	Relays []bool // of those, the ones that carry a path on; the root always does
	Least  int32  // links narrower than this don't count
}

// dear is the price of a link that costs as much or more.
const dear = 1<<31 - 1

// all says whether no link is too narrow for a view, so that none has to be
// looked at for that.
func (g *Graph) all(v View) bool { return v.Least <= g.narrowest }

func (v View) carries(root, n int32) bool { return n == root || v.Relays[n] }
