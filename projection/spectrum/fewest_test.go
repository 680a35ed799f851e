package spectrum_test

import (
	"encoding/json"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/projection/spectrum"
)

// holds checks every distance of an assignment, and that nothing is said of it that
// is not so.
func holds(t *testing.T, apart [][]int, s spectrum.Spread) {
	t.Helper()
	require.Len(t, s.At, len(apart))
	for i, row := range apart {
		for j, d := range row {
			if i != j {
				gap := max(s.At[i]-s.At[j], s.At[j]-s.At[i])
				require.GreaterOrEqual(t, gap, d, "nodes %d and %d", i, j)
			}
		}
	}
	if len(apart) > 0 {
		require.Equal(t, s.Span, slices.Max(s.At)-slices.Min(s.At))
		require.Zero(t, slices.Min(s.At))
	}
	require.LessOrEqual(t, s.LowerBound, s.Span)
	require.Equal(t, s.LowerBound == s.Span, s.Exact)
}

// Numbers of edges and of colours as the DIMACS colouring instances have them (seen
// in secondary texts); the graphs are generated from their definitions.
func TestChromaticNumbersAreThePublishedOnes(t *testing.T) {
	for _, c := range []struct {
		name       string
		graph      [][]int
		edges, chi int
	}{
		{"queen5_5", queens(5), 160, 5},
		{"queen6_6", queens(6), 290, 7},
		{"queen7_7", queens(7), 476, 7},
		{"queen8_8", queens(8), 728, 9},
		{"myciel3", mycielski(3), 20, 4},
		{"myciel4", mycielski(4), 71, 5},
		{"myciel5", mycielski(5), 236, 6},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Equal(t, c.edges, edges(c.graph))
			s := spectrum.Fewest(c.graph)
			holds(t, c.graph, s)
			require.Equal(t, c.chi, s.Span+1)
			require.True(t, s.Exact)
			t.Logf("%d colours, proved that %d are needed", s.Span+1, s.LowerBound+1)
		})
	}
}

// A dumb oracle goes up the spans and tries every assignment within each.
func TestFewestIsWhatBruteForceFinds(t *testing.T) {
	for seed := range uint64(600) {
		dice := rand.New(rand.NewPCG(seed, 5))
		n := 1 + dice.IntN(6)
		apart := make([][]int, n)
		for i := range apart {
			apart[i] = make([]int, n)
			for j := range i {
				apart[i][j] = max(0, dice.IntN(6)-2)
				if seed%2 == 0 {
					apart[i][j] = dice.IntN(2) // a graph to colour
				}
				apart[j][i] = apart[i][j]
			}
		}
		s := spectrum.Fewest(apart)
		holds(t, apart, s)
		require.True(t, s.Exact, "seed %d", seed)
		require.Equal(t, leastSpan(apart), s.Span, "seed %d", seed)
		alone := spectrum.ProveSpanFromTheWorst(apart)
		holds(t, apart, alone)
		require.Equal(t, s.Span, alone.Span, "seed %d: without a good one to begin with", seed)
	}
	require.Equal(t, spectrum.Spread{Exact: true}, spectrum.Fewest(nil))
}

func leastSpan(apart [][]int) int {
	for span := 0; ; span++ {
		at := make([]int, len(apart))
		var each func(i int) bool
		each = func(i int) bool {
			if i == len(at) {
				return true
			}
			for at[i] = 0; at[i] <= span; at[i]++ {
				fits := true
				for j := range i {
					fits = fits && max(at[i]-at[j], at[j]-at[i]) >= apart[i][j]
				}
				if fits && each(i+1) {
					return true
				}
			}
			return false
		}
		if each(0) {
			return span
		}
	}
}

// The Philadelphia instances (Anderson 1973), from their definitions; the optimal
// spans are the published ones, seen in secondary texts. testdata/philadelphia.json
// names its origin. Each call is a node; calls of one cell keep the distance that
// stands on the diagonal.
func TestPhiladelphiaIsNotBeaten(t *testing.T) {
	raw, err := os.ReadFile("testdata/philadelphia.json")
	require.NoError(t, err)
	var data struct {
		Optimal   map[string]int `json:"optimal_span"`
		Instances map[string]struct {
			Demand     []int   `json:"demand"`
			Separation [][]int `json:"separation"`
		}
	}
	require.NoError(t, json.Unmarshal(raw, &data))
	for _, name := range []string{"P1", "P2", "P3", "P4", "P5", "P6", "P7", "P9"} {
		t.Run(name, func(t *testing.T) {
			in, best := data.Instances[name], data.Optimal[name]
			require.NotZero(t, best)
			var cell []int
			for c, calls := range in.Demand {
				for range calls {
					cell = append(cell, c)
				}
			}
			apart := make([][]int, len(cell))
			for i := range apart {
				apart[i] = make([]int, len(cell))
				for j := range apart[i] {
					if i != j {
						apart[i][j] = in.Separation[cell[i]][cell[j]]
					}
				}
			}
			s := spectrum.Fewest(apart)
			holds(t, apart, s)
			require.GreaterOrEqual(t, s.Span, best, "nobody beats the optimum")
			require.LessOrEqual(t, s.LowerBound, best)
			t.Logf("%s: %d calls, span %d, optimum %d, gap %d, bound %d", name, len(cell), s.Span, best, s.Span-best, s.LowerBound)
		})
	}
}
