package mesh_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"pairwalk/events"
	"pairwalk/projection/tale"
)

// randomJob is a small site of every sort of trouble: several hubs, floors, walls
// and circuits, places that are not known, links measured with and without them,
// devices heard, pushed, dark, unpaired, paired elsewhere and struck.
func randomJob(t *testing.T, seed uint64) *job {
	j := &job{tale.New(), t}
	r := rand.New(rand.NewPCG(seed, 7))
	j.say("08:00:01", randomSettings(r))
	for f := range r.IntN(3) {
		j.say("08:00:02", events.FloorListed{Floor: events.FloorID(fmt.Sprint(f)), Level: f})
	}
	wide := 20 + r.IntN(150)
	place := func() events.Maybe[events.Point] {
		if r.IntN(12) == 0 {
			return nowhere
		}
		// a coarse lattice, so that lines meet corners and places coincide
		return events.Some(events.Point{X: int64(r.IntN(wide)) * 1000, Y: int64(r.IntN(wide/3+1)) * 1000, Z: int64(r.IntN(4)) * 2500})
	}
	if r.IntN(3) == 0 {
		randomWalls(j, r, wide)
	}
	hubs, tags := randomSchedule(j, r, place)
	clock := tale.T("09:00")
	tick := func(p events.Payload) {
		clock += events.Instant(1000 + r.IntN(600_000))
		j.Lead.SayAt(clock, p)
	}
	for _, h := range hubs {
		tick(events.HubLoaded{Hub: h, Program: "r1", All: true})
	}
	for _, tag := range tags {
		if r.IntN(6) > 0 {
			d, _ := j.Now().Device(tag)
			hub := d.Hub
			if r.IntN(12) == 0 {
				hub = hubs[r.IntN(len(hubs))]
			}
			tick(events.DevicePaired{Device: tag, Hub: hub})
		}
	}
	for range r.IntN(25) {
		tick(randomFact(j, r, hubs, tags))
	}
	return j
}

func randomSettings(r *rand.Rand) events.SettingsChanged {
	model := events.RadioModels[r.IntN(len(events.RadioModels))]
	if r.IntN(2) == 0 {
		model = "p1238-10-office"
	}
	return events.SettingsChanged{Set: map[events.SettingKey]string{
		events.RadioModel: model, events.FadeMargin: fmt.Sprint(r.IntN(15) * 100),
		events.AntennaGain: fmt.Sprint(-300 - 100*r.IntN(12)),
	}}
}

func randomWalls(j *job, r *rand.Rand, wide int) {
	for i := range 1 + r.IntN(4) {
		var line []events.XY
		for range 2 + r.IntN(4) {
			line = append(line, events.XY{X: int64(r.IntN(wide)) * 1000, Y: int64(r.IntN(wide/3+1)) * 1000})
		}
		material := []string{"concrete", "brick", "glass", "metal"}[r.IntN(4)]
		j.say("08:00:03", events.WallListed{Wall: fmt.Sprint("w", i), Floor: events.FloorID(fmt.Sprint(r.IntN(2))), Material: material, Thickness: 100, Line: line})
	}
}

func randomSchedule(j *job, r *rand.Rand, place func() events.Maybe[events.Point]) (hubs []events.HubID, tags []events.Tag) {
	circuit := func() events.CircuitID {
		return events.CircuitID([]string{"", "C1", "C2", "C3"}[r.IntN(4)])
	}
	for h := range 1 + r.IntN(3) {
		hubs = append(hubs, events.HubID(fmt.Sprint("H", h+1)))
		radio := []events.Radio{"", "", "", events.Mesh, events.Star}[r.IntN(5)]
		feed := events.CircuitID("")
		if r.IntN(5) == 0 {
			feed = circuit()
		}
		j.say("08:00:04", events.HubListed{Hub: hubs[h], Radio: radio, Place: place(), Circuit: feed})
	}
	for i := range 2 + r.IntN(14) {
		d := events.DeviceListed{
			Device: events.Tag(fmt.Sprint("1-", i+1)), Is: events.Dimmer, Radio: events.Mesh, Power: events.Mains,
			Hub: hubs[r.IntN(len(hubs))], Place: place(), Circuit: circuit(),
		}
		switch r.IntN(6) {
		case 0:
			d.Is, d.Power = events.Sensor, events.Battery
		case 1:
			d.Radio = events.Star
		}
		if r.IntN(4) == 0 {
			d.Floor = events.FloorID(fmt.Sprint(r.IntN(3)))
		}
		j.say("08:00:05", d)
		tags = append(tags, d.Device)
	}
	return hubs, tags
}

// randomFact is something that happens to a device or hub once they are paired.
func randomFact(j *job, r *rand.Rand, hubs []events.HubID, tags []events.Tag) events.Payload {
	tag, hub := tags[r.IntN(len(tags))], hubs[r.IntN(len(hubs))]
	some := func() []events.Tag {
		var out []events.Tag
		for _, t := range tags {
			if r.IntN(7) == 0 {
				out = append(out, t)
			}
		}
		return out
	}
	switch r.IntN(12) {
	case 0, 1, 2, 3:
		l := events.LinkMeasured{A: tag, B: tags[r.IntN(len(tags))]}
		if r.IntN(3) == 0 {
			l.B = events.Tag(hub)
		}
		if r.IntN(2) == 0 {
			l.A, l.B = l.B, l.A
		}
		if r.IntN(3) > 0 {
			l.RSSI = events.Some(-55 - r.IntN(45))
		}
		if r.IntN(3) == 0 {
			l.PDR = events.Some(int64(1_000_000 - r.IntN(3)*r.IntN(200_000)))
		}
		if !l.RSSI.Known && !l.PDR.Known {
			l.LQI = events.Some(r.IntN(256))
		}
		if l.A != l.B {
			return l
		}
	case 4, 5:
		d, _ := j.Now().Device(tag)
		h := events.DeviceHeard{Device: tag, Hub: hub}
		if d.Paired != nil {
			h.Hub = d.Paired.Hub
		}
		if r.IntN(2) == 0 {
			h.RSSI = events.Some(-60 - r.IntN(40))
		}
		return h
	case 6:
		return events.PushDone{Hub: hub, Program: "r1", Missed: some()}
	case 7:
		return events.PowerOff{Of: events.Circuit([]events.CircuitID{"C1", "C2", "C3"}[r.IntN(3)]), Dark: some()}
	case 8:
		return events.PowerOn{Of: events.Circuit([]events.CircuitID{"C1", "C2", "C3"}[r.IntN(3)])}
	case 9:
		return events.DeviceUnpaired{Device: tag, Why: "reset"}
	case 10:
		return events.DeviceStruck{Device: tag, Why: "not built"}
	case 11:
		if r.IntN(4) == 0 {
			return events.HubLost{Hub: hub, Why: "no answer"}
		}
		return events.HubChannel{Hub: hub, Radio: events.Mesh, Channel: 11 + r.IntN(16)}
	}
	return events.NoteAdded{Of: events.Device(tag), Text: "seen"}
}
