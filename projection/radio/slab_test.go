package radio_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/projection/radio"
)

// Computed from ITU-R P.2040-3, table 3 (seen in a secondary text), for one slab at
// normal incidence (formula from memory), by another program.
func TestSlab(t *testing.T) {
	cases := []struct {
		material string
		mm, want float64
	}{
		{"concrete", 100, 8.071},
		{"concrete", 150, 11.487},
		{"concrete", 200, 14.764},
		{"brick", 100, 3.213},
		{"plasterboard", 12.5, 1.088},
		{"wood", 40, 0.614},
		{"glass", 6, 1.946},
		{"chipboard", 18, 1.674},
	}
	for _, c := range cases {
		t.Run(fmt.Sprintf("%s, %g mm", c.material, c.mm), func(t *testing.T) {
			s, err := radio.Slab(c.material, c.mm, 2440)
			require.NoError(t, err)
			require.InDelta(t, c.want, s.Mid, 6e-4)
		})
	}
	s, err := radio.Slab("metal", 0.001, 2440)
	require.NoError(t, err)
	require.Equal(t, radio.Span{Lo: 60, Mid: 60, Hi: 60}, s, "a micrometre of metal takes 65.5 dB away, and what goes round it no more than 60")

	// 200 mm of concrete were seen with 14.7 dB on average over a band (in a secondary
	// text); averaged here over 2.4 to 2.48 GHz.
	sum, n := 0.0, 0
	for mhz := 2400.0; mhz <= 2480; mhz += 5 {
		s, err := radio.Slab("concrete", 200, mhz)
		require.NoError(t, err)
		sum, n = sum+s.Mid, n+1
	}
	require.InDelta(t, 14.7, sum/float64(n), 0.15)
	s, err = radio.Slab("concrete", 200, 2400)
	require.NoError(t, err)
	require.InDelta(t, 14.575, s.Mid, 6e-4, "computed, by another program")
}

// Moisture alone was seen to move 200 mm of concrete from about 2 to 24 dB (in a
// secondary text): the range is made to hold it.
func TestSlabRange(t *testing.T) {
	s, err := radio.Slab("concrete", 200, 2440)
	require.NoError(t, err)
	require.InDelta(t, 2, s.Lo, 1)
	require.InDelta(t, 24, s.Hi, 1)

	// Plasterboard by edition -1: 2.94, 0, 0.0116, 0.7076 (seen in code that quotes it),
	// 1.2611 dB, computed. It lies within.
	s, err = radio.Slab("plasterboard", 12.5, 2440)
	require.NoError(t, err)
	require.Less(t, s.Lo, 1.088)
	require.Greater(t, s.Hi, 1.2611)

	// Glass takes up no water, but editions and a tenth of the thickness differ.
	s, err = radio.Slab("glass", 6, 2440)
	require.NoError(t, err)
	require.Less(t, s.Hi-s.Lo, 1.0)
	require.Greater(t, s.Hi-s.Lo, 0.1)
	dry, err := radio.Slab("marble", 20, 2440)
	require.NoError(t, err)
	require.Less(t, dry.Lo, dry.Mid)
}

func TestSlabRefuses(t *testing.T) {
	cases := []struct {
		name, material string
		mm, mhz        float64
		says           string
	}{
		{"unknown", "cheese", 100, 2440, `material "cheese" is not known: it can be brick, ceiling-board, chipboard, concrete`},
		{"named otherwise", "Concrete", 100, 2440, "is not known"},
		{"of no thickness", "brick", 0, 2440, "a thickness of 0 mm is none"},
		{"of less", "brick", -3, 2440, "a thickness of -3 mm is none"},
		{"of 11 m", "brick", 11_000, 2440, "at most 10000 mm"},
		{"of a thickness that is no number", "brick", math.NaN(), 2440, "NaN mm"},
		{"at no frequency", "brick", 100, 0, "a frequency of 0 MHz"},
		{"at a frequency that is no number", "brick", 100, math.NaN(), "NaN MHz"},
		{"at every frequency", "brick", 100, math.Inf(1), "+Inf MHz"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := radio.Slab(c.material, c.mm, c.mhz)
			require.ErrorContains(t, err, c.says)
		})
	}
}

func TestMaterials(t *testing.T) {
	require.Equal(t, []string{"brick", "ceiling-board", "chipboard", "concrete", "glass", "marble", "metal", "plasterboard", "plywood", "wood"}, radio.Materials())
	require.True(t, slices.IsSorted(radio.Materials()))

	require.Equal(t, "ITU-R P.2040-3 gives brick for 1 to 40 GHz; its curve is carried on to 868.3 MHz", radio.MaterialCaveat("brick", 868.3))
	require.Empty(t, radio.MaterialCaveat("brick", 2440))
	require.Empty(t, radio.MaterialCaveat("wood", 868.3))
	require.NotEmpty(t, radio.MaterialCaveat("plywood", 60_000))
	require.Empty(t, radio.MaterialCaveat("cheese", 868.3))
}

func TestSlabLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		material := rapid.SampledFrom(radio.Materials()).Draw(t, "material")
		mm := rapid.Float64Range(0.01, 10_000).Draw(t, "mm")
		mhz := rapid.SampledFrom([]float64{868.3, 915, 2405, 2440, 2480}).Draw(t, "MHz")
		s, err := radio.Slab(material, mm, mhz)
		require.NoError(t, err)
		require.GreaterOrEqual(t, s.Lo, 0.0, "a slab does not amplify")
		require.LessOrEqual(t, s.Lo, s.Mid)
		require.LessOrEqual(t, s.Mid, s.Hi)
		require.LessOrEqual(t, s.Hi, 60.0)
		require.Equal(t, radio.Span{Lo: 2 * s.Lo, Mid: 2 * s.Mid, Hi: 2 * s.Hi}, s.Add(s))
	})
}
