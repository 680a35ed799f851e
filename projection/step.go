package projection

import (
	"fmt"
	"time"

	"pairwalk/events"
)

// steps finds clocks that were set while their feed was going on. A comparison
// since then cures it, except for site time's own clock.
type steps struct {
	*timeline
	limit int64           // ms
	last  []*events.Event // of each feed, by their numbers
	found []found
}

func newSteps(t *timeline) steps {
	return steps{timeline: t, limit: t.settings.Span(events.ClockStep, time.Second).Milliseconds()}
}

// take looks at the next entry of a feed that counts.
func (x *steps) take(n events.Number) {
	e, at := x.ranks.Event(n), x.ranks.Feed(n)
	if !e.Mono.Known() {
		return
	}
	for at >= len(x.last) {
		x.last = append(x.last, nil)
	}
	before := x.last[at]
	x.last[at] = e
	if before == nil || e.Mono.Boot != before.Mono.Boot {
		return
	}
	step := e.Stamp().Base() - before.Stamp().Base()
	if step <= x.limit && step >= -x.limit {
		return
	}
	_, _, compared := x.clocks.offset(e.Member(), e.Stamp())
	c := NewConflict(ClockStepped, e.Member().Short(), []events.Subject{events.Member(e.Member())}, before, e)
	c.Why = fmt.Sprintf("the clock of %s moved by %s between two entries", x.memberName(e.Member()), time.Duration(step)*time.Millisecond)
	c.Stands = "each entry by the clock as it was then"
	x.found = append(x.found, found{c, compared && e.Member() != x.clocks.reference})
}
