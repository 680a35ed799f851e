package simtest_test

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/syncd/simtest"
)

func TestNumbersAreReadAsTheyAreWritten(t *testing.T) {
	for text, want := range map[string]string{
		"":                    "",
		"7":                   "7",
		"3,7,12..40":          "3,7,12..40",
		"40..50, 3, 12..40":   "3,12..50",
		"5..9,6,7..8,10,12":   "5..10,12",
		"5..,7,9..12":         "5..",
		"1..2,4..1699,1701..": "1..2,4..1699,1701..",
	} {
		got, err := simtest.ParseNumbers(text)
		require.NoError(t, err, text)
		require.Equal(t, want, got.String())
	}
	for _, wrong := range []string{"x", "0", "-3", "9..3", "..4", "3-4"} {
		_, err := simtest.ParseNumbers(wrong)
		require.ErrorContains(t, err, "such as 12..40", wrong)
	}
}

func TestAllButLeavesOutTheRest(t *testing.T) {
	for _, kept := range [][]int{nil, {1}, {9, 4, 5}, {2, 1, 3, 1710}} {
		out := simtest.AllBut(kept)
		for n := 1; n < 2000; n++ {
			require.NotEqual(t, slices.Contains(kept, n), out.Has(n), "%d of all but %v", n, kept)
		}
		require.True(t, out.Has(1_000_000))
	}
}

// TestTheRestStaysAsItWas leaves single things out, and looks at what people do
// besides: in nearly all cases the same people do the same at the same time.
func TestTheRestStaysAsItWas(t *testing.T) {
	if raced {
		t.Skip(sampled)
	}
	same, all := 0, 0
	for seed := range uint64(4) {
		was := live(simtest.Plan{Seed: seed})
		require.Nil(t, was.broken)
		doings := doingsIn(was.report.Story)
		numbers := slices.DeleteFunc(was.report.Numbers, func(n int) bool { return n < 100 })
		for i := range 4 {
			out := numbers[(2*i+1)*len(numbers)/8]
			now := live(simtest.Plan{Seed: seed, Without: simtest.Numbers{{From: out, To: out}}})
			require.Nil(t, now.broken)
			require.NotContains(t, now.report.Numbers, out)
			left := doingsIn(now.report.Story)
			for n, line := range doings {
				switch {
				case n == out:
				case n < out/100*100:
					require.Equal(t, line, left[n], "number %d of seed %d came before %d", n, seed, out)
				default:
					all++
					if left[n] == line {
						same++
					}
				}
			}
		}
	}
	t.Logf("of %d things that followed, %d stayed as they were", all, same)
	require.Greater(t, same, all*8/10)
}

// doingsIn are the first lines of what people do, by number.
func doingsIn(story []string) map[int]string {
	out := map[int]string{}
	for _, line := range story {
		f := strings.Fields(line)
		if n, err := strconv.Atoi(f[1]); err == nil && n%100 == 0 && out[n] == "" {
			out[n] = line
		}
	}
	return out
}

// TestLessBreaksNothingMore: what is left of a world is a world, in which every
// promise holds.
func TestLessBreaksNothingMore(t *testing.T) {
	if raced {
		t.Skip(sampled)
	}
	for seed := range uint64(4) {
		all := live(simtest.Plan{Seed: seed}).report.Numbers
		var few, steps []int
		for i, n := range all {
			if i%3 == int(seed)%3 {
				few = append(few, n)
			}
			if n >= 100 {
				steps = append(steps, n)
			}
		}
		for _, kept := range [][]int{nil, few, steps} {
			l := live(simtest.Plan{Seed: seed, Without: simtest.AllBut(kept)})
			require.Nil(t, l.broken, "seed %d with %v alone", seed, kept)
			require.Subset(t, kept, l.report.Numbers)
		}
	}
}
