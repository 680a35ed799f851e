package radio_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/projection/radio"
)

func TestCentres(t *testing.T) {
	cases := []struct {
		name    string
		of      func(int) (float64, bool)
		channel int
		mhz     float64 // 0: no such channel
	}{
		// IEEE 802.15.4-2020 §10.1.3.3, seen in a secondary text; 15 to 26 computed from it.
		{"the first mesh channel", radio.CentreMHz, 11, 2405},
		{"mesh 15", radio.CentreMHz, 15, 2425},
		{"mesh 20", radio.CentreMHz, 20, 2450},
		{"mesh 25", radio.CentreMHz, 25, 2475},
		{"the last mesh channel", radio.CentreMHz, 26, 2480},
		{"beyond it", radio.CentreMHz, 27, 0},
		{"868 MHz", radio.CentreMHz, 0, 868.3},
		{"the first at 915 MHz", radio.CentreMHz, 1, 906},
		{"the last at 915 MHz", radio.CentreMHz, 10, 924},
		{"below all", radio.CentreMHz, -1, 0},
		// IEEE 802.11-2020 Table E-4, seen in a secondary text; channel 14 from memory.
		{"Wi-Fi 1", radio.WifiCentreMHz, 1, 2412},
		{"Wi-Fi 6", radio.WifiCentreMHz, 6, 2437},
		{"Wi-Fi 11", radio.WifiCentreMHz, 11, 2462},
		{"Wi-Fi 13", radio.WifiCentreMHz, 13, 2472},
		{"Wi-Fi 14", radio.WifiCentreMHz, 14, 2484},
		{"Wi-Fi 0", radio.WifiCentreMHz, 0, 0},
		{"Wi-Fi at 5 GHz", radio.WifiCentreMHz, 36, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			mhz, ok := c.of(c.channel)
			require.Equal(t, c.mhz, mhz)
			require.Equal(t, c.mhz != 0, ok)
		})
	}
}

// Computed from |f − f| ≥ W/2 + 1 MHz; the first row was also seen in a secondary
// text.
func TestClear(t *testing.T) {
	cases := []struct {
		name  string
		wifi  []int
		width float64
		want  []int
	}{
		{"1, 6 and 11, 20 MHz", []int{1, 6, 11}, 20, []int{15, 20, 25, 26}},
		{"1, 6 and 11, 22 MHz", []int{1, 6, 11}, 22, []int{15, 20, 25, 26}},
		{"1, 7 and 13", []int{1, 7, 13}, 20, []int{15, 16, 21, 22}},
		{"1, 5, 9 and 13", []int{1, 5, 9, 13}, 20, nil},
		{"6 of 40 MHz", []int{6}, 40, []int{11, 12, 13, 22, 23, 24, 25, 26}},
		{"at 5 GHz only", []int{36, 149}, 80, []int{11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23, 24, 25, 26}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var got []int
			for ch := radio.FirstChannel; ch <= radio.LastChannel; ch++ {
				clear := true
				for _, w := range c.wifi {
					clear = clear && radio.Clear(ch, w, c.width)
				}
				if clear {
					got = append(got, ch)
				}
			}
			require.Equal(t, c.want, got)
		})
	}
	require.True(t, radio.Clear(0, 6, 20), "868 MHz")
	require.True(t, radio.Clear(27, 6, 20), "no such channel")
}
