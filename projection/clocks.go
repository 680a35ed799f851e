package projection

import (
	"cmp"
	"slices"

	"pairwalk/events"
)

// Laws of clocks.
const (
	// RhoPPM bounds how fast two devices' clocks drift apart from true time, each
	// (an assumption; crystals are commonly given as ± 20 to 100 ppm).
	RhoPPM = 200
	// BaseSlack is how far wall minus mono may move, in ms, and still count as the
	// same running of a clock.
	BaseSlack = 50
)

// Drift is how far two clocks may part over an age, in ms: 2ρ·age, rounded up.
func Drift(ageMs int64) int64 {
	if ageMs < 0 {
		ageMs = -ageMs
	}
	return (ageMs*2*RhoPPM + 999_999) / 1_000_000
}

// clocks maps every member's clock to site time as far as comparisons reach.
type clocks struct {
	reference events.Key
	runs      map[run][]anchor // by mono
}

// run is one boot of one member's device.
type run struct {
	member events.Key
	boot   string
}

// anchor is a look at a clock whose distance from site time is known: site time
// was wall + offset, within ± err.
type anchor struct {
	mono, base  int64
	offset, err int64 // ms
	placed      bool
}

// link is one comparison between two anchors, named by run and index.
type link struct {
	a, b  *anchor
	theta int64 // b's wall − a's wall
	err   int64 // δ/2, rounded up
}

// rounds bounds how many comparisons a path from the reference may run over.
const rounds = 8

func newClocks(reference events.Key, comparisons []*events.Event) clocks {
	c := clocks{reference, map[run][]anchor{}}
	byRun := map[run][]*anchor{}
	var links []link
	for _, e := range comparisons {
		p := e.Payload.(events.ClockCompared)
		mine := c.anchor(byRun, e.Member(), p.Mine)
		theirs := c.anchor(byRun, p.Other, p.Theirs)
		links = append(links, link{mine, theirs, p.Offset, (p.RoundTrip + 1) / 2})
	}
	for _, list := range byRun {
		slices.SortStableFunc(list, func(a, b *anchor) int { return cmp.Compare(a.mono, b.mono) })
	}
	for range rounds {
		changed := false
		for _, l := range links {
			changed = cross(l) || changed
		}
		for _, list := range byRun {
			changed = sweep(list) || changed
		}
		if !changed {
			break
		}
	}
	for r, list := range byRun {
		for _, a := range list {
			if a.placed {
				c.runs[r] = append(c.runs[r], *a)
			}
		}
	}
	return c
}

func (c *clocks) anchor(byRun map[run][]*anchor, member events.Key, r events.Reading) *anchor {
	a := &anchor{mono: r.Mono.Ms, base: int64(r.Wall) - r.Mono.Ms, placed: member == c.reference}
	key := run{member, r.Mono.Boot}
	byRun[key] = append(byRun[key], a)
	return a
}

// cross carries what is known at one end of a comparison to the other.
func cross(l link) bool {
	changed := false
	if l.a.placed {
		changed = l.b.improve(l.a.offset-l.theta, l.a.err+l.err)
	}
	if l.b.placed {
		changed = l.a.improve(l.b.offset+l.theta, l.b.err+l.err) || changed
	}
	return changed
}

// sweep carries what is known along one run, forward and back.
func sweep(list []*anchor) bool {
	changed := false
	for i := 1; i < len(list); i++ {
		changed = along(list[i-1], list[i]) || changed
	}
	for i := len(list) - 1; i > 0; i-- {
		changed = along(list[i], list[i-1]) || changed
	}
	return changed
}

func along(from, to *anchor) bool {
	if !from.placed || !sameBase(from.base, to.base) {
		return false
	}
	return to.improve(from.offset, from.err+Drift(to.mono-from.mono))
}

func sameBase(a, b int64) bool { return a-b <= BaseSlack && b-a <= BaseSlack }

func (a *anchor) improve(offset, err int64) bool {
	if a.placed && a.err <= err {
		return false
	}
	a.offset, a.err, a.placed = offset, err, true
	return true
}

// offset is site time minus a member's clock at one of its readings, within
// ± err ms, if known.
func (c *clocks) offset(member events.Key, s events.Stamp) (offset, err int64, known bool) {
	if member == c.reference {
		return 0, 0, true
	}
	list := c.runs[run{member, s.Mono.Boot}]
	for _, a := range list {
		if !s.Mono.Known() || !sameBase(a.base, s.Base()) {
			continue
		}
		if e := a.err + Drift(s.Mono.Ms-a.mono); !known || e < err {
			offset, err, known = a.offset, e, true
		}
	}
	return offset, err, known
}

// spoken is when an event was recorded, in site time as well as it is known.
func (c *clocks) spoken(e *events.Event) events.Instant {
	offset, _, _ := c.offset(e.Member(), e.Stamp())
	return e.Wall.At + events.Instant(offset)
}

// place puts what an event tells of into site time. The point of one logged as
// "now" may yet be pushed later by what its author had seen.
func (c *clocks) place(e *events.Event) Cause {
	offset, err, known := c.offset(e.Member(), e.Stamp())
	span := events.At(e.Wall.At)
	if e.When.Known {
		span = e.When.Value
	}
	shift, slack := events.Instant(offset), events.Instant(err)
	at := span.Middle() + shift
	return Cause{Event: e, At: at, Span: events.Interval{From: span.From + shift - slack, To: span.To + shift + slack}, Placed: known}
}
