package graph_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/projection/mesh/graph"
)

func Example() {
	// The root is 0. Node 3 is a leaf; 4 hangs on 2 alone.
	g := graph.New(5, []graph.Edge{
		{A: 0, B: 1, Width: 900, Cost: 1}, {A: 0, B: 3, Width: 200, Cost: 3}, {A: 1, B: 2, Width: 700, Cost: 1},
		{A: 1, B: 3, Width: 800, Cost: 1}, {A: 2, B: 4, Width: 600, Cost: 1},
	})
	view := graph.View{Up: []bool{true, true, true, true, true}, Relays: []bool{true, true, true, false, true}}
	s := &graph.Scratch{}
	idom := g.Dominators(0, view, s)
	fmt.Println("fewest links for 3:", g.Hops(0, view, s).Path(3))
	fmt.Println("cheapest for 3:    ", g.Cheapest(0, view, s).Path(3))
	fmt.Println("widest for 4:      ", g.Widest(0, view, s).Width[4])
	fmt.Println("if 1 goes:         ", g.Strands(0, view, s)[1])
	fmt.Println("two ways:          ", g.Disjoint(0, view, idom, s))
	// Output:
	// fewest links for 3: [3 0]
	// cheapest for 3:     [3 1 0]
	// widest for 4:       600
	// if 1 goes:          [2 4]
	// two ways:           [false false false true false]
}

// The worked examples of De Couto et al., "A high-throughput path metric for
// multi-hop wireless routing", MobiCom 2003, seen in a secondary text.
func TestETXOfTheLiterature(t *testing.T) {
	near, good, direct := graph.ETX(900_000, 800_000), graph.ETX(graph.Million, graph.Million), graph.ETX(500_000, 800_000)
	require.EqualValues(t, 1_388_889, near, "(0.9, 0.8): 1.38889")
	require.EqualValues(t, 2_500_000, direct, "(0.5, 0.8): 2.5")
	require.EqualValues(t, 2_388_889, near+good, "over B: 2.38889")

	g := graph.New(3, []graph.Edge{{A: 0, B: 1, Cost: near}, {A: 1, B: 2, Cost: good}, {A: 0, B: 2, Cost: direct}})
	view := graph.View{Up: []bool{true, true, true}, Relays: []bool{true, true, true}}
	tree := g.Cheapest(0, view, &graph.Scratch{})
	require.Equal(t, []int32{2, 1, 0}, tree.Path(2), "two good links beat a bad one")
	require.EqualValues(t, 2_388_889, tree.Cost[2])
}

func TestETXOfNothing(t *testing.T) {
	require.Equal(t, graph.ETX(0, 0), graph.ETX(1000, 1000), "a share below a thousandth counts as one")
	require.Positive(t, graph.ETX(0, 0))
	require.EqualValues(t, graph.Million, graph.ETX(2*graph.Million, graph.Million), "nothing is better than certain")
}

func TestLoopsAndParallelLinks(t *testing.T) {
	g := graph.New(2, []graph.Edge{{A: 0, B: 0, Width: 9}, {A: 0, B: 1, Width: 3, Cost: 1}, {A: 1, B: 0, Width: 5, Cost: 9}, {A: 0, B: 1, Width: 5, Cost: 7}})
	require.Equal(t, []graph.Edge{{A: 0, B: 1, Width: 5, Cost: 7}}, g.Edges(), "the widest stays, of those the cheapest")
	require.Equal(t, 2, g.Len())
	require.Equal(t, []graph.Half{{To: 0, Edge: 0}}, g.Halves(1))
}

func TestNothingIsReachedWithoutItsRoot(t *testing.T) {
	g := graph.New(3, []graph.Edge{{A: 0, B: 1}, {A: 1, B: 2}})
	view := graph.View{Up: []bool{false, true, true}, Relays: []bool{false, true, true}}
	s := &graph.Scratch{}
	for _, tree := range []*graph.Tree{g.Hops(0, view, s), g.Cheapest(0, view, s), g.Widest(0, view, s)} {
		require.Equal(t, []int32{-1, -1, -1}, tree.Hops)
		require.Nil(t, tree.Path(0))
	}
	idom := g.Dominators(0, view, s)
	require.Equal(t, []int32{-1, -1, -1}, idom)
	require.Equal(t, make([][]int32, 3), g.Strands(0, view, s))
	require.Equal(t, []bool{false, false, false}, g.Disjoint(0, view, idom, s))
	require.Equal(t, [][]int32{nil}, g.StrandsWithout(0, view, [][]int32{{1}}, s), "who has no path can lose none")
	require.Equal(t, [][]int32{{1, 2}}, g.Islands(0, view, s))
}

// A link to the root is one path, not two; a second neighbour makes the other.
func TestDirectLinkIsOnePath(t *testing.T) {
	s := &graph.Scratch{}
	all := graph.View{Up: []bool{true, true, true, true}, Relays: []bool{true, true, true, true}}
	alone := graph.New(4, []graph.Edge{{A: 0, B: 1}, {A: 1, B: 2}, {A: 2, B: 3}})
	require.Equal(t, []bool{false, false, false, false}, alone.Disjoint(0, all, alone.Dominators(0, all, s), s))
	ring := graph.New(4, []graph.Edge{{A: 0, B: 1}, {A: 1, B: 2}, {A: 2, B: 0}, {A: 2, B: 3}})
	require.Equal(t, []bool{false, true, true, false}, ring.Disjoint(0, all, ring.Dominators(0, all, s), s))
}

