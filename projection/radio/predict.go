package radio

import (
	"fmt"
	"math"
)

// Between is what lies between two antennas.
type Between struct {
	Metres float64 // straight line; under Nearest counts as that
	Floors int     // floor slabs crossed
	Walls  Span    // sum of the slabs of listed walls it crosses; zero if none
}

// Predictor joins a model, a radio and a fit. It is read only, and fast.
type Predictor struct {
	model     Model
	profile   Profile
	fit       Fit
	fitted    bool
	why       string // why a fit is not used
	terms     terms
	at        vector // offset, distance, floors, walls
	doubt     matrix // their covariance
	wall      float64
	spread    float64
	power     float64 // transmitted, and both antennas
	threshold float64
}

// NewPredictor joins them. With a zero Fit it is uncalibrated; a fit that was made
// for another model or another carrier is not used, and Describe says so.
func NewPredictor(m Model, p Profile, f Fit) *Predictor {
	out := &Predictor{
		model: m, profile: p, fit: f,
		terms:     termsOf(m, p.MHz),
		spread:    m.Sigma(),
		power:     p.eirp(),
		threshold: p.ThresholdDBm(),
	}
	out.at, out.doubt = out.terms.prior()
	if f.Samples > 0 {
		if out.fitted = f.Model == m.ID && f.MHz == p.MHz; out.fitted {
			out.at, out.doubt, out.spread = f.at, f.cov, f.Sigma
		} else {
			out.why = fmt.Sprintf("; the fit for %s at %g MHz is not for it", f.Model, f.MHz)
		}
	}
	out.wall = uniform * math.Sqrt(out.doubt[walls][walls]) / priorSpread[walls]
	return out
}

// eirp is the transmitted power and both antennas' gain.
func (p Profile) eirp() float64 { return p.PowerDBm + 2*p.GainDBi }

// uniform is the standard deviation of what may be anywhere in a span, as a part
// of its width.
const uniform = 0.28867513459481287 // 1/√12

// Loss is the loss in dB between the two antennas.
func (p *Predictor) Loss(b Between) Estimate {
	v, rest := p.terms.of(b, &p.at)
	e := Estimate{Mean: rest + v.dot(&p.at), Spread: p.spread}
	variance := p.doubt.along(&v)
	if b.Walls.Hi > b.Walls.Lo {
		w := p.wall * p.terms.swing(b, &p.at)
		variance += w * w
	}
	e.Doubt = math.Sqrt(variance)
	return e
}

// Received is the level in dBm at the other antenna's radio.
func (p *Predictor) Received(b Between) Estimate {
	e := p.Loss(b)
	e.Mean = p.power - e.Mean
	return e
}

// Margin is what is received above what is needed, in dB. It does not grow with
// distance; nor, where no walls are listed, do the ends of its range.
func (p *Predictor) Margin(b Between) Estimate {
	e := p.Loss(b)
	e.Mean = p.power - p.threshold - e.Mean
	return e
}

// MarginOf is the margin of a measured link, known to within doubt. Half of that
// variance is taken to be error of the reading, and half what the link does from
// one hour to the next, as people and doors move: an assumption.
func (p *Predictor) MarginOf(rssiDBm, doubt float64) Estimate {
	half := doubt / math.Sqrt2
	return Estimate{Mean: rssiDBm - p.threshold, Doubt: half, Spread: half}
}

// Describe names recommendation, edition and row, and says whether they are
// calibrated and on how many links.
func (p *Predictor) Describe() string {
	out := fmt.Sprintf("%s, at %g MHz", p.model, p.profile.MHz)
	if !p.fitted {
		return out + ", not calibrated" + p.why
	}
	return fmt.Sprintf("%s, calibrated on %d measured links of %.1f to %.1f m", out, p.fit.Samples, p.fit.Least, p.fit.Most)
}
