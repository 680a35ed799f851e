package radio_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/projection/radio"
)

// Computed from IEEE 802.15.4-2006 §E.4.1.8, equation 7, by another program. Its
// PER at 5 dB was worked out as 1 − (1 − BER)^8n, which rounds in the fourth digit.
func TestErrorRates(t *testing.T) {
	cases := []struct {
		name               string
		sinr               float64
		ber, per20, per127 float64
		withinBER, withinP float64
		withinP127         float64
	}{
		{"deep in noise", -4, 3.916346e-2, 0.998325, 1, 2e-7, 1e-6, 1e-6},
		{"most packets come through", -1, 1.148944e-3, 0.168012, 0.689011, 1e-6, 5e-6, 1e-6},
		{"as strong as the noise", 0, 1.615267e-4, 2.551520e-2, 0.151364, 1e-6, 1e-6, 5e-6},
		{"a little stronger", 1, 1.291187e-5, 2.063779e-3, 1.303287e-2, 1e-6, 1e-6, 1e-6},
		{"nearly all come through", 2, 5.131392e-7, 8.209892e-5, 5.212137e-4, 1e-6, 1e-6, 1e-6},
		{"none is lost", 5, 7.386e-14, 1.181e-11, 7.501e-11, 1e-4, 1e-3, 1e-3},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			require.InEpsilon(t, c.ber, radio.BER(c.sinr), c.withinBER)
			require.InEpsilon(t, c.per20, radio.PER(c.sinr, 20), c.withinP)
			require.InEpsilon(t, c.per127, radio.PER(c.sinr, 127), c.withinP127)
		})
	}
}

// Values that the error model test of ns-3's lr-wpan module asserts, with the
// tolerances it gives; seen in its source.
func TestErrorRatesAgainstNS3(t *testing.T) {
	cases := []struct {
		name              string
		sinr, ber, within float64
	}{
		{"5 dB", 5, 7.38e-14, 0.01e-14},
		{"2 dB", 2, 5.13e-7, 0.01e-7},
		{"-1 dB", -1, 0.00114, 0.00001},
		{"-4 dB", -4, 0.0391, 0.0001},
		{"-7 dB", -7, 0.175, 0.001},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) { require.InDelta(t, c.ber, radio.BER(c.sinr), c.within) })
	}
}

func TestErrorRatesAtTheEnds(t *testing.T) {
	require.Equal(t, 0.5, radio.BER(math.Inf(-1)), "no signal: heads or tails, exactly")
	require.Equal(t, 0.0, radio.BER(math.Inf(1)))
	require.Equal(t, 0.0, radio.PER(-3, 0), "an empty packet is not lost")
	require.Equal(t, 0.0, radio.PER(-3, -1))
}

// Computed from the same equation by another program.
func TestSINRFor(t *testing.T) {
	require.InDelta(t, 0.4035, radio.SINRFor(0.01, 20), 5e-5)
	require.InDelta(t, 1.0924, radio.SINRFor(0.01, 127), 5e-5)
	require.Equal(t, math.Inf(1), radio.SINRFor(0, 20), "never lost")
	require.Equal(t, math.Inf(-1), radio.SINRFor(1, 20), "always lost")
	require.Equal(t, math.Inf(-1), radio.SINRFor(0.01, 0))
	require.True(t, math.IsNaN(radio.SINRFor(math.NaN(), 20)))
}

func TestPacketLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(-30, 30).Draw(t, "a"), rapid.Float64Range(-30, 30).Draw(t, "b")
		n := rapid.IntRange(1, 127).Draw(t, "octets")
		lo, hi := min(a, b), max(a, b)
		require.GreaterOrEqual(t, radio.PER(lo, n)+1e-12, radio.PER(hi, n), "a stronger signal loses no more")
		require.LessOrEqual(t, radio.PER(lo, n), radio.PER(lo, n+1)+1e-12, "a longer packet is lost no less")
		require.GreaterOrEqual(t, radio.PER(lo, n), 0.0)
		require.LessOrEqual(t, radio.PER(lo, n), 1.0)
	})
}

func TestSINRForIsTheInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		per := math.Pow(10, rapid.Float64Range(-12, -0.01).Draw(t, "log per"))
		n := rapid.IntRange(1, 127).Draw(t, "octets")
		require.InEpsilon(t, per, radio.PER(radio.SINRFor(per, n), n), 1e-6)
	})
}
