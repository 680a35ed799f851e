package mesh_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/mesh"
)

func xy(list ...int64) []events.XY {
	var out []events.XY
	for i := 0; i < len(list); i += 2 {
		out = append(out, events.XY{X: list[i] * 1000, Y: list[i+1] * 1000})
	}
	return out
}

func TestWhatAWallIsBetween(t *testing.T) {
	for _, tt := range []struct {
		name string
		wall []events.XY // metres; the devices are at 0,0 and 10,0
		want int
	}{
		{"across", xy(5, -5, 5, 5), 1},
		{"aslant", xy(4, 5, 6, -5), 1},
		{"there and back", xy(4, -5, 4, 5, 6, 5, 6, -5), 2},
		{"beside", xy(0, 1, 10, 1), 0},
		{"short of it", xy(5, 5, 5, 1), 0},
		{"behind", xy(11, -5, 11, 5), 0},
		{"along the line", xy(2, 0, 8, 0), 0},
		{"along the line, then off to either side", xy(2, 3, 2, 0, 8, 0, 8, -3), 1},
		{"through a corner", xy(5, -5, 5, 0, 5, 5), 1},
		{"through a bent corner", xy(4, -5, 5, 0, 4, 5), 1},
		{"touching a corner from the right", xy(4, -5, 5, 0, 6, -5), 0},
		{"touching a corner from the left", xy(4, 5, 5, 0, 6, 5), 2},
		{"a device sits on the wall", xy(0, -5, 0, 5), 0},
		{"a device sits on its end", xy(10, 0, 10, 5), 0},
		{"both sit on it", xy(-5, 0, 15, 0), 0},
		{"one sits on one wall and looks through another", xy(0, -5, 0, 5, 5, 5, 5, -5), 1},
	} {
		t.Run(tt.name, func(t *testing.T) {
			j := newJob(t)
			j.say("08:02", events.FloorListed{Floor: "1", Level: 1})
			j.hub("H1", nowhere)
			j.list("1-1", m(0, 0, 3.5), onFloor("1"))
			j.list("1-2", m(10, 0, 3.5), onFloor("1"))
			j.say("08:20", events.WallListed{Wall: "w", Floor: "1", Material: "brick", Thickness: 100, Line: tt.wall})
			g := mesh.Survey(j.Now())
			for _, pair := range [][2]events.Tag{{"1-1", "1-2"}, {"1-2", "1-1"}} {
				l, ok := g.Link(pair[0], pair[1])
				require.True(t, ok)
				require.Equal(t, tt.want, l.Walls)
			}
		})
	}
}

// Whatever the shape of a floor, the grid meets the walls that a look at every
// piece finds.
func TestWallsAreFoundByTheGrid(t *testing.T) {
	met := 0
	for seed := range uint64(30) {
		r := rand.New(rand.NewPCG(seed, 3))
		wide, deep := int64(5_000+r.IntN(300_000)), int64(5_000+r.IntN(100_000))
		if seed%5 == 0 {
			wide *= 1000 // larger than a fine grid would hold
		}
		point := func() events.XY { return events.XY{X: r.Int64N(2*wide) - wide, Y: r.Int64N(2*deep) - deep} }
		j := newJob(t)
		j.say("08:02", events.FloorListed{Floor: "1", Level: 1})
		j.hub("H1", nowhere)
		for i := range 12 {
			at := point()
			if i%3 == 0 { // away from all walls
				at.X, at.Y = at.X*2, at.Y*2
			}
			j.list(events.Tag(fmt.Sprint("1-", i)), events.Some(events.Point{X: at.X, Y: at.Y, Z: 3500}), onFloor("1"))
		}
		s := j.Now()
		for i := range 60 {
			w := events.WallListed{Wall: fmt.Sprint("w", i), Floor: "1", Material: "brick", Thickness: 100, Line: []events.XY{point()}}
			for range 1 + r.IntN(3) {
				next := point()
				if last := w.Line[len(w.Line)-1]; i%2 == 0 { // most walls are short, and many straight
					next = events.XY{X: last.X + r.Int64N(6000) - 3000, Y: last.Y}
					if r.IntN(2) == 0 {
						next = events.XY{X: last.X, Y: last.Y + r.Int64N(6000) - 3000}
					}
				}
				w.Line = append(w.Line, next)
			}
			s.Walls = append(s.Walls, w)
		}
		g := mesh.Survey(s)
		for i := range s.Devices {
			for k := range s.Devices[:i] {
				a, b := &s.Devices[i], &s.Devices[k]
				want := 0
				for _, w := range s.Walls {
					for p := 1; p < len(w.Line); p++ {
						from, to := events.XY{X: a.Place.Value.X, Y: a.Place.Value.Y}, events.XY{X: b.Place.Value.X, Y: b.Place.Value.Y}
						if meets(from, to, w.Line[p-1], w.Line[p]) {
							want++
						}
					}
				}
				l, ok := g.Link(a.Device, b.Device)
				require.True(t, ok)
				require.Equal(t, want, l.Walls, "seed %d, %v to %v", seed, a.Place, b.Place)
				met += want
			}
		}
	}
	require.Greater(t, met, 5_000)
}

// The table of ITU-R P.2040-3 begins at 1 GHz for brick: on a sub-GHz radio that
// is told.
func TestWallsBeyondTheTableAreTold(t *testing.T) {
	for _, star := range []bool{false, true} {
		j := newJob(t)
		j.hub("H1", m(0, 0, 0))
		if star {
			j.paired("1-1", m(5, 0, 0), asStar)
		} else {
			j.paired("1-1", m(5, 0, 0))
		}
		j.say("08:30", events.WallListed{Wall: "w", Floor: "1", Material: "brick", Thickness: 100, Line: []events.XY{{X: 1}, {X: 1, Y: 5}}})
		notes := mesh.Survey(j.Now()).Notes()
		require.Equal(t, star, slices.ContainsFunc(notes, func(n string) bool { return strings.Contains(n, "its curve is carried on to 868.3 MHz") }))
	}
}
