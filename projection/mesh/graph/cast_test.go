package graph_test

import (
	"math"
	"math/rand/v2"

	gonum "gonum.org/v1/gonum/graph"
	"gonum.org/v1/gonum/graph/simple"
	"gonum.org/v1/gonum/graph/traverse"

	"pairwalk/projection/mesh/graph"
)

// netCase is a random network: what was drawn, and our graph of it.
type netCase struct {
	nodes int
	edges []graph.Edge
	view  graph.View
	g     *graph.Graph
}

const seeds = 2500

// draw makes a network of one of six shapes from a seed.
func draw(seed uint64) netCase {
	dice := rand.New(rand.NewPCG(seed, 77))
	c := netCase{nodes: 2 + dice.IntN(24)}
	link := func(a, b int) {
		c.edges = append(c.edges, graph.Edge{A: int32(a), B: int32(b), Width: int32(dice.IntN(12)), Cost: 1 + int64(dice.IntN(9))})
	}
	switch seed % 6 {
	case 0: // sparse
		for range c.nodes {
			link(dice.IntN(c.nodes), dice.IntN(c.nodes))
		}
	case 1: // dense
		for a := range c.nodes {
			for b := range a {
				if dice.IntN(3) == 0 {
					link(a, b)
				}
			}
		}
	case 2: // by distance
		at := make([][2]float64, c.nodes)
		for i := range at {
			at[i] = [2]float64{dice.Float64(), dice.Float64()}
			for j := range i {
				if math.Hypot(at[i][0]-at[j][0], at[i][1]-at[j][1]) < 0.3 {
					link(i, j)
				}
			}
		}
	case 3: // chain with a few shortcuts
		for i := 1; i < c.nodes; i++ {
			link(i-1, i)
		}
		for range dice.IntN(3) {
			link(dice.IntN(c.nodes), dice.IntN(c.nodes))
		}
	case 4: // grid
		wide := 2 + dice.IntN(4)
		for i := range c.nodes {
			if i%wide > 0 {
				link(i-1, i)
			}
			if i >= wide {
				link(i-wide, i)
			}
		}
	default: // star of stars
		for i := 1; i < c.nodes; i++ {
			link(i, i/3)
		}
	}
	c.view = graph.View{Up: make([]bool, c.nodes), Relays: make([]bool, c.nodes), Least: int32(dice.IntN(4))}
	for i := range c.nodes {
		c.view.Up[i] = i == 0 || dice.IntN(8) > 0
		c.view.Relays[i] = c.view.Up[i] && dice.IntN(4) > 0
	}
	c.g = graph.New(c.nodes, c.edges)
	return c
}

func (c netCase) carries(n int64) bool { return n == 0 || c.view.Relays[n] }

// counted yields the links that count: both ends up, wide enough, the best of
// parallel ones, no loops.
func (c netCase) counted() []graph.Edge {
	best := map[[2]int32]graph.Edge{}
	for _, e := range c.edges {
		k := [2]int32{min(e.A, e.B), max(e.A, e.B)}
		old, had := best[k]
		if !had || e.Width > old.Width || e.Width == old.Width && e.Cost < old.Cost {
			best[k] = graph.Edge{A: k[0], B: k[1], Width: e.Width, Cost: e.Cost}
		}
	}
	var out []graph.Edge
	for _, e := range best {
		if e.A != e.B && c.view.Up[e.A] && c.view.Up[e.B] && e.Width >= c.view.Least {
			out = append(out, e)
		}
	}
	return out
}

// directed is the network as gonum has it: an arc leads on from every node that
// carries, away from the root.
func (c netCase) directed(weight func(graph.Edge) float64) *simple.WeightedDirectedGraph {
	d := simple.NewWeightedDirectedGraph(0, math.Inf(1))
	for i := range c.nodes {
		if c.view.Up[i] {
			d.AddNode(simple.Node(i))
		}
	}
	for _, e := range c.counted() {
		for _, arc := range [][2]int32{{e.A, e.B}, {e.B, e.A}} {
			if c.carries(int64(arc[0])) {
				d.SetWeightedEdge(d.NewWeightedEdge(simple.Node(arc[0]), simple.Node(arc[1]), weight(e)))
			}
		}
	}
	return d
}

func one(graph.Edge) float64 { return 1 }

// reached by gonum's breadth-first search, without some nodes.
func (c netCase) reached(gone map[int64]bool) map[int64]int {
	depth := map[int64]int{}
	if gone[0] {
		return depth
	}
	bf := traverse.BreadthFirst{Traverse: func(e gonum.Edge) bool { return !gone[e.To().ID()] }}
	bf.Walk(c.directed(one), simple.Node(0), func(n gonum.Node, d int) bool {
		depth[n.ID()] = d
		return false
	})
	return depth
}
