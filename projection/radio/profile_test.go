package radio_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/projection/radio"
)

func TestThreshold(t *testing.T) {
	p := radio.Mesh()
	require.InDelta(t, -110.99, p.NoiseDBm(), 0.005, "thermal noise in 2 MHz: computed from −174 dBm/Hz")
	require.InDelta(t, -110.99+16+0.4035, p.ThresholdDBm(), 0.005, "noise figure 10, loss 6, and 0.4035 dB by the error curve")

	// −85 dBm is the required sensitivity of this radio (IEEE 802.15.4-2006 §6.1.7,
	// seen in a secondary text): a receiver as cautious as ours keeps it.
	require.Less(t, p.ThresholdDBm(), -85.0)

	p.NoiseFigure += 2
	require.InDelta(t, radio.Mesh().ThresholdDBm()+2, p.ThresholdDBm(), 1e-9)
}

func TestStar(t *testing.T) {
	cases := []struct {
		name, region string
		mhz          float64
	}{
		{"Europe", "EU", 868.3},
		{"United States", "US", 915},
		{"in small letters", "us", 915},
		{"not said", "", 868.3},
		{"elsewhere", "NZ", 868.3},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			p := radio.Star(c.region)
			require.Equal(t, c.mhz, p.MHz)
			require.Equal(t, -92.0, p.ThresholdDBm(), "required sensitivity: IEEE 802.15.4-2006 §6.1.7, seen in a secondary text")
		})
	}
}

func TestLevelFor(t *testing.T) {
	p := radio.Mesh()
	level, ok := p.LevelFor(0.99, radio.ProbeOctets)
	require.True(t, ok)
	require.InDelta(t, p.ThresholdDBm(), level, 1e-9, "where a link just holds")
	better, ok := p.LevelFor(0.999, radio.ProbeOctets)
	require.True(t, ok)
	require.Greater(t, better, level)
	longer, ok := p.LevelFor(0.99, 127)
	require.True(t, ok)
	require.InDelta(t, 1.0924-0.4035, longer-level, 1e-4)

	for name, pdr := range map[string]float64{"nothing came": 0, "all came": 1, "too many": 1.1, "fewer than none": -0.1, "not measured": math.NaN()} {
		_, ok := p.LevelFor(pdr, 20)
		require.False(t, ok, name)
	}
	_, ok = p.LevelFor(0.5, 0)
	require.False(t, ok, "a packet of nothing")
	_, ok = radio.Star("EU").LevelFor(0.5, 20)
	require.False(t, ok, "no error curve")
}
