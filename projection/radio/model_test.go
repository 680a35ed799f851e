package radio_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/projection/radio"
)

func model(id string) radio.Model {
	m, ok := radio.ModelByID(id)
	if !ok {
		panic("no model " + id)
	}
	return m
}

// Computed from ITU-R P.525 with the speed of light, by another program. The form
// with a rounded constant, 32.4, gives 40.148 dB at 1 m and 2440 MHz.
func TestFreeSpace(t *testing.T) {
	cases := []struct {
		name              string
		mhz, metres, want float64
	}{
		{"2440 MHz at 1 m", 2440, 1, 40.1956},
		{"868.3 MHz at 1 m", 868.3, 1, 31.2212},
		{"915 MHz at 1 m", 915, 1, 31.6762},
		{"20 dB more at ten times as far", 2440, 10, 60.1956},
		{"nearer than near", 2440, 0, 20.1956},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) { require.InDelta(t, c.want, radio.FreeSpace(c.mhz, c.metres), 5e-5) })
	}
}

// The tables were seen in secondary texts; the losses were computed from them by
// another program, those marked "by hand" here from the same tables.
func TestModelLoss(t *testing.T) {
	cases := []struct {
		name, model string
		mhz, metres float64
		floors      int
		want        float64
	}{
		{"P.1238-10 office", "p1238-10-office", 2440, 10, 0, 69.748},
		{"P.1238-10 residential", "p1238-10-residential-apartment", 2440, 10, 0, 67.748},
		{"P.1238-10 residential, one apartment floor", "p1238-10-residential-apartment", 2440, 10, 1, 77.748},
		{"P.1238-10 office, one floor", "p1238-10-office", 2440, 20, 1, 92.779},
		{"P.1238-10 office at 900 MHz, one floor", "p1238-10-office", 900, 10, 1, 73.085},
		{"by hand: at 900 MHz, two floors", "p1238-10-office", 900, 10, 2, 83.085},
		{"by hand: at 900 MHz, three floors", "p1238-10-office", 900, 10, 3, 88.085},
		{"by hand: at 900 MHz, beyond the table", "p1238-10-office", 900, 10, 4, 93.085},
		{"by hand: office, two floors", "p1238-10-office", 2440, 10, 2, 69.748 + 18},
		{"by hand: a floor of a house", "p1238-10-residential-house", 2440, 10, 1, 67.748 + 5},
		{"by hand: two floors of a house", "p1238-10-residential-house", 2440, 10, 2, 67.748 + 9},
		{"by hand: commercial", "p1238-10-commercial", 2440, 10, 0, 61.748},
		{"by hand: commercial, two floors", "p1238-10-commercial", 2440, 10, 2, 61.748 + 9},
		{"by hand: commercial at 900 MHz", "p1238-10-commercial", 900, 10, 1, 51.085 + 6},
		{"by hand: residential at 900 MHz", "p1238-10-residential-house", 900, 10, 2, 59.085 + 8},
		{"by hand: office at 1.25 GHz", "p1238-10-office", 1250, 10, 0, 65.938},
		{"by hand: office at 1.9 GHz, three floors", "p1238-10-office", 1900, 10, 3, 67.575 + 23},
		{"by hand: office at 5.2 GHz, one floor", "p1238-10-office", 5200, 10, 1, 77.320 + 16},
		{"by hand: residential at 5.2 GHz", "p1238-10-residential-apartment", 5200, 10, 0, 76.320},
		{"fewer than no floors are none", "p1238-10-office", 2440, 10, -1, 69.748},

		{"P.1238-13 office, in sight", "p1238-13-office-los", 2440, 10, 0, 56.928},
		{"P.1238-13 office", "p1238-13-office-nlos", 2440, 10, 0, 63.327},
		{"P.1238-13 corridor, in sight", "p1238-13-corridor-los", 2440, 10, 0, 53.838},
		{"P.1238-13 corridor", "p1238-13-corridor-nlos", 2440, 10, 0, 66.260},
		{"P.1238-13 industrial, in sight", "p1238-13-industrial-los", 2440, 10, 0, 55.625},
		{"P.1238-13 industrial", "p1238-13-industrial-nlos", 2440, 10, 0, 59.918},
		{"P.1238-13 conference, in sight", "p1238-13-conference-los", 2440, 10, 0, 54.709},
		{"P.1238-13 conference", "p1238-13-conference-nlos", 2440, 10, 0, 62.711},
		{"by hand: the office floors of edition -10", "p1238-13-corridor-los", 2440, 10, 1, 53.838 + 14},

		{"P.525", "p525", 2440, 10, 0, 60.1956},
		{"by hand: P.525 with offices' floors", "p525", 868.3, 10, 2, 51.2212 + 19},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			require.InDelta(t, c.want, model(c.model).Loss(c.mhz, c.metres, c.floors), 6e-4)
		})
	}
}

