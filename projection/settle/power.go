package settle

import (
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// powered adds the returns of power that restart a wait, and blocks while power
// is off in the middle of one. A return may begin a wait that another cut falls
// into, and by wrong clocks that one may be listed before it.
func (m *matter) powered(starts []start) []start {
	counted := make([]bool, len(m.hub.Power))
	for more := true; more; {
		more = false
		for i, cut := range m.hub.Power {
			if counted[i] || cut.On {
				continue
			}
			back, on := restored(cut, m.hub.Power[i+1:])
			if on && m.during(starts, cut.Cause, false) {
				starts = append(starts, m.timed(start{act: actOf(back.Cause), cause: back.Cause}))
				counted[i], more = true, true
			}
		}
	}
	m.dark(starts)
	return starts
}

// restored finds what ended a cut: the next return of what was cut, else the last
// return of anything, since a circuit may be cut and its devices called back one
// by one.
func restored(cut projection.PowerChange, later []projection.PowerChange) (back projection.PowerChange, on bool) {
	for _, change := range later {
		if !change.On {
			continue
		}
		back, on = change, true
		if change.Of == cut.Of {
			break
		}
	}
	return back, on
}

// during says whether a cut fell, or may have fallen, into one of the waits. What
// our mono cannot tell counts, unless site time may say: a clock set to another
// time can fool that one, so it has a say only where a cut that lasts would
// otherwise keep a push back for good.
func (m *matter) during(starts []start, cut projection.Cause, bySite bool) bool {
	at := m.cut(cut)
	return slices.ContainsFunc(starts, func(s start) bool {
		if at.first.Known && upTo(s.last).over(m.settle) <= at.first.Value || before(cut, at.last, s) {
			return false
		}
		lo, hi, told := between(s, cut)
		if told && (sameBoot(s.event, cut.Event) || bySite && !at.first.Known) {
			return hi >= 0 && lo < m.settle+projection.Drift(m.settle)
		}
		return true
	})
}

// cut is when a cut can have been. It is asked for each device that the cut keeps dark.
func (m *matter) cut(c projection.Cause) span {
	at, told := m.cuts[c.Event]
	if !told {
		at = m.clock.span(m.clock.see(actOf(c)))
		m.cuts[c.Event] = at
	}
	return at
}

// before says whether a cut surely came before the start of a wait: its author
// said so first, or our mono tells. Last is the latest it can have been.
func before(cut projection.Cause, last int64, s start) bool {
	if cut.Event.Feed == s.event.Feed && cut.Event.Seq < s.event.Seq && !s.when.Known {
		return true
	}
	return s.first.Known && last < s.first.Value
}

func sameBoot(a, b *events.Event) bool {
	return a.Mono.Known() && a.Member() == b.Member() && a.Mono.Boot == b.Mono.Boot
}

// between bounds the ms from the start of a wait to a later thing, if the two can
// be told apart: by the author's mono within one boot, else in site time.
func between(s start, c projection.Cause) (lo, hi int64, known bool) {
	if sameBoot(s.event, c.Event) {
		aLo, aHi := s.mono()
		bLo, bHi := actOf(c).mono()
		return bLo - aHi, bHi - aLo, true
	}
	if s.cause.IsZero() {
		return 0, 0, false
	}
	aLo, aHi := spanOf(s.cause)
	bLo, bHi := spanOf(c)
	return int64(bLo - aHi), int64(bHi - aLo), s.cause.Placed && c.Placed
}

// spanOf is when something happened in site time. What its author had seen may
// put it later than their own clock says.
func spanOf(c projection.Cause) (lo, hi events.Instant) {
	lo, hi = c.Span.From, max(c.Span.To, c.At)
	if c.At > c.Span.To {
		lo = c.At
	}
	return lo, hi
}

// dark blocks a push while power is off in the middle of a wait, and remarks on
// what will miss it otherwise.
func (m *matter) dark(starts []start) {
	for _, c := range m.site.Circuits {
		if c.ID == m.hub.Circuit && c.Off != nil {
			m.because(Blocked, PowerOff, fmt.Sprintf("%s has no power: log power on at circuit %s when it is back", m.hub.Hub, c.ID), []events.Subject{events.Circuit(c.ID)}, c.Off.Ref())
		}
	}
	var cuts []projection.Cause
	dark, inWait := map[events.Ref][]*projection.Device{}, map[events.Ref]bool{}
	for _, d := range m.paired {
		if d.Dark == nil {
			continue
		}
		cut, during := m.darkSince(d, starts)
		ref := cut.Ref()
		if len(dark[ref]) == 0 {
			cuts = append(cuts, cut)
		}
		dark[ref] = append(dark[ref], d)
		inWait[ref] = inWait[ref] || during
	}
	for _, cut := range cuts {
		about, names := tagsOf(dark[cut.Ref()])
		of := cut.Event.Payload.Subjects()[0]
		if inWait[cut.Ref()] {
			m.because(Blocked, PowerOff, fmt.Sprintf("the power is off at %s while devices settle: log power on when it is back; the wait starts again then", of.Words()), append(about, of), cut.Ref())
			continue
		}
		m.because(Ready, PowerOff, fmt.Sprintf("%s will miss a push: the power is off at %s", names, of.Words()), append(about, of), cut.Ref())
	}
}

// darkSince is what keeps a device dark: of the cuts that nothing has ended, one
// that took a router of the mesh in the middle of a wait, else the last.
func (m *matter) darkSince(d *projection.Device, starts []start) (cut projection.Cause, inWait bool) {
	if !d.IsRouter() {
		return *d.Dark, false
	}
	for i := range m.hub.Power {
		c := &m.hub.Power[i]
		if !c.On && !ended(c, d, m.hub.Power[i+1:]) && m.feeds(c, d) && m.during(starts, c.Cause, true) {
			return c.Cause, true
		}
	}
	return *d.Dark, m.during(starts, *d.Dark, true)
}

// ended says whether something later gave a device the power back that a cut took.
func ended(cut *projection.PowerChange, d *projection.Device, later []projection.PowerChange) bool {
	for i := range later {
		if x := &later[i]; x.On && (x.Of == cut.Of || x.Of == events.Device(d.Device)) {
			return true
		}
	}
	return false
}

// feeds says whether a cut is one of what feeds a device.
func (m *matter) feeds(c *projection.PowerChange, d *projection.Device) bool {
	if tag, ok := c.Of.Tag(); ok {
		return tag == d.Device
	}
	for i := range m.site.Circuits {
		if x := &m.site.Circuits[i]; events.Circuit(x.ID) == c.Of {
			return slices.Contains(x.Feeds, d.Device)
		}
	}
	return false
}
