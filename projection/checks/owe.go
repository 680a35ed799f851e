package checks

import (
	"maps"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// The places a test comes from.
const (
	FromPlan     = "plan"     // somebody planned it
	FromSchedule = "schedule" // what is scheduled asks for it
	FromSample   = "sample"   // drawn by lot
	FromLog      = "log"      // it was done, and nothing asked for it
)

// owing lists what every room owes; last what is owed in no known room.
func (b *binder) owing(groups []Group) []Room {
	drawn := map[done]bool{}
	for _, g := range groups {
		for _, tag := range g.Drawn {
			drawn[done{events.Device(tag), g.Test}] = true
		}
	}
	ids := slices.SortedFunc(maps.Keys(b.floors), events.ByName)
	var out []Room
	for _, id := range append(ids, "") {
		first := len(b.tests)
		b.planned(id)
		b.derived(id)
		b.sampled(id, drawn)
		b.answers(id)
		b.unasked(id)
		r := Room{Room: id, Floor: b.floors[id], Tests: slices.Clip(b.tests[first:]), Unknown: b.unknown(id)}
		if len(r.Tests) > 0 || r.Unknown != "" {
			out = append(out, r)
		}
	}
	return out
}

// planned lists the tests that somebody planned for a room.
func (b *binder) planned(id events.RoomID) {
	for _, kind := range events.TestKinds {
		p := b.plans[done{events.Room(id), kind}]
		if p == nil {
			continue
		}
		why := "planned by " + b.site.DoneBy(p.Planned.Event)
		if p.Note != "" {
			why += ": " + p.Note
		}
		b.list(Test{Of: events.Room(id), Room: id, Test: kind, Devices: b.concerned(id, kind), From: FromPlan, Why: why})
	}
}

// asks are the tests that a device on the schedule asks for in its room.
var asks = []struct {
	kind events.TestKind
	what string
}{{events.TestDaylight, "daylight sensor"}, {events.TestManual, "wall control"}, {events.TestEgress, "emergency device"}}

// derived lists the tests of a room that its schedule asks for. Where the room is
// not known, each device has its own.
func (b *binder) derived(id events.RoomID) {
	for _, x := range asks {
		tags := b.concerned(id, x.kind)
		switch {
		case len(tags) == 0 || b.plans[done{events.Room(id), x.kind}] != nil:
		case id != "":
			why := count(len(tags), x.what) + ": " + names(tags)
			b.list(Test{Of: events.Room(id), Room: id, Test: x.kind, Devices: tags, From: FromSchedule, Why: why})
		default:
			for _, tag := range tags {
				b.list(Test{Of: events.Device(tag), Test: x.kind, Devices: []events.Tag{tag}, From: FromSchedule, Why: x.what + " in no known room"})
			}
		}
	}
}

// concerned lists the devices of a room that a test is about.
func (b *binder) concerned(id events.RoomID, kind events.TestKind) []events.Tag {
	var out []events.Tag
	switch kind {
	case events.TestOccupancy, events.TestVacancy, events.TestDaylight:
		return b.sensors[done{events.Room(id), kind}]
	case events.TestManual:
		out = b.those(id, func(d *projection.Device) bool { return d.Is == events.WallControl })
	case events.TestEgress:
		out = b.those(id, func(d *projection.Device) bool { return d.Emergency })
	case events.TestAnswer:
		out = b.those(id, func(d *projection.Device) bool { return d.Paired != nil })
	}
	return out
}

func (b *binder) those(id events.RoomID, which func(*projection.Device) bool) []events.Tag {
	var out []events.Tag
	for _, d := range b.inRoom[id] {
		if which(d) {
			out = append(out, d.Device)
		}
	}
	return out
}

// sampled lists the tests of a room's occupant sensors: of those that are drawn,
// and of those that were tested though nobody drew them.
func (b *binder) sampled(id events.RoomID, drawn map[done]bool) {
	for _, kind := range []events.TestKind{events.TestOccupancy, events.TestVacancy} {
		for _, tag := range b.sensors[done{events.Room(id), kind}] {
			d, _ := b.site.Device(tag)
			t := b.testOfSensor(d, kind)
			t.From, t.Why = FromSample, "sensor "+string(tag)+" is drawn"
			if !drawn[done{events.Device(tag), kind}] {
				t.From, t.Why = FromLog, "sensor "+string(tag)+" is not drawn, and was tested all the same"
			}
			covered := t.Of.Class == events.OfRoom && b.plans[done{t.Of, kind}] != nil
			if !covered && (t.From == FromSample || len(t.Results) > 0) {
				b.list(t)
			}
		}
	}
}

// answers lists the paired devices of a room: each is to answer its hub.
func (b *binder) answers(id events.RoomID) {
	tags := b.concerned(id, events.TestAnswer)
	for i, tag := range tags {
		b.list(Test{
			Of: events.Device(tag), Room: id, Test: events.TestAnswer, Devices: tags[i : i+1 : i+1],
			From: FromSchedule, Why: "it is paired, and paired is not reachable",
		})
	}
}

// unasked lists what was tested in a room though nothing asked for it.
func (b *binder) unasked(id events.RoomID) {
	var subjects []events.Subject
	if id != "" {
		subjects = append(subjects, events.Room(id))
	}
	for _, d := range b.inRoom[id] {
		subjects = append(subjects, events.Device(d.Device))
	}
	for _, of := range subjects {
		for _, x := range b.tried[of] {
			if !x.used {
				b.list(Test{Of: of, Room: id, Test: x.test, From: FromLog, Why: "nothing asked for it"})
			}
		}
	}
}

// unknown says that nothing tells which functional tests a room owes.
func (b *binder) unknown(id events.RoomID) string {
	if id == "" || len(b.inRoom[id]) == 0 {
		return ""
	}
	for _, kind := range events.TestKinds {
		if kind != events.TestAnswer && (b.plans[done{events.Room(id), kind}] != nil || len(b.concerned(id, kind)) > 0) {
			return ""
		}
	}
	return "the schedule does not tell which tests this room owes: not known, plan it: pairwalk log planned " + quoted(id) + " --test occupancy"
}
