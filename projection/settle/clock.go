package settle

import (
	"pairwalk/events"
	"pairwalk/projection"
)

// clock bounds, on this boot's mono, when things can have happened. All times are
// in ms.
type clock struct {
	self        events.Key
	now, opened events.Stamp
	receipt     func(events.Ref) (events.Stamp, bool)
	ties        []tie
}

// tie is a comparison that holds between us in this boot and another in one of
// theirs: our mono is their mono + shift, within ± slack at our mono at.
type tie struct {
	other events.Key
	boot  string
	base  int64 // their wall minus mono
	shift int64
	slack int64
	at    int64
}

// horizon is how far from now a comparison may carry anything: 2^40 ms, some 35
// years. It keeps sums with the numbers of a hostile clock within an int64.
const horizon = 1 << 40

func newClock(s *projection.Site, l Local) *clock {
	c := &clock{self: l.Self, now: l.Now, opened: l.Opened, receipt: l.Receipt}
	if c.receipt == nil {
		c.receipt = func(events.Ref) (events.Stamp, bool) { return events.Stamp{}, false }
	}
	for _, x := range s.Comparisons {
		switch c.self {
		case x.Compared.Member():
			c.tie(x.Other, x.Mine, x.Theirs, x.Offset, x.RoundTrip)
		case x.Other:
			c.tie(x.Compared.Member(), x.Theirs, x.Mine, -x.Offset, x.RoundTrip)
		}
	}
	return c
}

// tie keeps a comparison if our clock is running now as it was then. Offset is
// theirs minus ours.
func (c *clock) tie(other events.Key, ours, theirs events.Reading, offset, trip int64) {
	then, there := stampOf(ours), stampOf(theirs)
	if !c.thisBoot(then.Mono) || !sameBase(then, c.now) || trip > horizon {
		return
	}
	c.ties = append(c.ties, tie{
		other: other, boot: there.Mono.Boot, base: there.Base(),
		shift: there.Base() - offset - then.Base(), slack: (trip + 1) / 2, at: then.Mono.Ms,
	})
}

func stampOf(r events.Reading) events.Stamp {
	return events.Stamp{Wall: events.Wall{At: r.Wall}, Mono: r.Mono}
}

func sameBase(a, b events.Stamp) bool {
	d := a.Base() - b.Base()
	return d <= projection.BaseSlack && d >= -projection.BaseSlack
}

func (c *clock) thisBoot(m events.Mono) bool {
	return m.Known() && m.Boot == c.now.Mono.Boot
}

// act is something that an entry tells of: now, or at a typed time by the clock
// of its author.
type act struct {
	event *events.Event
	when  events.Maybe[events.Interval]
}

func actOf(c projection.Cause) act { return act{c.Event, c.Event.When()} }

// seen is an act and how it came here, which is looked up once for all that is told of
// it: a site has thousands of them.
type seen struct {
	act
	got  events.Stamp // when it came here, if it did
	came bool
}

func (c *clock) see(a act) seen {
	got, came := c.receipt(a.event.Ref())
	return seen{a, got, came}
}

// ours says whether an act was written here.
func (c *clock) ours(a seen) bool { return !a.came && a.event.Member() == c.self }

// mono is when it happened by its author's mono. Nothing is told before it
// happened, so it is never later than the entry.
func (a act) mono() (lo, hi int64) {
	said := a.event.Mono.Ms
	if !a.when.Known {
		return said, said
	}
	base := a.event.Stamp().Base()
	return min(int64(a.when.Value.From)-base, said), min(int64(a.when.Value.To)-base, said)
}

// bound says that something happened no later than at, known through clocks that
// may have drifted apart since.
type bound struct{ at, since int64 }

func upTo(mono int64) bound { return bound{mono, mono} }

// over is the first of our ms at which d has surely passed: the least t with
// t − 2ρ·(t − since) ≥ at + d.
func (b bound) over(d int64) int64 {
	const million = 1_000_000
	run := b.at + d - b.since
	left := int64(million - 2*projection.RhoPPM)
	return b.since + (run*million+left-1)/left
}

