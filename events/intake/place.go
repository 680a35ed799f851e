package intake

import (
	"fmt"

	"pairwalk/events"
)

// What a coordinate may be, in mm: eastings and northings of a national grid
// fit, and places more than siteMost apart on one site don't.
const (
	gridMost    = 1_000_000_000
	siteMost    = 5_000_000
	deepest     = -1_000_000
	highest     = 10_000_000
	levelHeight = 3_500 // from level to level, where a floor's elevation is not told (common practice, no source)
)

// floor is the floor of the row, or the one listed where the file has no such
// column.
func (r *row) floor(listed events.FloorID) events.FloorID {
	if !r.has("floor") {
		return listed
	}
	return events.FloorID(r.shown("floor"))
}

// place reads coordinates. Without z_m the device lies at its floor's elevation,
// or at the site's datum where the row names no floor.
func (r *row) place(floor events.FloorID) events.Maybe[events.Point] {
	before := len(r.problems)
	x, y := r.length("x", -gridMost, gridMost), r.length("y", -gridMost, gridMost)
	z := r.length("z", deepest, highest)
	if len(r.problems) == before && z.Known && !x.Known && !y.Known {
		r.note("z", "is not taken without x_m and y_m")
	}
	if len(r.problems) > before || !x.Known && !y.Known {
		return events.Maybe[events.Point]{}
	}
	if !x.Known || !y.Known {
		empty, other := column{name: "x", unit: true}, column{name: "y", unit: true}
		if x.Known {
			empty, other = other, empty
		}
		r.wrong(empty.name, fmt.Sprintf("is missing, and %s is not", other), "a place takes both, or neither")
		return events.Maybe[events.Point]{}
	}
	if !z.Known && floor != "" {
		listed, ok := r.opt.Site.Floors[floor]
		if !ok {
			r.wrong("z", fmt.Sprintf("is empty, and how high floor %q lies is not known", floor), "import a floors sheet first, or write z_m")
			return events.Maybe[events.Point]{}
		}
		z = events.Some(elevation(listed))
	}
	return r.near(events.Point{X: x.Value, Y: y.Value, Z: z.Value}, "x", "y")
}

func elevation(f events.FloorListed) int64 {
	if f.Elevation.Known {
		return f.Elevation.Value
	}
	return int64(f.Level) * levelHeight
}

// origin is the first place in a file.
type origin struct {
	row   int
	place events.Point
}

// near refuses a place that is too far from the first one to be the same site:
// the usual cause is a column in another unit than its heading says.
func (r *row) near(p events.Point, xs, ys string) events.Maybe[events.Point] {
	if !r.origin.Known {
		r.origin = events.Some(origin{r.number, p})
	}
	o := r.origin.Value
	for i, d := range []int64{p.X - o.place.X, p.Y - o.place.Y} {
		if d > siteMost || -d > siteMost {
			r.wrong([]string{xs, ys}[i], fmt.Sprintf("is %s m from the place on row %d", metres(max(d, -d)), o.row), "is the unit in the column's heading right?")
			return events.Maybe[events.Point]{}
		}
	}
	return events.Some(p)
}
