package checks

import (
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// done is a test of a subject.
type done struct {
	of   events.Subject
	test events.TestKind
}

// results lists every check of the site by what was tested, in order of time.
func (b *binder) results() {
	s := b.site
	for _, c := range s.Checks {
		b.note(c.Test, Result{
			Of: c.Of, Pass: c.Pass, Reading: c.Reading, Instrument: c.Instrument, Limit: c.Limit, Note: c.Note,
			Done: c.Done, Stale: b.stale(c.Of, c.Done),
		})
	}
	for i := range s.Devices {
		if d := &s.Devices[i]; d.Heard != nil && d.Paired != nil { // forgotten by the fold at the next pairing
			b.note(events.TestAnswer, Result{Of: events.Device(d.Device), Pass: true, Note: "its hub was seen to hear it", Done: *d.Heard})
		}
	}
	for _, rs := range b.done {
		slices.SortStableFunc(rs, byTime)
	}
}

func (b *binder) note(test events.TestKind, r Result) {
	r.By = b.site.DoneBy(r.Done.Event)
	k := done{r.Of, test}
	b.done[k] = append(b.done[k], r)
}

func byTime(x, y Result) int {
	switch {
	case x.Done.After(y.Done):
		return 1
	case y.Done.After(x.Done):
		return -1
	}
	return 0
}

// stale says why a check does not count any more: a device that was tested, or
// that is in the room, has been paired, reset, replaced or pushed since.
func (b *binder) stale(of events.Subject, at projection.Cause) string {
	var devices []*projection.Device
	if tag, ok := of.Tag(); ok {
		if d, known := b.site.Device(tag); known {
			devices = append(devices, d)
		}
	} else if of.Class == events.OfRoom {
		devices = b.inRoom[events.RoomID(of.ID)]
	}
	for _, d := range devices {
		if c, what := touched(d); c != nil && c.After(at) {
			return string(d.Device) + " was " + what + " since"
		}
	}
	return ""
}

// touched is what last made earlier tests of a device worth nothing.
func touched(d *projection.Device) (last *projection.Cause, what string) {
	newer := func(c *projection.Cause, w string) {
		if c != nil && (last == nil || c.After(*last)) {
			last, what = c, w
		}
	}
	newer(d.Replaced, "replaced") // which also unpairs it
	newer(d.Unpaired, "reset or removed")
	if d.Paired != nil {
		newer(&d.Paired.Cause, "paired")
	}
	if d.Pushed != nil {
		newer(&d.Pushed.Cause, "pushed")
	}
	return last, what
}

// judge fills in the results of a test and what they come to. A result of the
// room is one of each device that the test is about; where there are none, the
// room's own count. The worst of them is the state.
func (b *binder) judge(t *Test) {
	whole := b.done[done{t.Of, t.Test}]
	t.Results = slices.Clone(whole)
	if t.Of.Class != events.OfRoom || len(t.Devices) == 0 {
		t.State = stateOf(whole)
		link(t.Results)
		return
	}
	t.State = Passed
	for _, tag := range t.Devices {
		own := b.done[done{events.Device(tag), t.Test}]
		t.Results = append(t.Results, own...)
		both := slices.Concat(whole, own)
		slices.SortStableFunc(both, byTime)
		t.State = worse(t.State, stateOf(both))
	}
	slices.SortStableFunc(t.Results, byTime)
	link(t.Results)
}

// stateOf is what results in order of time come to: the last that counts decides,
// and a failure is not forgotten for what came after it and counts no more.
func stateOf(rs []Result) State {
	state := Owed
	for _, r := range rs {
		switch {
		case r.Stale == "" && r.Pass:
			state = Passed
		case r.Stale == "":
			state = Failed
		case !r.Pass || state == Owed:
			state = Stale
		}
	}
	return state
}

// worse is the state that wants more doing.
func worse(a, b State) State {
	order := []State{Passed, Stale, Owed, Failed}
	return order[max(slices.Index(order, a), slices.Index(order, b))]
}

// link notes which results repeat a failure: the one just before them.
func link(rs []Result) {
	for i := 1; i < len(rs); i++ {
		if before := rs[i-1]; !before.Pass {
			rs[i].Repeats = before.Done.Ref()
		}
	}
}
