package projection

import (
	"maps"
	"slices"

	"pairwalk/events"
)

// always is what a view says of every moment alike, because it hangs on who said
// what and had seen what, and not on when things happened. It takes a look at
// every entry, so it is worked out once for a view.
type always struct {
	heads         map[events.FeedID]events.Head
	quarantined   []Doubt
	notUnderstood []*events.Event
	ahead         []Anomaly // entries of clocks that go before the others
	conflicts     []found   // of feeds, invites, members and clocks
	comparisons   []Comparison
	last          events.Instant // when the last entry was recorded
}

// always works it out where that was not done since the view last grew.
func (t *timeline) always() *always {
	if t.forGood == nil {
		a := &always{heads: headsOf(t.view), ahead: t.aheads()}
		a.conflicts = slices.Concat(t.forkConflicts(), t.inviteConflicts(), t.pastConflicts(), t.clockConflicts())
		for _, e := range t.view {
			if why := t.trust.quarantine(e); why != "" {
				a.quarantined = append(a.quarantined, Doubt{t.cause(e), why})
			} else if !e.Understood() {
				a.notUnderstood = append(a.notUnderstood, e)
			}
		}
		for _, e := range t.comparisons() {
			a.comparisons = append(a.comparisons, Comparison{e.Payload.(events.ClockCompared), t.cause(e)})
		}
		for i := range t.laid {
			a.last = max(a.last, t.laid[i].said)
		}
		t.forGood = a
	}
	return t.forGood
}

// tellAlways puts it into a site's facts, as a copy of their own.
func (f *fold) tellAlways() {
	a, s := f.always(), f.site
	s.Heads, s.Gaps = maps.Clone(a.heads), maps.Clone(f.gaps)
	s.Quarantined = slices.Clone(a.quarantined)
	s.NotUnderstood = slices.Clone(a.notUnderstood)
	s.Comparisons = slices.Clone(a.comparisons)
	f.odd = append(f.odd, a.ahead...)
}
