package projection

import (
	"cmp"
	"slices"

	"pairwalk/events"
)

// Told is one entry of the log as it reads at a moment, whether it is folded or
// not.
type Told struct {
	Cause
	Said        events.Instant   // when it was recorded, in site time
	Subjects    []events.Subject // what it is about, by today's names
	By          string           // who did it
	Withdrawn   string           // why it was voided, "" if it stands
	Quarantined string           // why it does not count, "" if it does
}

// Told lists every entry of a view up to When, in the order of site time.
func (h *History) Told(m Moment) []Told {
	t := h.view(m.Known)
	subjects := t.subjects()
	var out []Told
	for i, e := range t.view {
		c := t.laid[i].Cause
		if m.When.Known && c.At > m.When.Value {
			continue
		}
		told := Told{Cause: c, Said: t.laid[i].said, By: t.nameOf(e), Quarantined: t.trust.quarantine(e), Subjects: t.about(e, subjects)}
		if v := t.voidOf(e); v != nil {
			told.Withdrawn = withdrawnWords(v)
		}
		out = append(out, told)
	}
	slices.SortStableFunc(out, func(a, b Told) int { return cmp.Compare(a.At, b.At) })
	return out
}

func withdrawnWords(v *void) string {
	if v.Note == "" {
		return string(v.Why)
	}
	return string(v.Why) + ": " + v.Note
}

// subjects lists what each field fact names, by what its positions are called at
// the end. It goes through the facts in their order, so that an old tag given to
// a new position means the one it meant then.
func (t *timeline) subjects() map[*events.Event][]events.Subject {
	called := map[events.Tag]*events.Tag{} // what the position of a tag is called at the end
	type mention struct {
		of  *events.Subject
		now *events.Tag
	}
	var mentions []mention
	all := make(map[*events.Event][]events.Subject, len(t.facts))
	for _, x := range t.facts {
		subjects := slices.Clone(x.Event.Payload.Subjects())
		all[x.Event] = subjects
		counts := x.void == nil && x.quarantined == ""
		p, renames := x.Event.Payload.(events.DeviceRenamed)
		if _, listed := x.Event.Payload.(events.DeviceListed); listed && counts {
			if tag, _ := subjects[0].Tag(); called[tag] != nil && *called[tag] != tag {
				delete(called, tag)
			}
		}
		if renames && counts {
			now := called[p.From]
			if now == nil {
				now = new(events.Tag)
			}
			*now = p.To
			called[p.From], called[p.To] = now, now
		}
		for i, s := range subjects {
			tag, isDevice := s.Tag()
			if isDevice && called[tag] == nil {
				called[tag] = &tag
			}
			if isDevice {
				mentions = append(mentions, mention{&subjects[i], called[tag]})
			}
		}
	}
	for _, m := range mentions {
		*m.of = events.Device(*m.now)
	}
	return all
}

// about lists an entry's subjects: those it names, and those of the entry that
// it speaks of.
func (t *timeline) about(e *events.Event, named map[*events.Event][]events.Subject) []events.Subject {
	subjects := slices.Clone(e.Payload.Subjects())
	if at, field := named[e]; field {
		subjects = slices.Clone(at)
	}
	if ref, ok := spokenOf(e.Payload); ok {
		if target, found := t.find(ref); found {
			if at, field := named[target]; field {
				return append(subjects, at...)
			}
			subjects = append(subjects, target.Payload.Subjects()...)
		}
	}
	return subjects
}

// spokenOf is the entry that a payload is about, if it is about one.
func spokenOf(p events.Payload) (events.Ref, bool) {
	switch p := p.(type) {
	case events.EventVoided:
		return p.Event, true
	case events.FaultAssigned:
		return p.Fault, true
	case events.FaultCleared:
		return p.Fault, true
	case events.FaultReopened:
		return p.Fault, true
	}
	return events.Ref{}, false
}