// field is a network by distance: nodes on a square, about degree links each.
func field(networks, nodes, degree int) (graphs []*graph.Graph, view graph.View) {
	dice := rand.New(rand.NewPCG(1, 1))
	for range networks {
		x, y := make([]float64, nodes), make([]float64, nodes)
		var edges []graph.Edge
		near := float64(degree) / float64(nodes) / 3.14159
		for i := range nodes {
			x[i], y[i] = dice.Float64(), dice.Float64()
			for j := range i {
				if d := (x[i]-x[j])*(x[i]-x[j]) + (y[i]-y[j])*(y[i]-y[j]); d < near {
					edges = append(edges, graph.Edge{A: int32(i), B: int32(j), Width: int32(1000 * (1 - d/near)), Cost: graph.Million + int64(d/near*graph.Million)})
				}
			}
		}
		graphs = append(graphs, graph.New(nodes, edges))
	}
	view = graph.View{Up: make([]bool, nodes), Relays: make([]bool, nodes)}
	for i := range nodes {
		view.Up[i], view.Relays[i] = true, i%5 > 0
	}
	return graphs, view
}

// Benchmark asks everything of 5,000 nodes: as 25 networks of 200, and as one.
func Benchmark(b *testing.B) {
	for _, size := range []struct{ networks, nodes int }{{25, 200}, {1, 5000}} {
		graphs, view := field(size.networks, size.nodes, 30)
		groups := make([][]int32, 400/size.networks)
		for i := range groups {
			for v := i; v < size.nodes; v += len(groups) {
				groups[i] = append(groups[i], int32(v))
			}
		}
		s := &graph.Scratch{}
		for _, ask := range []struct {
			name string
			of   func(g *graph.Graph)
		}{
			{"Hops", func(g *graph.Graph) { g.Hops(0, view, s) }},
			{"Cheapest", func(g *graph.Graph) { g.Cheapest(0, view, s) }},
			{"Widest", func(g *graph.Graph) { g.Widest(0, view, s) }},
			{"Dominators", func(g *graph.Graph) { g.Dominators(0, view, s) }},
			{"Strands", func(g *graph.Graph) { g.Strands(0, view, s) }},
			{"StrandsWithout400", func(g *graph.Graph) { g.StrandsWithout(0, view, groups, s) }},
			{"Islands", func(g *graph.Graph) { g.Islands(0, view, s) }},
		} {
			b.Run(fmt.Sprintf("%s/%dx%d", ask.name, size.networks, size.nodes), func(b *testing.B) {
				for b.Loop() {
					for _, g := range graphs {
						ask.of(g)
					}
				}
			})
		}
	}
}

// Of paths with as few links the widest is taken, of those the one by the lower
// node; likewise where paths cost the same, the one with fewer links.
func TestTies(t *testing.T) {
	s := &graph.Scratch{}
	all := graph.View{Up: []bool{true, true, true, true}, Relays: []bool{true, true, true, true}}
	wider := graph.New(4, []graph.Edge{{A: 0, B: 1, Width: 5, Cost: 1}, {A: 0, B: 2, Width: 9, Cost: 1}, {A: 1, B: 3, Width: 9, Cost: 1}, {A: 2, B: 3, Width: 7, Cost: 1}})
	require.Equal(t, []int32{3, 2, 0}, wider.Hops(0, all, s).Path(3))
	require.Equal(t, []int32{3, 2, 0}, wider.Widest(0, all, s).Path(3))
	require.Equal(t, []int32{3, 1, 0}, wider.Cheapest(0, all, s).Path(3), "width does not matter where cost does")
	first := graph.New(4, []graph.Edge{{A: 0, B: 1, Width: 9, Cost: 1}, {A: 0, B: 2, Width: 5, Cost: 1}, {A: 1, B: 3, Width: 9, Cost: 1}, {A: 2, B: 3, Width: 9, Cost: 1}})
	require.Equal(t, []int32{3, 1, 0}, first.Hops(0, all, s).Path(3), "a narrower one that comes later does not count")
	lower := graph.New(4, []graph.Edge{{A: 0, B: 2, Width: 9, Cost: 1}, {A: 2, B: 3, Width: 9, Cost: 1}, {A: 0, B: 1, Width: 9, Cost: 1}, {A: 1, B: 3, Width: 9, Cost: 1}})
	for _, tree := range []*graph.Tree{lower.Hops(0, all, s), lower.Widest(0, all, s), lower.Cheapest(0, all, s)} {
		require.Equal(t, []int32{3, 1, 0}, tree.Path(3))
	}
	fewer := graph.New(3, []graph.Edge{{A: 0, B: 1, Width: 1, Cost: 1}, {A: 1, B: 2, Width: 1, Cost: 1}, {A: 0, B: 2, Width: 1, Cost: 2}})
	require.Equal(t, []int32{2, 0}, fewer.Cheapest(0, all, s).Path(2))
}
