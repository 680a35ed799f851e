package settle

import (
	"fmt"

	"pairwalk/events"
	"pairwalk/projection"
)

// start is something a settle wait runs from, and the first of our ms at which
// it is surely over.
type start struct {
	act
	cause   projection.Cause
	pairing *projection.Pairing // nil for a told one and for power
	told    *projection.Asking
	over    int64
	span
}

// wait finds the last wait to end.
func (m *matter) wait() (events.Maybe[events.Instant], *projection.Pairing) {
	starts := m.powered(m.starts())
	if len(starts) == 0 {
		return events.Maybe[events.Instant]{}, nil
	}
	last := starts[0]
	for _, s := range starts {
		if s.over > last.over {
			last = s
		}
	}
	if !m.clock.now.Mono.Known() {
		m.because(Wait, NoClock, "this device has no clock that counts from its start, so it can't prove that the wait is over: let a colleague's device judge, or time it by a watch", nil, last.event.Ref())
		return events.Maybe[events.Instant]{}, last.pairing
	}
	left := last.over - m.clock.now.Mono.Ms
	if left <= 0 {
		return events.Maybe[events.Instant]{}, nil
	}
	about, words := m.startWords(last)
	m.because(Wait, Settling, fmt.Sprintf("wait %s more: %s; star devices and other hubs need no wait", spell(left), words), about, last.event.Ref())
	return events.Some(m.clock.wall(last.over)), last.pairing
}

func (m *matter) startWords(s start) ([]events.Subject, string) {
	by := m.site.DoneBy(s.event)
	switch {
	case s.pairing != nil:
		return []events.Subject{events.Device(s.pairing.Device)}, fmt.Sprintf("%s was paired by %s", s.pairing.Device, by)
	case s.told != nil:
		return []events.Subject{events.Member(s.told.Member)}, m.site.MemberName(s.told.Member) + " told of a pairing"
	case s.event.Understood():
		return s.event.Payload.Subjects()[:1], "the power came back at " + s.event.Payload.Subjects()[0].Words()
	}
	return []events.Subject{events.Member(s.event.Member())}, by + " logged a pairing that is not understood here"
}

// starts lists what the wait counts.
func (m *matter) starts() []start {
	out := make([]start, 0, len(m.hub.Pairings)+len(m.hub.Asked))
	add := func(s start) { out = append(out, m.timed(s)) }
	for i := range m.hub.Pairings {
		if p := &m.hub.Pairings[i]; counts(m.site, p) {
			add(start{act: actOf(p.Cause), cause: p.Cause, pairing: p})
		}
	}
	for i := range m.hub.Asked {
		if t := &m.hub.Asked[i]; t.Last.Known {
			add(start{act: act{t.Event, t.Last}, told: t})
		}
	}
	unread := func(e *events.Event) {
		if e.Kind() == "device.paired" && !e.Understood() {
			add(start{act: act{event: e, when: e.When()}})
		}
	}
	for _, e := range m.site.NotUnderstood {
		unread(e)
	}
	for _, q := range m.site.Quarantined {
		unread(q.Event)
		if p, told := q.Event.Payload.(events.MemberAsked); told && p.Hub == m.hub.Hub && p.Last.Known {
			t := &projection.Asking{Cause: q.Cause, Member: p.Member, Last: p.Last, Through: p.Through}
			add(start{act: act{t.Event, t.Last}, told: t})
		}
	}
	return out
}

// timed tells when a wait began and is over, by our own ms.
func (m *matter) timed(s start) start {
	a := m.clock.see(s.act)
	s.over, s.span = m.clock.over(a, m.settle), m.clock.span(a)
	return s
}

// counts says whether a settle wait has to count a pairing.
func counts(s *projection.Site, p *projection.Pairing) bool {
	switch {
	case withdrawn(p):
		return false
	case p.Radio != events.Star:
		return true
	}
	d, known := s.Device(p.Device)
	return known && d.Radio != events.Star
}

// withdrawn says whether the one person who can know says that it did not happen.
func withdrawn(p *projection.Pairing) bool {
	return p.Void != nil && p.Void.Own && p.Void.Why == events.DidNotHappen
}
