package handover

import (
	"cmp"
	"math"
	"slices"
)

// split parts what is on a floor into groups of no more than most, each on a piece
// of the floor of its own: it halves the longer side until they are small enough.
// What lies at one place stays together, however much it is.
func split(spots []spotOf, most int) [][]spotOf {
	if len(spots) <= most {
		return [][]spotOf{spots}
	}
	lo, hi := spots[0].mark.At, spots[0].mark.At
	for _, s := range spots {
		for i := range lo {
			lo[i], hi[i] = min(lo[i], s.mark.At[i]), max(hi[i], s.mark.At[i])
		}
	}
	axis := 0
	if hi[1]-lo[1] > hi[0]-lo[0] {
		axis = 1
	}
	if hi[axis] == lo[axis] {
		return [][]spotOf{spots}
	}
	sorted := slices.Clone(spots)
	slices.SortStableFunc(sorted, func(a, b spotOf) int { return cmp.Compare(a.mark.At[axis], b.mark.At[axis]) })
	middle := sorted[len(sorted)/2].mark.At[axis]
	if middle == lo[axis] { // most lie on the lower edge: those are the one half
		middle++
	}
	cut, _ := slices.BinarySearchFunc(sorted, middle, func(s spotOf, m int64) int { return cmp.Compare(s.mark.At[axis], m) })
	return append(split(sorted[:cut], most), split(sorted[cut:], most)...)
}

// detail is the piece of a drawing around some of its marks.
func detail(whole Drawing, part []spotOf) Drawing {
	d := Drawing{Legend: whole.Legend}
	for _, s := range part {
		d.Marks = append(d.Marks, s.mark)
	}
	d.Min, d.Max = bounds(d)
	for _, l := range whole.Lines {
		for i := 1; i < len(l.Points); i++ {
			if a, b, ok := clip(l.Points[i-1], l.Points[i], d.Min, d.Max); ok {
				d.Lines = append(d.Lines, Line{[][2]int64{a, b}, l.Style})
			}
		}
	}
	return d
}

// clip cuts a stretch to a rectangle, as Liang and Barsky do (ACM Transactions on
// Graphics 3 (1984) 1; from memory).
func clip(a, b, lo, hi [2]int64) (from, to [2]int64, ok bool) {
	in, out := 0.0, 1.0
	for i := range a {
		step := float64(b[i] - a[i])
		for _, side := range [2][2]float64{{-step, float64(a[i] - lo[i])}, {step, float64(hi[i] - a[i])}} {
			p, q := side[0], side[1]
			switch {
			case p == 0 && q < 0:
				return a, b, false
			case p < 0:
				in = max(in, q/p)
			case p > 0:
				out = min(out, q/p)
			}
		}
	}
	if in > out {
		return a, b, false
	}
	on := func(t float64) (p [2]int64) {
		for i := range p {
			p[i] = a[i] + int64(math.Round(t*float64(b[i]-a[i])))
		}
		return p
	}
	return on(in), on(out), true
}
