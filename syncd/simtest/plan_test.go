package simtest_test

import (
	"slices"
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
