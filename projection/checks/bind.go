package checks

import (
	"cmp"
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// binder makes a book of a site.
type binder struct {
	site    *projection.Site
	floors  map[events.RoomID]events.FloorID // of every room there is
	shapes  map[events.RoomID]string         // their geometry
	inRoom  map[events.RoomID][]*projection.Device
	plans   map[done]*projection.Plan
	sensors map[done][]events.Tag // by room and test
	tried   map[events.Subject][]tried
	firsts  []Result                    // the last row of first results of tests
	lists   []tried                     // the last row of first tests of subjects
	usual   map[events.TestKind][]Limit // of tests that nobody planned
	tests   []Test                      // of every room, one after the other
}

// Of says what a site owes, which sample is drawn and what came of the tests.
// What was owed at each signature needs the history; see [At].
func Of(s *projection.Site) Book {
	b := &binder{
		site: s, floors: map[events.RoomID]events.FloorID{}, shapes: map[events.RoomID]string{},
		inRoom: map[events.RoomID][]*projection.Device{}, plans: map[done]*projection.Plan{},
		sensors: map[done][]events.Tag{}, tried: make(map[events.Subject][]tried, len(s.Devices)), usual: map[events.TestKind][]Limit{},
		tests: make([]Test, 0, len(s.Devices)+len(s.Rooms)), // a paired device is to answer
	}
	b.places()
	b.results()
	book := Book{Site: s, Rule: ruleOf(s), Remarks: []string{remarkTimeSwitch}}
	book.Groups = draw(book.Rule, s.ID, b.occupantSensors())
	book.Rooms = b.owing(book.Groups)
	for _, r := range book.Rooms {
		book.Owed += r.Owed()
	}
	for _, x := range s.Signed {
		book.Signed = append(book.Signed, Signed{Signature: x, By: s.DoneBy(x.Signed.Event)})
	}
	return book
}

const remarkTimeSwitch = "Time switches stand on no schedule. Where there are any, plan their test: pairwalk log planned ROOM --test time-switch"

func ruleOf(s *projection.Site) Rule {
	return Rule{
		All: s.Settings.Int(events.SampleAll), Share: s.Settings.Int(events.SamplePercent), Widen: s.Settings.Int(events.SampleWiden),
		Source: fmt.Sprintf("%s, as the settings %s, %s and %s have it", fromSampling, events.SampleAll, events.SamplePercent, events.SampleWiden),
	}
}

// places notes which rooms there are, where, and what is in them.
func (b *binder) places() {
	s := b.site
	for _, r := range s.Rooms {
		b.floors[r.Room], b.shapes[r.Room] = r.Floor, r.Geometry
	}
	for i := range s.Devices {
		d := &s.Devices[i]
		if d.Struck != nil {
			continue
		}
		if d.Room != "" {
			b.floors[d.Room] = cmp.Or(b.floors[d.Room], d.Floor)
		}
		b.inRoom[d.Room] = append(b.inRoom[d.Room], d)
		for _, test := range testsOfSensor(d) {
			k := done{events.Room(d.Room), test}
			b.sensors[k] = append(b.sensors[k], d.Device)
		}
	}
	for i := range s.Plans {
		p := &s.Plans[i]
		b.plans[done{events.Room(p.Room), p.Test}] = p // the last one stands
		b.floors[p.Room] = cmp.Or(b.floors[p.Room], "")
	}
}

// occupantSensors lists what the sample is drawn from.
func (b *binder) occupantSensors() []sensor {
	var all []sensor
	for i := range b.site.Devices {
		d := &b.site.Devices[i]
		if d.Struck != nil {
			continue
		}
		for _, test := range testsOfSensor(d) {
			if test == events.TestDaylight {
				continue
			}
			x := sensor{tag: d.Device, first: d.Device, alike: alike{test, d.Maker, d.Model, d.Type, cmp.Or(d.Geometry, b.shapes[d.Room])}}
			if len(d.Was) > 0 {
				x.first = d.Was[0]
			}
			t := b.testOfSensor(d, test)
			x.passed = t.State == Passed
			x.failed = slices.ContainsFunc(t.Results, func(r Result) bool { return !r.Pass })
			all = append(all, x)
		}
	}
	return all
}

// testOfSensor is the test of one sensor: of its room where it is the only one of
// that test there, so that a test of the room is one of it; else its own.
func (b *binder) testOfSensor(d *projection.Device, kind events.TestKind) Test {
	t := Test{Of: events.Device(d.Device), Room: d.Room, Test: kind, Devices: []events.Tag{d.Device}}
	if d.Room != "" && len(b.sensors[done{events.Room(d.Room), kind}]) == 1 {
		t.Of = events.Room(d.Room)
	}
	b.judge(&t)
	return t
}
