package radio

import "math"

// ProbeOctets is the packet that links are judged by, and that a packet delivery
// rate is taken to have been counted with: that of the required sensitivity. A
// rate counted with the longest packets, of 127 octets, would need 0.69 dB more.
const ProbeOctets = 20

// required is the packet error rate at which a link just holds, by the definition
// of the required sensitivity.
const required = 0.01

// signed holds (−1)^k·C(16,k) for k = 2 … 16.
var signed = [15]float64{120, -560, 1820, -4368, 8008, -11440, 12870, -11440, 8008, -4368, 1820, -560, 120, -16, 1}

// BER is the bit error rate of the 2.4 GHz O-QPSK radio at a ratio of signal to
// noise and interference in dB: IEEE 802.15.4-2006 §E.4.1.8, equation 7.
func BER(sinrDB float64) float64 {
	sinr := math.Pow(10, sinrDB/10)
	sum := 0.0
	for i := len(signed) - 1; i >= 0; i-- { // the smallest terms first
		sum += signed[i] * math.Exp(20*sinr*(1/float64(i+2)-1))
	}
	return min(max(8*sum/(15*16), 0), 0.5)
}

// PER is the error rate of packets of so many octets.
func PER(sinrDB float64, octets int) float64 {
	return -math.Expm1(8 * float64(max(octets, 0)) * math.Log1p(-BER(sinrDB)))
}

// SINRFor is the inverse of [PER]: the ratio in dB at which packets of so many
// octets are lost at rate per. It is +Inf for 0 and −Inf for 1.
func SINRFor(per float64, octets int) float64 {
	switch {
	case math.IsNaN(per):
		return math.NaN()
	case per >= 1 || octets <= 0:
		return math.Inf(-1)
	case per <= 0:
		return math.Inf(1)
	}
	lo, hi := -60.0, 30.0 // all is lost at the one, nothing at the other
	for range 64 {
		mid := (lo + hi) / 2
		if PER(mid, octets) > per {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}