// over is the first of our ms at which d has surely passed since an act.
func (c *clock) over(a seen, d int64) int64 {
	if c.ours(a) {
		return c.own(a.act).over(d)
	}
	best := c.received(a).over(d)
	for _, t := range c.ties {
		if _, hi, ok := c.carry(t, a.act); ok {
			best = min(best, bound{hi + t.slack, min(hi, t.at)}.over(d))
		}
	}
	return best
}

// latest is the last of our ms at which an act can have happened. Unlike over it
// does not lean on now being later than what it was carried by.
func (c *clock) latest(a seen) int64 {
	if c.ours(a) {
		return c.own(a.act).at
	}
	best := c.received(a).at
	for _, t := range c.ties {
		if _, hi, ok := c.carry(t, a.act); ok {
			best = min(best, hi+t.slack+projection.Drift(t.at-hi))
		}
	}
	return best
}

func (c *clock) own(a act) bound {
	switch {
	case !c.thisBoot(a.event.Mono):
		return c.first()
	case sameBase(a.event.Stamp(), c.now):
		_, hi := a.mono()
		return upTo(hi)
	}
	return upTo(a.event.Mono.Ms)
}

func (c *clock) received(a seen) bound {
	switch {
	case !a.came:
		return upTo(c.now.Mono.Ms)
	case c.thisBoot(a.got.Mono):
		return upTo(a.got.Mono.Ms)
	}
	return c.first()
}

// first is when this boot first saw what earlier ones had left.
func (c *clock) first() bound {
	if c.thisBoot(c.opened.Mono) {
		return upTo(c.opened.Mono.Ms)
	}
	return upTo(c.now.Mono.Ms)
}

// carry takes an act over to our mono, before slack and drift, if the comparison
// holds for its author's clock as it was at the entry.
func (c *clock) carry(t tie, a act) (lo, hi int64, ok bool) {
	e := a.event
	if e.Member() != t.other || e.Mono.Boot != t.boot || e.Stamp().Base()-t.base > projection.BaseSlack || t.base-e.Stamp().Base() > projection.BaseSlack {
		return 0, 0, false
	}
	lo, hi = a.mono()
	lo, hi = lo+t.shift, hi+t.shift
	near := func(m int64) bool { return m > c.now.Mono.Ms-horizon && m < c.now.Mono.Ms+horizon }
	return lo, hi, near(lo) && near(hi) && near(t.at)
}

// earliest is the first of our ms at which an act can have happened, if anything
// says so.
func (c *clock) earliest(a seen) (mono int64, known bool) {
	if c.ours(a) {
		lo, _ := a.mono()
		return lo, c.thisBoot(a.event.Mono) && (!a.when.Known || sameBase(a.event.Stamp(), c.now))
	}
	for _, t := range c.ties {
		if lo, _, ok := c.carry(t, a.act); ok {
			lo -= t.slack + projection.Drift(c.now.Mono.Ms-min(lo, t.at))
			if !known || lo > mono {
				mono, known = lo, true
			}
		}
	}
	return mono, known
}

// span is when an act can have happened, by our ms.
type span struct {
	first events.Maybe[int64] // see earliest
	last  int64               // see latest
}

func (c *clock) span(a seen) span {
	out := span{last: c.latest(a)}
	if first, known := c.earliest(a); known {
		out.first = events.Some(first)
	}
	return out
}

// age is how long ago a look at our own clocks was, if that can be told. With no
// mono at all the wall has to do: nobody's ceiling falls in for a stale answer.
func (c *clock) age(s events.Stamp) (ms int64, known bool) {
	if !c.now.Mono.Known() && !s.Mono.Known() {
		ms = int64(c.now.Wall.At - s.Wall.At)
		return ms, ms >= 0
	}
	return c.now.Mono.Ms - s.Mono.Ms, c.thisBoot(s.Mono) && s.Mono.Ms <= c.now.Mono.Ms
}

// ago is a time that long before now, by our wall clock as it shows now.
func (c *clock) ago(ms int64) events.Instant { return c.now.Wall.At - events.Instant(ms) }

// wall is a time of our mono as our wall clock shows it now.
func (c *clock) wall(mono int64) events.Instant {
	return c.now.Wall.At + events.Instant(mono-c.now.Mono.Ms)
}
