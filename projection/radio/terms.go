package radio

// The loss is a sum of four parts, each with a coefficient that a calibration may
// move: it is linear in them but for the larger of two.
const (
	offset   = iota // dB
	distance        // dB per decade
	floors          // times the tabulated loss
	walls           // times the tabulated loss
	parts
)

type vector [parts]float64

func (v *vector) dot(w *vector) float64 {
	return v[0]*w[0] + v[1]*w[1] + v[2]*w[2] + v[3]*w[3]
}

// partNames name the coefficients for people.
var partNames = [parts]string{"offset", "distance", "floors", "walls"}

// priorSpread is how far the coefficients of a site may be from the published
// ones. All are assumptions:
//
//   - offset 5 dB: at 10 m in an office editions -10 and -13 differ by 6.4 dB. Of
//     two draws from one spread that is 6.4/√2 = 4.5; antennas in fittings add some.
//   - distance 4 dB per decade: the same two editions differ by 6.1, as above.
//   - floors 0.3: tabulated losses of one floor at 2.4 GHz are 5, 10 and 14 dB.
//   - walls 0.4: on top of what Lo and Hi of each slab say.
var priorSpread = vector{5, 4, 0.3, 0.4}

// terms is a model at one frequency, ready to work out.
type terms struct {
	line
	open float64 // free space at 10 m
	free bool    // the model is free space: walls lie on its own line
}

func termsOf(m Model, mhz float64) terms {
	return terms{m.line(mhz), FreeSpace(mhz, 10), m.form == inFreeSpace}
}

// prior is the published coefficients and how well they hold.
func (t *terms) prior() (at vector, cov matrix) {
	at = vector{0, t.n, 1, 1}
	for i, s := range priorSpread {
		cov[i][i] = s * s
	}
	return at, cov
}

// of takes a loss apart: it is rest + v·at. Where walls are listed it is the larger
// of the model's and that through the open with the slabs.
func (t *terms) of(b Between, at *vector) (v vector, rest float64) {
	x := decades(b.Metres)
	return t.apart(&b, x, t.walled(&b, x, at))
}

// walled says whether the listed walls decide, x decades from 10 m.
func (t *terms) walled(b *Between, x float64, at *vector) bool {
	if b.Walls == (Span{}) || t.free {
		return b.Walls != (Span{})
	}
	return t.open+20*x+at[walls]*b.Walls.Mid > t.atTen+at[distance]*x
}

// apart is the loss if the walls decide, or if they do not.
func (t *terms) apart(b *Between, x float64, walled bool) (v vector, rest float64) {
	v = vector{1, x, t.lf.at(b.Floors), 0}
	if !walled {
		return v, t.atTen
	}
	v[walls] = b.Walls.Mid
	if t.free {
		return v, t.atTen
	}
	v[distance] = 0
	return v, t.open + 20*x
}

// swing is how far the loss moves from the least to the most of the walls.
func (t *terms) swing(b Between, at *vector) float64 {
	hi, lo := at[walls]*b.Walls.Hi, at[walls]*b.Walls.Lo
	if t.free {
		return hi - lo
	}
	x := decades(b.Metres)
	over := t.atTen + at[distance]*x - t.open - 20*x // what the model has over the open
	return max(hi, over) - max(lo, over)
}
