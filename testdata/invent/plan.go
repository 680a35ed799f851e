package invent

import (
	"fmt"
	"strconv"

	"pairwalk/events"
)

// The works stand on two sides of a yard: a front house, 60 m long and 7 m deep,
// with a wing at its east end, and a boiler house below the yard. The front house
// is the plain block of [Site]; what is different is here, in mm.
//
//	  28               ┌─────────┐          ┌────┐
//	  21             │ * B1-R09, │          │3-  │
//	                 │ │  -R10   │          │R08,│
//	  16             │ ├─────────┘          │R10 │
//	                 │ │  B1-R05, R06       │    │
//	   7 ┌───────────  ─────────────────────┴─  ─┤
//	     │ H1                  H4 = 3-R07 ====== │
//	   0 └───────────────────────────────────────┘
//	     0           18 21       36         53   60
//
// The asterisk is the fitting in the gate, B1-148. The boiler house and its
// passage are in the basement, the wing and the corridor on floor 3.

// rect is the floor area of a room.
type rect struct{ x, y, wide, deep int64 }

// areas are rooms that lie elsewhere than in the plain block.
var areas = map[events.RoomID]rect{
	"B1-R09": {24_000, 16_000, 6_000, 12_000},
	"B1-R10": {30_000, 16_000, 6_000, 12_000},
	"3-R08":  {53_000, 7_000, 7_000, 9_000},
	"3-R09":  {37_000, 0, 12_000, 3_000},
	"3-R10":  {53_000, 16_000, 7_000, 12_000},
}

// rows are rooms too narrow for more than one row of fittings: where the first
// hangs, and how far it is to the next.
var rows = map[events.RoomID]struct{ first, step events.XY }{
	"B1-R05": {events.XY{X: 19_500, Y: 7_200}, events.XY{Y: 900}},
	"B1-R06": {events.XY{X: 19_500, Y: 14_400}, events.XY{Y: 900}},
	"3-R07":  {events.XY{X: 37_500, Y: 4_000}, events.XY{X: 2_700}},
}

// spots are single fittings: one hangs in the gate of the boiler house, and is
// the only one that looks both ways.
var spots = map[events.Tag]events.XY{"B1-148": {X: 21_000, Y: 21_000}}

// stars are the rooms on star radio: nobody relays for it, so they are near
// their hub.
var stars = map[events.RoomID]bool{
	"B1-R03": true, "0-R02": true, "0-R07": true, "1-R07": true, "2-R05": true, "3-R02": true, "3-R09": true, "4-R06": true,
}

// circuits name what feeds a room. A hub is on its cabinet's own circuit, the
// first of its board, so that no breaker of the lighting takes it along. Stairs
// have a circuit from floor to floor; rooms next door share one; the passage and
// the corridor have their own, and all behind them hangs on that.
var circuits = map[events.RoomID]int{
	"B1-R01": 2, "B1-R02": 3, "B1-R03": 3, "B1-R04": 4, "B1-R05": 5, "B1-R06": 5, "B1-R07": 6, "B1-R08": 6, "B1-R09": 7, "B1-R10": 7,
	"0-R01": 2, "0-R02": 8, "0-R03": 8, "0-R04": 9, "0-R05": 9,
	"0-R06": 2, "0-R07": 3, "0-R08": 3, "0-R09": 4, "0-R10": 4,
	"1-R01": 5, "1-R02": 6, "1-R03": 6, "1-R04": 7, "1-R05": 7, "1-R06": 8, "1-R07": 9, "1-R08": 9, "1-R09": 10, "1-R10": 10,
	"2-R01": 2, "2-R02": 3, "2-R03": 3, "2-R04": 4, "2-R05": 4, "2-R06": 5, "2-R07": 6, "2-R08": 6, "2-R09": 7, "2-R10": 7,
	"3-R01": 2, "3-R02": 8, "3-R03": 8, "3-R04": 9, "3-R05": 9,
	"3-R06": 2, "3-R07": 7, "3-R08": 8, "3-R09": 3, "3-R10": 9,
	"4-R01": 2, "4-R02": 4, "4-R03": 4, "4-R04": 5, "4-R05": 5, "4-R06": 6, "4-R07": 10, "4-R08": 10, "4-R09": 11, "4-R10": 11,
}

// wall is a line on a floor, of points in m as the walls sheet has them.
type wall struct {
	floor     events.FloorID
	material  string
	thickness int // mm
	points    string
}

// worksWalls are the walls that matter to radio, and no others. The passage is a
// cut below the yard, lined with steel plates, and so is the boiler house, up to
// its gate.
var worksWalls = []wall{
	{"B1", "metal", 8, "18 9; 18 23; 21 23; 21 22"},
	{"B1", "metal", 8, "21 9; 21 20"},
	{"B1", "metal", 5, "21 16; 36 16; 36 28; 21 28; 21 22"},
	{"B1", "brick", 380, "36 0; 36 7"},
	{"0", "brick", 250, "30 0; 30 2.5"},
	{"0", "brick", 250, "30 4.5; 30 7"},
	{"1", "brick", 250, "30 0; 30 2.5"},
	{"1", "brick", 250, "30 4.5; 30 7"},
	{"3", "brick", 510, "0 7; 53 7; 53 28; 60 28; 60 0"},
	{"3", "concrete", 250, "53 7; 55 7"},
	{"3", "concrete", 250, "58 7; 60 7"},
	{"3", "metal", 3, "50 5.2; 52.5 5.2; 52.5 6.8; 50 6.8; 50 5.2"},
}

func walls() File {
	f := File{Header: []string{"floor", "material", "thickness_mm", "points"}}
	for _, w := range worksWalls {
		f.Rows = append(f.Rows, []string{string(w.floor), w.material, strconv.Itoa(w.thickness), w.points})
	}
	return f
}

// worksSite is the working site's schedule: that of the plain block of this size,
// put where the works have it.
func worksSite() []events.Payload {
	nth := map[events.RoomID]int64{}
	site := Site(Size{Seed: 2026, Devices: 480, Hubs: 4, Floors: 6})
	for i, p := range site {
		switch p := p.(type) {
		case events.HubListed:
			p.Circuit = events.CircuitID(fmt.Sprintf("C%s-1", p.Hub[1:]))
			site[i] = p
		case events.DeviceListed:
			p.Circuit = events.CircuitID(fmt.Sprintf("C%s-%d", p.Hub[1:], circuits[p.Room]))
			p.Place.Value = placed(p, nth[p.Room])
			p.Radio = events.Mesh
			if stars[p.Room] {
				p.Radio = events.Star
			}
			nth[p.Room]++
			site[i] = p
		}
	}
	return site
}

// placed is where the n-th device of its room hangs.
func placed(p events.DeviceListed, n int64) events.Point {
	at := p.Place.Value
	if r, ok := areas[p.Room]; ok {
		at.X = r.x + at.X%roomWide*r.wide/roomWide/100*100
		at.Y = r.y + at.Y%roomDeep*r.deep/roomDeep/100*100
	}
	if r, ok := rows[p.Room]; ok {
		at.X, at.Y = r.first.X+n*r.step.X, r.first.Y+n*r.step.Y
	}
	if xy, ok := spots[p.Device]; ok {
		at.X, at.Y = xy.X, xy.Y
	}
	return at
}
