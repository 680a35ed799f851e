package simtest_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/syncd/simtest"
)

// TestWorldsComeInOrder: on however many cores worlds are lived through, they come
// in the order of their seeds, each as it would alone; so the first that breaks a
// promise is the one with the lowest seed.
func TestWorldsComeInOrder(t *testing.T) {
	next := uint64(40)
	for l := range worlds(t.Context(), next, 3) {
		require.Equal(t, next, l.seed)
		alone, err := simtest.Run(t.Context(), next)
		require.NoError(t, err)
		require.Equal(t, alone, l.report)
		next++
	}
	require.EqualValues(t, 43, next)
}

func TestWorldsEndWhenAsked(t *testing.T) {
	var lived []uint64
	for l := range worlds(t.Context(), 7, 0) {
		if lived = append(lived, l.seed); len(lived) == 3 {
			break
		}
	}
	require.Equal(t, []uint64{7, 8, 9}, lived)

	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	all := newTotals(7)
	for l := range worlds(ctx, 7, 0) {
		stop()
		require.Equal(t, all.next, l.seed, "whoever goes on at the next seed leaves none out")
		all.add(l)
	}
	require.Positive(t, all.worlds())
}

func TestTotals(t *testing.T) {
	all := newTotals(30)
	require.Contains(t, all.table(), "none was lived through")
	one := simtest.Report{Members: 3, Entries: 1200, Messages: 4000, Healing: 90, Judged: 7, Forks: 2, Injected: simtest.Tally{simtest.Crash: 2, simtest.Late: 1}}
	all.add(lived{30, one, nil})
	all.add(lived{31, one, &simtest.Broken{Promise: simtest.Kept}})
	all.add(lived{32, simtest.Report{Members: 2, Healing: 30, Injected: simtest.Tally{}}, nil})
	table := all.table()
	for _, line := range []string{
		"worlds                      3   seeds 30 to 32\n",
		"members                     8\n",
		"entries                 2 400   4 on branches of forked feeds\n",
		"messages                8 000   until all was quiet again, at most 90\n",
		"crash                       4        2\n",
		"message late                2        2\n",
		"power cut                   0        0\n",
		"all                         6        2\n",
		"violations                  1\n",
		"  kept                      1\n",
	} {
		require.Contains(t, table, line)
	}
}
