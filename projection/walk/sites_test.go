package walk_test

import (
	"fmt"
	"math/rand/v2"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
	"pairwalk/projection/walk"
	"pairwalk/testdata/invent"
)

var begin = events.InstantOf(time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC))

// listed is the site of a schedule, with nothing done on it yet.
func listed(rows ...events.Payload) *projection.Site {
	s := tale.New()
	for _, r := range rows {
		s.Lead.Say("08:00", r)
	}
	return s.Now()
}

func crew(n int) []walk.Person {
	return []walk.Person{{Name: "Ann"}, {Name: "Bo"}, {Name: "Cy"}, {Name: "Di"}}[:n]
}

// scatter is a site of one to three hubs with devices strewn over two floors: some
// sleep, some are star, some are too far out for any path.
func scatter(seed uint64) []events.Payload {
	dice := rand.New(rand.NewPCG(seed, 9))
	rows := []events.Payload{
		events.FloorListed{Floor: "1", Level: 1, Elevation: events.Some[int64](0)},
		events.FloorListed{Floor: "2", Level: 2, Elevation: events.Some[int64](3500)},
	}
	hubs := 1 + dice.IntN(3)
	at := func(spread int) events.Maybe[events.Point] {
		return events.Some(events.Point{X: dice.Int64N(int64(spread)), Y: dice.Int64N(int64(spread / 2)), Z: 2700})
	}
	for h := range hubs {
		rows = append(rows, events.HubListed{Hub: events.HubID(fmt.Sprintf("H%d", h+1)), Floor: "1", Place: at(40_000)})
	}
	for i := range 12 + dice.IntN(40) {
		d := events.DeviceListed{
			Device: events.Tag(fmt.Sprintf("1-%d", 101+i)), Is: events.Driver, Hub: events.HubID(fmt.Sprintf("H%d", 1+dice.IntN(hubs))),
			Radio: events.Mesh, Power: events.Mains, Floor: "1", Place: at(60_000),
		}
		switch dice.IntN(8) {
		case 0:
			d.Power, d.Is = events.Battery, events.Sensor
		case 1:
			d.Radio = events.Star
		case 2:
			d.Floor = "2"
			d.Place.Value.Z += 3500
		case 3:
			d.Place.Value.X += int64(dice.IntN(2)) * 150_000
		}
		rows = append(rows, d)
	}
	return rows
}

// sites are what the plans are judged on.
func sites() map[string]*projection.Site {
	out := map[string]*projection.Site{
		"a building":    listed(invent.Site(invent.Size{Seed: 3, Devices: 160, Hubs: 3, Floors: 4})...),
		"a tall one":    listed(invent.Site(invent.Size{Seed: 4, Devices: 90, Hubs: 1, Floors: 6})...),
		"three columns": listed(bare(24)...),
	}
	for seed := range uint64(120) {
		out[fmt.Sprintf("scatter %d", seed)] = listed(scatter(seed)...)
	}
	return out
}

// bare is a list of tag, kind and hub.
func bare(n int) []events.Payload {
	rows := []events.Payload{events.HubListed{Hub: "H1"}, events.HubListed{Hub: "H2"}}
	for i := range n {
		rows = append(rows, events.DeviceListed{
			Device: events.Tag(fmt.Sprintf("%d-%d", i%3, 101+i)), Is: events.Driver, Hub: events.HubID(fmt.Sprintf("H%d", 1+i%2)), Radio: events.Mesh, Power: events.Mains,
		})
	}
	return rows
}
