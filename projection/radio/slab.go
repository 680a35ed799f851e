package radio

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"
)

// Span is a loss that is not known better: Mid as tabulated, Lo and Hi about the
// least and the most that it may be. In dB.
type Span struct{ Lo, Mid, Hi float64 }

// Add sums the losses of walls one behind the other. Their extremes add up too,
// since the walls of a building are dry or wet together.
func (s Span) Add(t Span) Span { return Span{s.Lo + t.Lo, s.Mid + t.Mid, s.Hi + t.Hi} }

const (
	// slabCap is the most that a slab takes away, in dB: where it takes more, the
	// wave goes round it through doors and ceilings (an assumption).
	slabCap = 60

	// dry and wet are conductivities as parts of the tabulated one. They are chosen
	// so that 200 mm of concrete at 2.4 GHz range over what moisture alone was seen
	// to do to it, about 2 to 24 dB (seen in a secondary text). That other materials
	// which take up water do alike is an assumption.
	dry, wet = 0.1, 1.6

	// gauge is how far a wall's thickness may be from what is listed (an assumption).
	gauge = 0.1

	thickest = 10_000 // mm
)

// Slab is what a wave loses straight through one slab of a material.
//
// Mid is the loss by ITU-R P.2040-3: table 3, and one slab at normal incidence.
// Lo and Hi are the least and the greatest over dry and wet, where the material
// takes up water; over the tables of editions -3 and -1; and over thicknesses a
// tenth less to a tenth more, since a wave that is thrown to and fro in a slab
// helps or hinders itself by the millimetre.
func Slab(name string, mm, mhz float64) (Span, error) {
	m, ok := materialByName(name)
	if !ok {
		return Span{}, fmt.Errorf("work out wall: material %q is not known: it can be %s", name, strings.Join(Materials(), ", "))
	}
	if !(mm > 0 && mm <= thickest) {
		return Span{}, fmt.Errorf("work out wall: a thickness of %g mm is none: it is more than 0 and at most %d mm", mm, thickest)
	}
	if !(mhz > 0) || math.IsInf(mhz, 1) {
		return Span{}, fmt.Errorf("work out wall: a frequency of %g MHz is none", mhz)
	}
	mid := slabLoss(m.now.at(mhz, 1), mm, mhz)
	out := Span{mid, mid, mid}
	curves, waters := []curve{m.now}, []float64{1}
	if m.before != (curve{}) {
		curves = append(curves, m.before)
	}
	if m.takesWater {
		waters = append(waters, dry, wet)
	}
	for _, c := range curves {
		for _, k := range waters {
			eta := c.at(mhz, k)
			for _, part := range []float64{1 - gauge, 1 - gauge/2, 1, 1 + gauge/2, 1 + gauge} {
				loss := slabLoss(eta, part*mm, mhz)
				out.Lo, out.Hi = min(out.Lo, loss), max(out.Hi, loss)
			}
		}
	}
	return Span{min(out.Lo, slabCap), min(out.Mid, slabCap), min(out.Hi, slabCap)}, nil
}

// slabLoss is the loss in dB through a slab of permittivity eta, at normal
// incidence: ITU-R P.2040, with R by Fresnel and q = (2πd/λ)·√η.
func slabLoss(eta complex128, mm, mhz float64) float64 {
	n := cmplx.Sqrt(eta)
	r := (1 - n) / (1 + n)
	q := complex(2*math.Pi*mm/1000/wavelength(mhz), 0) * n
	t := (1 - r*r) * cmplx.Exp(-1i*q) / (1 - r*r*cmplx.Exp(-2i*q))
	return max(-20*math.Log10(cmplx.Abs(t)), 0)
}
