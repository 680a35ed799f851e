package radio_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/projection/radio"
)

func TestEstimate(t *testing.T) {
	cases := []struct {
		name                  string
		e                     radio.Estimate
		lo, hi, least, chance float64
	}{
		// Φ(1) = 0.841345, Φ(2) = 0.977250, Φ(3) = 0.998650: tables of the normal distribution.
		{"sure of the mean", radio.Estimate{Mean: 10, Spread: 10}, 0, 20, 0.841345, 0.841345},
		{"not sure of it", radio.Estimate{Mean: 8, Doubt: 4, Spread: 4}, 8 - 5.656854, 8 + 5.656854, 0.841345, 0.998650},
		{"a right triangle", radio.Estimate{Mean: 0, Doubt: 3, Spread: 4}, -5, 5, 0.226627, 0.773373},
		{"no spread, above", radio.Estimate{Mean: 2, Doubt: 1}, 1, 3, 1, 1},
		{"no spread, either", radio.Estimate{Mean: 0, Doubt: 1}, -1, 1, 0, 1},
		{"nothing is not above nothing", radio.Estimate{}, 0, 0, 0, 0},
		{"far below", radio.Estimate{Mean: -20, Spread: 10}, -30, -10, 0.022750, 0.022750},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			lo, hi := c.e.Range()
			require.InDelta(t, c.lo, lo, 1e-6)
			require.InDelta(t, c.hi, hi, 1e-6)
			lo, hi = c.e.Chance()
			require.InDelta(t, c.least, lo, 1e-6)
			require.InDelta(t, c.chance, hi, 1e-6)
		})
	}
}

func TestEstimateLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := radio.Estimate{
			Mean:   rapid.Float64Range(-200, 200).Draw(t, "mean"),
			Doubt:  rapid.Float64Range(0, 50).Draw(t, "doubt"),
			Spread: rapid.Float64Range(0, 50).Draw(t, "spread"),
		}
		lo, hi := e.Range()
		require.LessOrEqual(t, lo, e.Mean)
		require.LessOrEqual(t, e.Mean, hi)
		lo, hi = e.Chance()
		require.GreaterOrEqual(t, lo, 0.0)
		require.LessOrEqual(t, lo, hi)
		require.LessOrEqual(t, hi, 1.0)
		more := e
		more.Mean += rapid.Float64Range(0, 50).Draw(t, "more")
		least, most := more.Chance()
		require.LessOrEqual(t, lo, least)
		require.LessOrEqual(t, hi, most)
	})
}
