package radio

import "math"

// Estimate is a quantity in dB or dBm: its mean, how far the mean may be off, and
// the spread of single links around it, both as one standard deviation.
type Estimate struct{ Mean, Doubt, Spread float64 }

// Range is where about two of three links lie.
func (e Estimate) Range() (lo, hi float64) {
	w := math.Sqrt(e.Doubt*e.Doubt + e.Spread*e.Spread)
	return e.Mean - w, e.Mean + w
}

// Chance is the probability that a link is above 0, if the mean is off by Doubt to
// the one side or the other.
func (e Estimate) Chance() (lo, hi float64) {
	return above(e.Mean-e.Doubt, e.Spread), above(e.Mean+e.Doubt, e.Spread)
}

// above is the probability that something spread around mean is above 0.
func above(mean, spread float64) float64 {
	if spread > 0 {
		return math.Erfc(-mean/(spread*math.Sqrt2)) / 2
	}
	if mean > 0 {
		return 1
	}
	return 0
}