// P.1238-10, table 4, and P.1238-13, table of equation 1: seen in secondary texts.
func TestModelTold(t *testing.T) {
	cases := []struct {
		id, words          string
		sigma, least, most float64
	}{
		{"p1238-10-office", "ITU-R P.1238-10, office", 10, 1, math.Inf(1)},
		{"p1238-10-commercial", "ITU-R P.1238-10, commercial", 10, 1, math.Inf(1)},
		{"p1238-10-residential-apartment", "ITU-R P.1238-10, residential, apartment", 8, 1, math.Inf(1)},
		{"p1238-10-residential-house", "ITU-R P.1238-10, residential, house", 8, 1, math.Inf(1)},
		{"p1238-13-office-los", "ITU-R P.1238-13, office, line of sight", 3.68, 2, 27},
		{"p1238-13-office-nlos", "ITU-R P.1238-13, office, no line of sight", 5.01, 4, 30},
		{"p1238-13-corridor-los", "ITU-R P.1238-13, corridor, line of sight", 3.77, 2, 160},
		{"p1238-13-corridor-nlos", "ITU-R P.1238-13, corridor, no line of sight", 7.58, 3, 94},
		{"p1238-13-industrial-los", "ITU-R P.1238-13, industrial, line of sight", 2.62, 2, 102},
		{"p1238-13-industrial-nlos", "ITU-R P.1238-13, industrial, no line of sight", 5.70, 3, 110},
		{"p1238-13-conference-los", "ITU-R P.1238-13, conference, line of sight", 2.92, 2, 21},
		{"p1238-13-conference-nlos", "ITU-R P.1238-13, conference, no line of sight", 3.33, 4, 25},
		{"p525", "ITU-R P.525, free space", 10, radio.Nearest, math.Inf(1)},
	}
	require.Len(t, radio.Models(), len(cases))
	for i, c := range cases {
		t.Run(c.id, func(t *testing.T) {
			m := radio.Models()[i]
			require.Equal(t, model(c.id), m)
			require.Equal(t, c.id, m.ID)
			require.Equal(t, c.words, m.String())
			require.Equal(t, c.sigma, m.Sigma())
			least, most := m.Metres()
			require.Equal(t, [2]float64{c.least, c.most}, [2]float64{least, most})
		})
	}
	_, ok := radio.ModelByID("p1238-12-office")
	require.False(t, ok)
}

// What stands in for what is told.
func TestCaveats(t *testing.T) {
	cases := []struct {
		name, model string
		mhz         float64
		says, not   []string
	}{
		{"a whole row", "p1238-10-office", 2440,
			[]string{"tabulated for one floor; each further floor adds 4 dB, as at 1.8–2 GHz", "shadowing, 10 dB, is that of 1.8–2 GHz"},
			[]string{"stands in"}},
		{"where shadowing was measured", "p1238-10-office", 1900, []string{"walls are in it on average"}, []string{"shadowing", "stands in", "further"}},
		{"no coefficient", "p1238-10-commercial", 2440,
			[]string{"no coefficient for commercial at 2.4 GHz: that of 1.8–2 GHz stands in", "no floor loss for commercial at 2.4 GHz"}, []string{"further"}},
		{"no floors at 0.9 GHz", "p1238-10-commercial", 915, []string{"no floor loss for commercial at 0.9 GHz"}, []string{"no coefficient"}},
		{"nothing at 0.9 GHz", "p1238-10-residential-house", 868.3,
			[]string{"no coefficient for residential, house at 0.9 GHz: that of 1.8–2 GHz stands in", "no floor loss for residential, house at 0.9 GHz: that of 1.8–2 GHz"}, nil},
		{"three floors at 0.9 GHz", "p1238-10-office", 868.3, []string{"tabulated for up to 3 floors; each further floor adds 5 dB, like the last one"}, []string{"stands in"}},
		{"one floor only", "p1238-13-office-nlos", 2440,
			[]string{"measured over 4 to 30 m", "that of P.1238-10, office, 2.4 GHz is added", "no residential row"}, []string{"stands in"}},
		{"free space", "p525", 868.3, []string{"too kind", "floors of 0.9 GHz, shadowing 10 dB of 1.8–2 GHz"}, nil},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			told := strings.Join(model(c.model).Caveats(c.mhz), "\n")
			for _, s := range c.says {
				require.Contains(t, told, s)
			}
			for _, s := range c.not {
				require.NotContains(t, told, s)
			}
		})
	}
}

func TestModelLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom(radio.Models()).Draw(t, "model")
		mhz := rapid.SampledFrom([]float64{868.3, 915, 2405, 2440, 2480}).Draw(t, "MHz")
		a, b := rapid.Float64Range(0, 300).Draw(t, "a"), rapid.Float64Range(0, 300).Draw(t, "b")
		n := rapid.IntRange(0, 12).Draw(t, "floors")
		require.LessOrEqual(t, m.Loss(mhz, min(a, b), n), m.Loss(mhz, max(a, b), n), "farther loses no less")
		require.Less(t, m.Loss(mhz, a, n), m.Loss(mhz, a, n+1), "a floor more loses more")
		require.Equal(t, m.Loss(mhz, radio.Nearest, n), m.Loss(mhz, rapid.Float64Range(0, radio.Nearest).Draw(t, "near"), n))
	})
}
