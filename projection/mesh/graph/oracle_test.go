package graph_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	gonum "gonum.org/v1/gonum/graph"
	"gonum.org/v1/gonum/graph/flow"
	"gonum.org/v1/gonum/graph/network"
	"gonum.org/v1/gonum/graph/path"
	"gonum.org/v1/gonum/graph/simple"
	"gonum.org/v1/gonum/graph/topo"
	"gonum.org/v1/gonum/graph/traverse"

	"pairwalk/projection/mesh/graph"
)

// These tests hold our graph code against gonum v0.17, a general library that
// shares no code with it, on thousands of random networks.

func each(t *testing.T, check func(t *testing.T, c netCase)) {
	t.Helper()
	for seed := range uint64(seeds) {
		c := draw(seed)
		check(t, c)
		if t.Failed() {
			t.Fatalf("seed %d: %d nodes, links %v, view %+v", seed, c.nodes, c.edges, c.view)
		}
	}
}

func TestHopsEqualBreadthFirst(t *testing.T) {
	each(t, func(t *testing.T, c netCase) {
		tree := c.g.Hops(0, c.view, &graph.Scratch{})
		depth := c.reached(nil)
		for v := range int32(c.nodes) {
			if d, ok := depth[int64(v)]; ok {
				require.EqualValues(t, d, tree.Hops[v], "node %d", v)
			} else {
				require.EqualValues(t, -1, tree.Hops[v], "node %d", v)
			}
		}
		c.isTree(t, tree)
	})
}

// isTree holds that a tree's figures are those of the paths it gives.
func (c netCase) isTree(t *testing.T, tree *graph.Tree) {
	t.Helper()
	for v := range int32(c.nodes) {
		way := tree.Path(v)
		require.Equal(t, tree.Hops[v] >= 0, way != nil)
		if way == nil {
			require.EqualValues(t, -1, tree.Parent[v])
			continue
		}
		require.EqualValues(t, 0, way[len(way)-1])
		require.Len(t, way, int(tree.Hops[v])+1)
		width, cost := graph.Unlimited, int64(0)
		for i := 1; i < len(way); i++ {
			require.True(t, c.carries(int64(way[i])), "%d is on a path and carries none", way[i])
			e := c.edge(way[i-1], way[i])
			require.NotNil(t, e)
			width, cost = min(width, e.Width), cost+e.Cost
		}
		require.Equal(t, width, tree.Width[v])
		require.Equal(t, cost, tree.Cost[v])
	}
}

func (c netCase) edge(a, b int32) *graph.Edge {
	for _, e := range c.counted() {
		if e.A == min(a, b) && e.B == max(a, b) {
			return &e
		}
	}
	return nil
}

func TestCheapestEqualsDijkstra(t *testing.T) {
	each(t, func(t *testing.T, c netCase) {
		tree := c.g.Cheapest(0, c.view, &graph.Scratch{})
		short := path.DijkstraFrom(simple.Node(0), c.directed(func(e graph.Edge) float64 { return float64(e.Cost) }))
		for v := range int32(c.nodes) {
			w := math.Inf(1)
			if c.view.Up[v] {
				w = short.WeightTo(int64(v))
			}
			if math.IsInf(w, 1) {
				require.EqualValues(t, -1, tree.Hops[v])
			} else {
				require.EqualValues(t, w, tree.Cost[v], "node %d", v)
			}
		}
		c.isTree(t, tree)
	})
}

