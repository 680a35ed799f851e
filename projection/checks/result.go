package checks

import (
	"cmp"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// done is a test of a subject.
type done struct {
	of   events.Subject
	test events.TestKind
}

// tried is what came of one test of a subject.
type tried struct {
	test    events.TestKind
	results []Result // in order of time
	used    bool     // it belongs to some test of the book
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
	for _, list := range b.tried {
		slices.SortFunc(list, func(x, y tried) int {
			return cmp.Compare(slices.Index(events.TestKinds, x.test), slices.Index(events.TestKinds, y.test))
		})
		for _, x := range list {
			slices.SortStableFunc(x.results, byTime)
			link(x.results)
		}
	}
}

func (b *binder) note(test events.TestKind, r Result) {
	r.By = b.site.DoneBy(r.Done.Event)
	if x := b.of(r.Of, test); x != nil {
		x.results = append(x.results, r)
		return
	}
	x := tried{test: test, results: alone(&b.firsts, r)}
	if list := b.tried[r.Of]; list != nil {
		b.tried[r.Of] = append(list, x)
		return
	}
	b.tried[r.Of] = alone(&b.lists, x)
}

// alone is a list of one. Most subjects have one test, and that one result, so these lie
// in rows.
func alone[T any](row *[]T, x T) []T {
	const most = 128
	if len(*row) == cap(*row) {
		*row = make([]T, 0, most)
	}
	*row = append(*row, x)
	return slices.Clip((*row)[len(*row)-1:])
}

// of is what came of a test of a subject, nil where it was never done.
func (b *binder) of(x events.Subject, test events.TestKind) *tried {
	list := b.tried[x]
	for i := range list {
		if list[i].test == test {
			return &list[i]
		}
	}
	return nil
}

// resultsOf lists the results of a test of a subject, in order of time. They are
// shared by all tests that count them.
func (b *binder) resultsOf(x events.Subject, test events.TestKind) []Result {
	if t := b.of(x, test); t != nil {
		return slices.Clip(t.results)
	}
	return nil
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
	whole := b.resultsOf(t.Of, t.Test)
	if t.Of.Class != events.OfRoom || len(t.Devices) == 0 {
		t.Results, t.State = whole, stateOf(whole)
		return
	}
	all := [][]Result{whole}
	t.State = Passed
	for _, tag := range t.Devices {
		own := b.resultsOf(events.Device(tag), t.Test)
		all = append(all, own)
		t.State = worse(t.State, stateOf(together(whole, own)))
	}
	t.Results = together(all...)
}

// together puts results of several subjects in order of time. Those of one alone are
// as they were.
func together(lists ...[]Result) []Result {
	lists = slices.DeleteFunc(lists, func(rs []Result) bool { return len(rs) == 0 })
	switch len(lists) {
	case 0:
		return nil
	case 1:
		return lists[0]
	}
	out := slices.Concat(lists...)
	slices.SortStableFunc(out, byTime)
	link(out)
	return out
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
	for i := range rs {
		rs[i].Repeats = events.Ref{}
		if i > 0 && !rs[i-1].Pass {
			rs[i].Repeats = rs[i-1].Done.Ref()
		}
	}
}
