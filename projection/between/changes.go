package between

import (
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// What is the sort of thing that differs.
type What string

// What may differ, in the order in which it is told of one subject.
const (
	Listed    What = "listed" // on the schedule, struck, and what its row says
	Renamed   What = "name"
	Placed    What = "placed"
	Ready     What = "ready" // of a hub: ready, lost
	State     What = "state"
	Serial    What = "serial"
	OnHub     What = "hub"
	Channel   What = "channel" // of a hub; of a device, the one it knows its hub on
	Program   What = "program" // on a hub; of a device, the one it took
	Missed    What = "missed"
	Heard     What = "heard"
	Mark      What = "mark" // refused, skipped and what else a device is marked with
	Power     What = "power"
	Path      What = "path"
	Hold      What = "hold"
	Fault     What = "fault"
	Conflict  What = "conflict"
	Check     What = "check"
	Planned   What = "planned"
	Measured  What = "measured"
	Assigned  What = "assigned"
	Records   What = "records" // exported, merged
	Noted     What = "note"
	Photo     What = "photo"
	Signed    What = "signed"
	Drawing   What = "drawing"
	Surveyed  What = "survey"
	Membering What = "member"
	Setting   What = "setting"
	Withdrawn What = "withdrawn" // believed at the first moment, and taken back since
)

var whats = []What{
	Listed, Renamed, Placed, Ready, State, Serial, OnHub, Channel, Program, Missed, Heard, Mark, Power, Path, Hold, Fault,
	Conflict, Check, Planned, Measured, Assigned, Records, Noted, Photo, Signed, Drawing, Surveyed, Membering, Setting, Withdrawn,
}

// About narrows a question to a floor, hub, room, circuit or device, by today's
// name; the zero value is the whole site. Of a device it takes in what the device
// hangs on: its hub, its circuit, and the holds that touch it.
type About events.Subject

// Whole says whether the question is not narrowed.
func (a About) Whole() bool { return a == About{} || a == About(events.Site()) }

// Change is one fact that is not the same at two moments.
type Change struct {
	Of     events.Subject // by today's name
	What   What
	Before string // in words
	After  string
	Cause  Entry  // the entry that did it; its Event is nil where no single one did
	Why    string // how the cause did it, or why there is none; "" where it is the entry's own word
	Words  string // the whole of it, without who knew
	Knew   string // the cause's two times and who knew, in words; "" without a cause
}

// Changes lists everything that differs between two moments, by the entries that
// did it. Who knew is told up to the later of the two. Where from is after to, it
// reads backwards: Before is what was later.
//
// Moments may differ in whose knowledge they ask for: what one member did not know
// is what differs from a moment as known to them to the same one as known here.
func Changes(h *projection.History, from, to projection.Moment, about About) []Change {
	c := compare(h, from, to)
	if c.early.Site.Moment.When.Value > c.late.Site.Moment.When.Value {
		back := Changes(h, to, from, about)
		for i := range back {
			x := &back[i]
			x.Before, x.After = x.After, x.Before
			x.Words = changeWords(x)
		}
		return back
	}
	in := c.scope(about)
	out := append(c.differences(in), c.records(in)...)
	for i := range out {
		x := &out[i]
		x.Words = changeWords(x)
		if !x.Cause.IsZero() {
			x.Knew = c.teller(x.Cause).Words(x.Cause)
		}
	}
	slices.SortStableFunc(out, byEntry)
	return out
}

// comparison is two moments side by side.
type comparison struct {
	h           *projection.History
	early, late *Reading
	names       *names
	ladder      *ladder
	taken       map[events.Ref]events.Ref       // see voids
	spoken      map[events.Subject][]events.Ref // see news
}

func compare(h *projection.History, from, to projection.Moment) *comparison {
	c := &comparison{h: h, names: namesOf(h)}
	c.early, c.late = Read(h, from), Read(h, to)
	return c
}

// teller is the reading that tells of an entry: the later one, unless it does not
// hold it.
func (c *comparison) teller(e Entry) *Reading {
	if c.late.all.Holds(e.Ref()) {
		return c.late
	}
	return c.early
}

// entry reads an entry where it is held.
func (c *comparison) entry(ref events.Ref) Entry {
	if e, ok := c.late.Entry(ref); ok {
		return e
	}
	e, _ := c.early.Entry(ref)
	return e
}

// news says whether an entry did not yet count at the first moment.
func (c *comparison) news(ref events.Ref) bool { return !c.early.counts(ref) }

// counts says whether an entry is folded at the moment of a reading.
func (r *Reading) counts(ref events.Ref) bool {
	t := r.look(ref)
	return t != nil && t.Withdrawn == "" && t.Quarantined == "" && (t.Event.Kind().IsRecord() || t.At <= r.Site.Moment.When.Value)
}
