package radio

import "math"

// Mesh channels: IEEE 802.15.4-2020 §10.1.3.3, 2.4 GHz O-QPSK.
const (
	FirstChannel = 11
	LastChannel  = 26

	channelWidth = 2 // MHz that a mesh channel occupies
)

// CentreMHz is the centre of an IEEE 802.15.4 channel: 11 to 26 at 2.4 GHz, 0 at
// 868 MHz and 1 to 10 at 915 MHz (page 0). There are no others.
func CentreMHz(channel int) (mhz float64, ok bool) {
	switch {
	case channel == 0:
		return 868.3, true
	case channel >= 1 && channel <= 10:
		return 906 + 2*float64(channel-1), true
	case channel >= FirstChannel && channel <= LastChannel:
		return 2405 + 5*float64(channel-FirstChannel), true
	}
	return 0, false
}

// WifiCentreMHz is the centre of a Wi-Fi channel at 2.4 GHz: 1 to 13 by IEEE
// 802.11-2020 Table E-4, and 14, which lies apart. Others are in other bands.
func WifiCentreMHz(channel int) (mhz float64, ok bool) {
	switch {
	case channel >= 1 && channel <= 13:
		return 2407 + 5*float64(channel), true
	case channel == 14:
		return 2484, true
	}
	return 0, false
}

// Clear says whether an IEEE 802.15.4 channel lies beside a Wi-Fi channel of some
// width: their centres are at least half the width and 1 MHz apart. A number that
// is no 2.4 GHz channel, on either side, meets nothing there.
//
// The number is taken to be that of the centre. A survey names a 40 MHz channel
// after its first half, and the centre is two numbers up or down: ask for both.
func Clear(channel, wifi int, widthMHz float64) bool {
	ours, ok := CentreMHz(channel)
	theirs, known := WifiCentreMHz(wifi)
	return !ok || !known || math.Abs(ours-theirs) >= widthMHz/2+channelWidth/2
}
