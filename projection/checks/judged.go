package checks

import (
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// CautionEgress goes with every test of emergency and egress lighting.
const CautionEgress = "Emergency and egress lighting: test it only as the authority having jurisdiction has said; do not pair, dim or disable it before that."

// verify is what is to be seen in a test: of occupant sensors and time switches as
// IECC C408.3.1 asks, of egress lighting as IBC 1008.3.5 does.
var verify = map[events.TestKind][]string{
	events.TestOccupancy: {
		"its indicator shows that it sees somebody",
		"the lights are off or down within the time after the room is empty",
		"they come on by themselves no further than the level",
		"they want a hand to come on only where that was set",
		"nothing next door and no moving air sets it off",
	},
	events.TestVacancy: {
		"its indicator shows that it sees somebody",
		"the lights come on by hand only",
		"they are off or down within the time after the room is empty",
		"nothing next door and no moving air keeps them on",
	},
	events.TestTimeSwitch: {
		"the schedules are those that are wanted",
		"date and time are right",
		"the battery keeps them when the power is off",
		"an override ends in time",
	},
	events.TestEgress: {
		"the average at the floor is enough",
		"so is the darkest point",
		"the brightest point is not too far from it",
	},
}

// list puts a test in the book, with what it is held against, what to mind and what
// came of it.
func (b *binder) list(t Test) {
	t.Plan = b.plans[done{events.Room(t.Room), t.Test}]
	t.Limits = b.limits(t.Test, t.Plan)
	t.Verify = verify[t.Test]
	t.Waits = b.waits(t)
	b.judge(&t)
	b.use(t.Of, t.Test)
	for _, tag := range t.Devices {
		b.use(events.Device(tag), t.Test)
	}
	if t.Test == events.TestEgress || b.emergency(t) {
		t.Cautions = append(t.Cautions, CautionEgress)
	}
	b.tests = append(b.tests, t)
}

// use notes that what came of a test belongs to one of the book.
func (b *binder) use(of events.Subject, test events.TestKind) {
	if x := b.of(of, test); x != nil {
		x.used = true
	}
}

// limits is what a test is held against; of those that nobody planned it is told
// once.
func (b *binder) limits(test events.TestKind, plan *projection.Plan) []Limit {
	if plan != nil {
		return limits(b.site, test, plan)
	}
	if _, told := b.usual[test]; !told {
		b.usual[test] = slices.Clip(limits(b.site, test, nil))
	}
	return b.usual[test]
}

// emergency says whether a test is one of an emergency device, or in a room with
// one.
func (b *binder) emergency(t Test) bool {
	if tag, ok := t.Of.Tag(); ok {
		d, known := b.site.Device(tag)
		return known && d.Emergency
	}
	return len(b.concerned(t.Room, events.TestEgress)) > 0
}

// waits says what has to come before a test: a room is tested once all in it is
// paired and pushed. An emergency device that nobody may pair yet keeps the room
// from no other test than its own.
func (b *binder) waits(t Test) string {
	devices := b.inRoom[t.Room]
	if tag, ok := t.Of.Tag(); ok {
		devices = nil
		if d, known := b.site.Device(tag); known {
			devices = append(devices, d)
		}
	}
	for _, d := range devices {
		switch name := string(d.Device); {
		case d.Emergency && d.Paired == nil && t.Of.Class == events.OfRoom && t.Test != events.TestEgress:
		case d.Emergency && d.Wants(projection.NeedPair):
			return name + " is not paired yet, and that needs the authority's word"
		case d.Wants(projection.NeedPair):
			return name + " is not paired yet"
		case d.Wants(projection.NeedPush):
			return name + " has not taken the hub's program yet"
		case d.Has(projection.FlagHold):
			return name + " is on hold"
		case d.Dark != nil:
			return name + " has no power, says the log"
		}
	}
	return ""
}
