package settle

import (
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// powered adds the returns of power that restart a wait, and blocks while power
// is off in the middle of one.
func (m *matter) powered(starts []start) []start {
	for i, cut := range m.hub.Power {
		if cut.On || !m.during(starts, cut.Cause) {
			continue
		}
		if back, on := restored(cut, m.hub.Power[i+1:]); on {
			a := actOf(back.Cause)
			starts = append(starts, start{act: a, cause: back.Cause, over: m.clock.over(a, m.settle)})
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

// during says whether a cut fell, or may have fallen, into one of the waits.
func (m *matter) during(starts []start, cut projection.Cause) bool {
	first, known := m.clock.earliest(actOf(cut))
	for _, s := range starts {
		if known && s.over <= first {
			continue
		}
		lo, hi, told := between(s, cut)
		if !told || hi >= 0 && lo < m.settle+projection.Drift(m.settle) {
			return true
		}
	}
	return false
}

// between bounds the ms from the start of a wait to a later thing, if the two can
// be told apart: by the author's mono within one boot, else in site time.
func between(s start, c projection.Cause) (lo, hi int64, known bool) {
	from, to := s.event, c.Event
	if from.Mono.Known() && from.Member() == to.Member() && from.Mono.Boot == to.Mono.Boot {
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
	dark := map[events.Ref][]*projection.Device{}
	for _, d := range m.paired {
		if d.Dark == nil {
			continue
		}
		ref := d.Dark.Ref()
		if len(dark[ref]) == 0 {
			cuts = append(cuts, *d.Dark)
		}
		dark[ref] = append(dark[ref], d)
	}
	for _, cut := range cuts {
		list := dark[cut.Ref()]
		about, names := tagsOf(list)
		of := cut.Event.Payload.Subjects()[0]
		if slices.ContainsFunc(list, (*projection.Device).IsRouter) && m.during(starts, cut) {
			m.because(Blocked, PowerOff, fmt.Sprintf("the power is off at %s while devices settle: log power on when it is back; the wait starts again then", of.Words()), append(about, of), cut.Ref())
			continue
		}
		m.because(Ready, PowerOff, fmt.Sprintf("%s will miss a push: the power is off at %s", names, of.Words()), append(about, of), cut.Ref())
	}
}
