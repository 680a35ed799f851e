package radio

import (
	"math"
	"strings"
)

// Profile is a radio as built and mounted.
type Profile struct {
	Name               string  // mesh, star
	MHz                float64 // carrier
	WidthMHz           float64 // noise bandwidth
	PowerDBm           float64 // transmit
	GainDBi            float64 // of each antenna
	NoiseFigure        float64 // dB
	ImplementationLoss float64 // dB, what the receiver loses against the ideal one

	// RequiredDBm is the level a receiver needs, where no error curve is known:
	// the standard's required sensitivity. 0: by the error curve.
	RequiredDBm float64
}

// thermal is the noise of 1 Hz in dBm. kT at 290 K is −173.98; −174 is what link
// budgets reckon with.
const thermal = -174.0

// Mesh is a 2.4 GHz O-QPSK radio, with cautious assumptions (no source) about how
// it is built into a fitting. The figures are a site's settings.
func Mesh() Profile {
	return Profile{Name: "mesh", MHz: 2440, WidthMHz: 2, GainDBi: -3, NoiseFigure: 10, ImplementationLoss: 6}
}

// Star is a sub-GHz BPSK radio: 915 MHz in region US, 868.3 MHz in any other. Its
// required sensitivity, −92 dBm, is that of IEEE 802.15.4-2006 §6.1.7. The noise
// bandwidth, twice the chip rate, is only told.
func Star(region string) Profile {
	p := Profile{Name: "star", MHz: 868.3, WidthMHz: 0.6, GainDBi: -3, NoiseFigure: 10, ImplementationLoss: 6, RequiredDBm: -92}
	if strings.EqualFold(region, "US") {
		p.MHz, p.WidthMHz = 915, 1.2
	}
	return p
}

// NoiseDBm is the thermal noise in the receiver's bandwidth.
func (p Profile) NoiseDBm() float64 { return thermal + 60 + 10*math.Log10(p.WidthMHz) }

// ThresholdDBm is the level at which a link just holds: where 1 % of packets of
// [ProbeOctets] are lost, or RequiredDBm.
func (p Profile) ThresholdDBm() float64 {
	if p.RequiredDBm != 0 {
		return p.RequiredDBm
	}
	return p.levelAt(required, ProbeOctets)
}

func (p Profile) levelAt(per float64, octets int) float64 {
	return p.NoiseDBm() + p.NoiseFigure + p.ImplementationLoss + SINRFor(per, octets)
}

// LevelFor is the received level at which packets of so many octets are delivered
// at rate pdr, if nothing but noise loses them. It is not known for rates of 0 and
// 1, which are only bounds, nor for a radio whose error curve is not known.
func (p Profile) LevelFor(pdr float64, octets int) (dBm float64, ok bool) {
	if p.RequiredDBm != 0 || octets <= 0 || !(pdr > 0 && pdr < 1) {
		return 0, false
	}
	return p.levelAt(1-pdr, octets), true
}
