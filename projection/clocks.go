package projection

import (
	"cmp"
	"iter"
	"slices"
	"sort"

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
func Drift(ageMs int64) int64 { return slackOver(ageMs).up() }

// slack is an uncertainty in millionths of a ms, so that none is added by
// rounding on the way.
type slack int64

// useless is a slack that says nothing any more: a year.
const useless = slack(366 * 24 * 3600 * 1_000 * 1_000_000)

func slackOver(ageMs int64) slack { return slack(max(ageMs, -ageMs)) * 2 * RhoPPM }

// slackOf is half a round trip; more than a year is as bad as a year.
func slackOf(roundTrip int64) slack {
	if roundTrip > int64(2*useless/1_000_000) {
		return useless
	}
	return slack(roundTrip) * 500_000
}

// up is whole ms, rounded up.
func (s slack) up() int64 { return int64((s + 999_999) / 1_000_000) }

// clocks maps every member's clock to site time as far as comparisons reach.
type clocks struct {
	reference events.Key
	eras      eras
	runs      map[stretch][]anchor // those that are placed, by mono
	dials     []dial               // by the numbers of feeds
}

// run is one boot of one member's device.
type run struct {
	member events.Key
	boot   string
}

// stretch is a run with nobody setting the clock, or setting it back.
type stretch struct {
	member events.Key
	likeness
}

// anchor is a look at a clock. Where placed, site time was wall + offset, within
// ± err, by site time's own clock as it ran in one era.
type anchor struct {
	mono, base int64
	offset     int64 // ms
	err        slack
	era        *era
	placed     bool
}

// link is one comparison between two anchors.
type link struct {
	a, b  *anchor
	theta int64 // b's wall − a's wall
	err   slack // δ/2
}

// rounds bounds how many comparisons a path from the reference may run over.
const rounds = 8

func newClocks(reference events.Key, readings iter.Seq[events.Stamp], comparisons []*events.Event) clocks {
	c := clocks{reference: reference, eras: newEras(readings), runs: map[stretch][]anchor{}}
	byRun := map[run][]*anchor{}
	links := make([]link, len(comparisons))
	for i, e := range comparisons {
		p := e.Payload.(events.ClockCompared)
		links[i] = link{c.anchor(byRun, e.Member(), p.Mine), c.anchor(byRun, p.Other, p.Theirs), p.Offset, slackOf(p.RoundTrip)}
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
				at := stretch{r.member, likenessOf(r.boot, a.base)}
				c.runs[at] = append(c.runs[at], *a)
			}
		}
	}
	return c
}

func (c *clocks) anchor(byRun map[run][]*anchor, member events.Key, r events.Reading) *anchor {
	a := &anchor{mono: r.Mono.Ms, base: int64(r.Wall) - r.Mono.Ms}
	if member == c.reference {
		a.era, a.placed = c.eras.of(r.Mono.Boot, a.base), true
	}
	key := run{member, r.Mono.Boot}
	byRun[key] = append(byRun[key], a)
	return a
}

// cross carries what is known at one end of a comparison to the other.
func cross(l link) bool {
	changed := false
	if l.a.placed {
		changed = l.b.improve(l.a.offset-l.theta, l.a.err+l.err, l.a.era)
	}
	if l.b.placed {
		changed = l.a.improve(l.b.offset+l.theta, l.b.err+l.err, l.b.era) || changed
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
	err, ok := from.reaches(to.base, to.mono)
	return ok && to.improve(from.offset, err, from.era)
}

// reaches says how well an anchor places another reading of its clock, if the
// clock was the same then, and site time's too.
func (a *anchor) reaches(base, mono int64) (slack, bool) {
	if !a.placed || !sameBase(a.base, base) {
		return 0, false
	}
	err := a.err + min(slackOver(mono-a.mono), useless)
	return err, err < useless && a.era.ranAt(base+mono+a.offset, err)
}

func sameBase(a, b int64) bool { return a-b <= BaseSlack && b-a <= BaseSlack }

func (a *anchor) improve(offset int64, err slack, by *era) bool {
	if a.placed && a.err <= err || err >= useless {
		return false
	}
	a.offset, a.err, a.era, a.placed = offset, err, by, true
	return true
}

// offset is site time minus a member's clock at one of its readings, within
// ± err ms, if known.
func (c *clocks) offset(member events.Key, s events.Stamp) (offset, err int64, known bool) {
	if member == c.reference {
		return 0, 0, true
	}
	if !s.Mono.Known() {
		return 0, 0, false
	}
	looks := c.looksNear(member, s)
	return readOff(&looks, s)
}

// looksNear lists the looks at a member's clock as it ran at one of its readings.
func (c *clocks) looksNear(member events.Key, s events.Stamp) [3][]anchor {
	near := likenessOf(s.Mono.Boot, s.Base())
	var out [3][]anchor
	for i, d := range []int64{-1, 0, 1} {
		out[i] = c.runs[stretch{member, likeness{near.boot, near.base + d}}]
	}
	return out
}

// readOff takes the look that places a reading best.
func readOff(looks *[3][]anchor, s events.Stamp) (offset, err int64, known bool) {
	least := useless
	for _, list := range looks {
		near := nearest(list, s)
		for i := range near {
			a := &near[i]
			if e, ok := a.reaches(s.Base(), s.Mono.Ms); ok && e < least {
				offset, least, known = a.offset, e, true
			}
		}
	}
	if !known {
		return 0, 0, false
	}
	return offset, least.up(), true
}

// dial is the looks at the clock of a feed as it ran at its last entry: at the
// next it will have run on as a rule.
type dial struct {
	likeness
	read  bool
	looks [3][]anchor
}

// offsetIn is offset for an entry of a feed.
func (c *clocks) offsetIn(feed int, e *events.Event) (offset, err int64, known bool) {
	s := e.Stamp()
	if e.Member() == c.reference {
		return 0, 0, true
	}
	if !s.Mono.Known() {
		return 0, 0, false
	}
	for feed >= len(c.dials) {
		c.dials = append(c.dials, dial{})
	}
	d := &c.dials[feed]
	if like := likenessOf(s.Mono.Boot, s.Base()); !d.read || d.likeness != like {
		*d = dial{like, true, c.looksNear(e.Member(), s)}
	}
	return readOff(&d.looks, s)
}

// nearest finds the anchors of a clock next to a reading of it, before and after.
// Sweeping has told them what those farther off know.
func nearest(list []anchor, s events.Stamp) []anchor {
	after := sort.Search(len(list), func(i int) bool { return list[i].mono >= s.Mono.Ms })
	return list[max(after-1, 0):min(after+1, len(list))]
}

// place puts what an event tells of into site time, and gives the offset of its
// author's clock. The point of one logged as "now" may yet be pushed later by what
// its author had seen.
func (c *clocks) place(x *Cause, feed int) events.Instant {
	e := x.Event
	offset, err, known := c.offsetIn(feed, e)
	span := events.At(e.Wall.At)
	if e.When().Known {
		span = e.When().Value
	}
	shift, slack := events.Instant(offset), events.Instant(err)
	x.At, x.Placed = span.Middle()+shift, known
	x.Span = events.Interval{From: span.From + shift - slack, To: span.To + shift + slack}
	return shift
}
