package projection

import (
	"maps"
	"slices"

	"pairwalk/events"
)

// always is what a view says of every moment alike, because it hangs on who said
// what and had seen what, and not on when things happened. It takes a look at
// every entry once, and goes on from there when more come.
type always struct {
	heads         heads
	quarantined   []Doubt
	notUnderstood []*events.Event
	ahead         *ahead // entries of clocks that go before the others; nil where not all is read
	steps         steps  // of clocks
	conflicts     []found
	comparisons   []Comparison
}

// always works it out where that was not done.
func (t *timeline) always() *always {
	if t.forGood == nil {
		a := &always{heads: newHeads(t.ranks), steps: newSteps(t)}
		if t.passed == nil {
			a.ahead = newAhead(t)
		}
		for _, n := range t.order {
			a.take(t, n)
			if e := t.ranks.Event(n); t.laid.at(n).doubt == 0 && !e.Understood() {
				a.notUnderstood = append(a.notUnderstood, e)
			}
		}
		a.conflicts = slices.Concat(t.forkConflicts(), t.inviteConflicts(), t.pastConflicts())
		if a.ahead != nil {
			a.ahead.readAll(t.order)
		}
		for _, e := range t.comparisons() {
			a.comparisons = append(a.comparisons, Comparison{e.Payload.(events.ClockCompared), t.cause(e)})
		}
		t.forGood = a
	}
	return t.forGood
}

func (a *always) take(t *timeline, n events.Number) {
	x := t.laid.at(n)
	a.heads.take(n)
	if a.ahead != nil {
		a.ahead.list(n)
	}
	if x.doubt != 0 {
		a.quarantined = append(a.quarantined, Doubt{x.Cause, t.doubts[x.doubt]})
	} else {
		a.steps.take(n)
	}
}

// goOnAlways takes in more entries that reach back nowhere.
func (t *timeline) goOnAlways(fresh []events.Number) {
	a := t.forGood
	if a == nil {
		return
	}
	last := t.order[len(t.order)-1]
	doubted := len(a.quarantined)
	a.quarantined = slices.Clip(a.quarantined)
	for _, n := range fresh {
		a.take(t, n)
	}
	if len(a.quarantined) > doubted {
		slices.SortFunc(a.quarantined, func(x, y Doubt) int { return compareRecords(&x.Cause, &y.Cause) })
	}
	for _, n := range fresh {
		if a.ahead != nil && a.ahead.read(n) && n != last { // an older one may have shown what a newer one did
			t.forGood = nil
			return
		}
	}
}

// tellAlways puts it into a site's facts.
func (f *fold) tellAlways() {
	a, s := f.always(), f.site
	s.Heads, s.Gaps = a.heads.named(), maps.Clone(f.gaps)
	s.Quarantined = slices.Clip(a.quarantined)
	s.NotUnderstood = slices.Clip(a.notUnderstood)
	s.Comparisons = slices.Clip(a.comparisons)
	if a.ahead != nil {
		f.ends = append(f.ends, a.ahead.found...)
	}
}
