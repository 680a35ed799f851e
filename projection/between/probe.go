package between

import (
	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// at is the facts on a rung.
func (l *ladder) at(i int) *table {
	r := &l.rungs[i]
	return l.ask(r, &r.after, r.when, r.laid)
}

// just is the same an instant before the entries of a rung: what time alone had
// done by then.
func (l *ladder) just(i int) *table {
	r := &l.rungs[i]
	return l.ask(r, &r.before, r.when-1, l.rungs[i-1].laid)
}

func (l *ladder) ask(r *rung, a *asked, when events.Instant, laid int) *table {
	if a.table == nil {
		if a.site == nil {
			l.cost++
			a.site = l.site(r, when)
		}
		nets := map[events.HubID]*mesh.Net{}
		a.table = l.c.names.newTable(a.site, func(hub events.HubID) *mesh.Net {
			if nets[hub] == nil {
				nets[hub] = l.groundOf(r, laid, a.site, hub).Net(a.site, mesh.What{})
			}
			return nets[hub]
		})
	}
	return a.table
}

// aged is the ways home as time alone would have them at the later moment: with
// what counted at the first moment, and nothing since.
func (l *ladder) aged() *table {
	if l.old == nil {
		view := []*events.Event{}
		for _, e := range l.c.h.Ordered() {
			if l.c.early.counts(e.Ref()) {
				view = append(view, e)
			}
		}
		l.old = &rung{view: view, when: l.c.late.Site.Moment.When.Value}
	}
	return l.ask(l.old, &l.old.after, l.old.when, 0)
}

func (l *ladder) site(r *rung, when events.Instant) *projection.Site {
	m := projection.At(when)
	if r.view != nil {
		h := &projection.History{Site: l.c.h.Site}
		for _, e := range r.view {
			h.Add(*e)
		}
		return h.At(m)
	}
	m.Known = l.c.late.Site.Moment.Known
	return l.c.h.At(m)
}

// lay is what a ground is the same for: nothing laid it anew, nobody was found in
// the field or paired elsewhere, and what was measured is not a day older.
type lay struct {
	hub                         events.HubID // whose ground alone it is; "" for all
	laid, devices, hubs, astray int
	day                         events.Instant
}

// groundOf surveys the ground of a rung, or of one hub there, unless one that is the
// same was. That of the two moments themselves is always surveyed.
func (l *ladder) groundOf(r *rung, laid int, s *projection.Site, hub events.HubID) *mesh.Ground {
	if len(r.entries) == 0 || r.view != nil {
		return l.survey(s, hub)
	}
	k := lay{hub: hub, laid: laid, devices: len(s.Devices), hubs: len(s.Hubs), day: s.Moment.When.Value / (24 * 3_600_000)}
	for i := range s.Devices {
		if d := &s.Devices[i]; d.Paired != nil && d.Paired.Hub != d.Hub {
			k.astray += i + 1
		}
	}
	if l.grounds[k] == nil {
		l.grounds[k] = l.survey(s, hub)
	}
	return l.grounds[k]
}

// survey mends the last ground that was of the same hub, or of all; the first of a hub
// is what the whole one has of it.
func (l *ladder) survey(s *projection.Site, hub events.HubID) *mesh.Ground {
	if l.last[""] == nil {
		l.last[""] = mesh.Survey(s)
	}
	if l.last[hub] == nil {
		l.last[hub] = l.last[""].Of(hub)
	}
	l.last[hub] = l.last[hub].Mend(s)
	return l.last[hub]
}
