package between

import (
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
)

// records lists what was said about the log itself between the two moments, which
// applies to every moment and so is no difference of facts: who joined and left,
// settings, conflicts resolved, and entries from before that were withdrawn.
func (c *comparison) records(in scope) []Change {
	var out []Change
	for i := range c.late.all.Len() {
		e := c.late.all.Event(i)
		if !e.Kind().IsRecord() || !c.late.all.Stands(i) || !c.between(e.Ref()) {
			continue
		}
		ref, t := e.Ref(), c.late.look(e.Ref())
		for _, x := range c.record(t) {
			if in.holds(key{of: x.Of}, t.Subjects) {
				x.Cause = c.entry(ref)
				x.Why = none(x.Why, c.unheard(x.Cause))
				out = append(out, x)
			}
		}
	}
	return out
}

// between says whether a record was made after the first moment and not after the
// second, or was not known at the first.
func (c *comparison) between(ref events.Ref) bool {
	said := c.late.look(ref).Said
	if said > c.late.Site.Moment.When.Value {
		return false
	}
	return !c.early.all.Holds(ref) || said > c.early.Site.Moment.When.Value
}

func (c *comparison) record(t *projection.Told) []Change {
	switch p := t.Event.Payload.(type) {
	case events.MemberJoined:
		return c.member(t, p.Key, "no member", fmt.Sprintf("joined as %s", p.Role))
	case events.MemberAdmitted:
		return c.member(t, p.Key, string(projection.Provisional), string(projection.Admitted))
	case events.MemberRevoked:
		return c.member(t, p.Key, string(projection.Admitted), "revoked: "+p.Why)
	case events.SettingsChanged:
		return c.settings(t, p)
	case events.ConflictResolved:
		return c.resolved(t, p)
	case events.EventVoided:
		return c.voided(t, p)
	}
	return nil
}

// member is a turn in somebody's standing, if it is the one that counts.
func (c *comparison) member(t *projection.Told, k events.Key, before, after string) []Change {
	m, ok := c.late.Site.Member(k)
	if !ok || m.Joined.Event != t.Event && m.Decided.Event != t.Event {
		return nil
	}
	return []Change{{Of: events.Member(k), What: Membering, Before: before, After: after}}
}

// settings compares what an entry set with what was set before it.
func (c *comparison) settings(t *projection.Told, p events.SettingsChanged) []Change {
	var out []Change
	for k, v := range p.Set {
		known, applies := events.SettingFor(k)
		if !applies || c.late.Site.Settings.Event(k) != t.Event {
			continue // a later one counts, which is told too if it is from between
		}
		was := known.Default
		for _, e := range c.h.Ordered() {
			if e == t.Event {
				break
			}
			if q, sets := e.Payload.(events.SettingsChanged); sets && c.late.counts(e.Ref()) {
				was = none(q.Set[k], was)
			}
		}
		if was != v {
			out = append(out, Change{Of: events.Site(), What: Setting, Before: string(k) + " " + dash(was), After: string(k) + " " + dash(v)})
		}
	}
	return out
}

// resolved is a conflict that somebody closed, if theirs is the resolution that
// counts.
func (c *comparison) resolved(t *projection.Told, p events.ConflictResolved) []Change {
	for _, r := range c.late.Site.Resolved {
		if r.Ref() != t.Ref() {
			continue
		}
		x := Change{What: Conflict, Of: c.clash(p.Key), Before: "open: " + p.Key, After: "resolved: " + p.Why}
		stands := p.Stands
		if was, known := c.openBefore(r); known {
			x.Before = "open: " + was.Why
			for _, o := range was.Offers {
				if o.Stands == p.Stands {
					stands = o.Words
				}
			}
		}
		if stands != "" {
			x.After += "; what stands: " + stands
		}
		return []Change{x}
	}
	return nil
}

// clash is whom a conflict is about. Its key names it as it was then called.
func (c *comparison) clash(k string) events.Subject {
	parts := strings.SplitN(k, ":", 2)
	about := parts[len(parts)-1]
	if i := strings.LastIndex(about, ":"); i >= 0 {
		about = about[:i]
	}
	for _, s := range []*projection.Site{c.late.Site, c.early.Site} {
		if now, ok := c.names.today(s)[events.Tag(about)]; ok {
			return events.Device(now)
		}
		for i := range s.Devices {
			if d := &s.Devices[i]; calledOnce(d, events.Tag(about)) || string(d.Serial) == about {
				return events.Device(c.names.today(s)[d.Device])
			}
		}
		if _, ok := s.Hub(events.HubID(about)); ok {
			return events.Hub(events.HubID(about))
		}
	}
	return events.Site()
}

// voided is an entry from up to the first moment that counted then, as far as
// anybody knew, and is withdrawn by now.
func (c *comparison) voided(t *projection.Told, p events.EventVoided) []Change {
	gone := c.late.look(p.Event)
	if gone == nil || gone.Withdrawn == "" || gone.Event.Kind().IsRecord() || gone.At > c.early.Site.Moment.When.Value {
		return nil
	}
	if !c.early.all.Holds(p.Event) || gone.Said > c.early.Site.Moment.When.Value {
		return nil // nobody believed it then
	}
	x := Change{What: Withdrawn, Of: c.names.first(p.Event), Before: gone.Event.Payload.String(), After: "withdrawn: " + gone.Withdrawn}
	if again, ok := c.corrected(t, gone); ok {
		x.After = "corrected: " + again.Event.Payload.String()
	}
	return []Change{x}
}

// corrected is the entry that puts a withdrawn one right: of the same kind, by
// whoever withdrew it, and either their next one or about the same.
func (c *comparison) corrected(t, gone *projection.Told) (*projection.Told, bool) {
	p, _ := t.Event.Payload.(events.EventVoided)
	if p.Why != events.WrongDetail {
		return nil, false
	}
	for _, e := range c.h.Ordered() {
		if e.Feed != t.Event.Feed || e.Seq <= t.Event.Seq || e.Kind() != gone.Event.Kind() {
			continue
		}
		x := c.late.look(e.Ref())
		if x == nil || x.Withdrawn != "" {
			continue
		}
		if e.Seq == t.Event.Seq+1 || slices.Equal(x.Subjects, gone.Subjects) {
			return x, true
		}
	}
	return nil, false
}