// The widest path is the path in a largest spanning tree. Leaves hang on that of
// the relays by their widest link.
func TestWidestIsTheLargestSpanningTree(t *testing.T) {
	each(t, func(t *testing.T, c netCase) {
		tree := c.g.Widest(0, c.view, &graph.Scratch{})
		relays := simple.NewWeightedUndirectedGraph(0, math.Inf(1))
		relays.AddNode(simple.Node(0))
		for _, e := range c.counted() {
			if c.carries(int64(e.A)) && c.carries(int64(e.B)) {
				relays.SetWeightedEdge(relays.NewWeightedEdge(simple.Node(e.A), simple.Node(e.B), -float64(e.Width)))
			}
		}
		span := simple.NewWeightedUndirectedGraph(0, math.Inf(1))
		path.Kruskal(span, relays)
		if span.Node(0) == nil {
			span.AddNode(simple.Node(0))
		}
		width := map[int64]float64{0: float64(graph.Unlimited)}
		(&traverse.BreadthFirst{Traverse: func(e gonum.Edge) bool {
			w := -e.(gonum.WeightedEdge).Weight()
			if _, had := width[e.To().ID()]; !had {
				width[e.To().ID()] = min(width[e.From().ID()], w)
			}
			return true
		}}).Walk(span, simple.Node(0), nil)
		for v := range int32(c.nodes) {
			want, ok := width[int64(v)]
			if !c.carries(int64(v)) {
				want, ok = 0, false
				for _, e := range c.counted() {
					for _, pair := range [][2]int32{{e.A, e.B}, {e.B, e.A}} {
						if w, had := width[int64(pair[1])]; pair[0] == v && had && c.carries(int64(pair[1])) {
							if through := min(w, float64(e.Width)); !ok || through > want {
								want, ok = through, true
							}
						}
					}
				}
			}
			require.Equal(t, ok, tree.Hops[v] >= 0, "node %d", v)
			if ok {
				require.EqualValues(t, want, tree.Width[v], "node %d", v)
			}
		}
		c.isTree(t, tree)
	})
}

func TestDominatorsEqualGonums(t *testing.T) {
	each(t, func(t *testing.T, c netCase) {
		idom := c.g.Dominators(0, c.view, &graph.Scratch{})
		tree := flow.Dominators(simple.Node(0), c.directed(one))
		for v := range int64(c.nodes) {
			want := int64(-1)
			if n := tree.DominatorOf(v); n != nil && v != 0 {
				want = n.ID()
			}
			require.EqualValues(t, want, idom[v], "node %d", v)
		}
	})
}

// Remove and count again: the plainest oracle of single points.
func TestStrandsByRemoval(t *testing.T) {
	each(t, func(t *testing.T, c netCase) {
		all := c.reached(nil)
		strands := c.g.Strands(0, c.view, &graph.Scratch{})
		for v := range int64(c.nodes) {
			var lost []int32
			if _, up := all[v]; up && v != 0 {
				left := c.reached(map[int64]bool{v: true})
				for n := range int64(c.nodes) {
					_, had := all[n]
					_, has := left[n]
					if had && !has && n != v {
						lost = append(lost, int32(n))
					}
				}
			}
			got := slices.Sorted(slices.Values(strands[v]))
			require.Equal(t, lost, got, "without %d", v)
		}
	})
}

// In a network of relays alone, a node that strands others is one whose removal
// leaves more components.
func TestStrandsAreArticulationPoints(t *testing.T) {
	each(t, func(t *testing.T, c netCase) {
		for i := range c.view.Relays {
			c.view.Relays[i] = c.view.Up[i]
		}
		strands := c.g.Strands(0, c.view, &graph.Scratch{})
		components := func(without int32) int {
			u := simple.NewUndirectedGraph()
			for i := range int32(c.nodes) {
				if c.view.Up[i] && i != without {
					u.AddNode(simple.Node(i))
				}
			}
			for _, e := range c.counted() {
				if e.A != without && e.B != without {
					u.SetEdge(u.NewEdge(simple.Node(e.A), simple.Node(e.B)))
				}
			}
			return len(topo.ConnectedComponents(u))
		}
		base := components(-1)
		for v := int32(1); v < int32(c.nodes); v++ {
			if _, has := c.reached(nil)[int64(v)]; has {
				require.Equal(t, components(v) > base, len(strands[v]) > 0, "node %d", v)
			}
		}
	})
}

func TestStrandsWithoutByRemoval(t *testing.T) {
	each(t, func(t *testing.T, c netCase) {
		dice := rand.New(rand.NewPCG(uint64(c.nodes), uint64(len(c.edges))))
		var groups [][]int32
		for range 6 {
			var group []int32
			for v := range int32(c.nodes) {
				if dice.IntN(4) == 0 && (v > 0 || dice.IntN(6) == 0) {
					group = append(group, v)
				}
			}
			groups = append(groups, group)
		}
		groups = append(groups, nil, []int32{1, 1})
		all := c.reached(nil)
		got := c.g.StrandsWithout(0, c.view, groups, &graph.Scratch{})
		for i, group := range groups {
			gone := map[int64]bool{}
			for _, v := range group {
				gone[int64(v)] = true
			}
			left := c.reached(gone)
			var lost []int32
			for v := range int64(c.nodes) {
				_, had := all[v]
				_, has := left[v]
				if had && !has && !gone[v] {
					lost = append(lost, int32(v))
				}
			}
			require.Equal(t, lost, got[i], "group %v", group)
		}
	})
}

// Two paths with nothing in common: every node but the ends is split in two, with
// room for one path between, and two paths fit or don't.
func TestDisjointEqualsFlow(t *testing.T) {
	each(t, func(t *testing.T, c netCase) {
		s := &graph.Scratch{}
		idom := c.g.Dominators(0, c.view, s)
		disjoint := c.g.Disjoint(0, c.view, idom, s)
		for v := int64(1); v < int64(c.nodes); v++ {
			d := simple.NewWeightedDirectedGraph(0, 0)
			in, out := func(n int64) simple.Node { return simple.Node(2 * n) }, func(n int64) simple.Node { return simple.Node(2*n + 1) }
			arc := func(from, to simple.Node, room float64) {
				if !d.HasEdgeFromTo(from.ID(), to.ID()) {
					d.SetWeightedEdge(d.NewWeightedEdge(from, to, room))
				}
			}
			for n := range int64(c.nodes) {
				arc(in(n), out(n), 1)
			}
			for _, e := range c.counted() {
				for _, pair := range [][2]int32{{e.A, e.B}, {e.B, e.A}} {
					if c.carries(int64(pair[0])) && int64(pair[0]) != v {
						arc(out(int64(pair[0])), in(int64(pair[1])), 1)
					}
				}
			}
			want := c.view.Up[v] && network.MaxFlowDinic(d, out(0), in(v), 1e-9) > 1.5
			require.Equal(t, want, disjoint[v], "node %d", v)
		}
	})
}

func TestIslandsAreComponents(t *testing.T) {
	each(t, func(t *testing.T, c netCase) {
		all := c.reached(nil)
		u := simple.NewUndirectedGraph()
		lost := func(v int32) bool { _, has := all[int64(v)]; return c.view.Up[v] && !has }
		for v := range int32(c.nodes) {
			if lost(v) {
				u.AddNode(simple.Node(v))
			}
		}
		for _, e := range c.counted() {
			if lost(e.A) && lost(e.B) {
				u.SetEdge(u.NewEdge(simple.Node(e.A), simple.Node(e.B)))
			}
		}
		var want [][]int32
		for _, part := range topo.ConnectedComponents(u) {
			var ids []int32
			for _, n := range part {
				ids = append(ids, int32(n.ID()))
			}
			slices.Sort(ids)
			want = append(want, ids)
		}
		slices.SortFunc(want, func(a, b []int32) int { return int(a[0] - b[0]) })
		require.Equal(t, want, c.g.Islands(0, c.view, &graph.Scratch{}))
	})
}

// The order in which links are given, which end is named first, and what a
// scratch was used for before change nothing.
func TestOrderOfLinksDoesNotMatter(t *testing.T) {
	used := &graph.Scratch{}
	each(t, func(t *testing.T, c netCase) {
		shuffled := slices.Clone(c.edges)
		dice := rand.New(rand.NewPCG(uint64(len(c.edges)), 5))
		dice.Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
		for i := range shuffled {
			if dice.IntN(2) == 0 {
				shuffled[i].A, shuffled[i].B = shuffled[i].B, shuffled[i].A
			}
		}
		other := graph.New(c.nodes, shuffled)
		require.Equal(t, answers(c.g, c.view, &graph.Scratch{}), answers(other, c.view, used))
	})
}

func answers(g *graph.Graph, v graph.View, s *graph.Scratch) string {
	idom := g.Dominators(0, v, s)
	return fmt.Sprint(g.Hops(0, v, s), g.Cheapest(0, v, s), g.Widest(0, v, s), idom, g.Strands(0, v, s), g.Disjoint(0, v, idom, s), g.Islands(0, v, s))
}
