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
	names := t.names()
	var out []Told
	for i, e := range t.view {
		c := t.laid[i].Cause
		if m.When.Known && c.At > m.When.Value {
			continue
		}
		told := Told{Cause: c, Said: t.laid[i].said, By: t.nameOf(e), Quarantined: t.trust.quarantine(e), Subjects: t.about(e, names)}
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

// names follows renames to what each position is called at the end.
func (t *timeline) names() map[events.Tag]events.Tag {
	names := map[events.Tag]events.Tag{}
	for _, x := range t.facts {
		p, ok := x.Event.Payload.(events.DeviceRenamed)
		if !ok || x.void != nil || x.quarantined != "" {
			continue
		}
		for old, now := range names {
			if now == p.From {
				names[old] = p.To
			}
		}
		names[p.From] = p.To
	}
	return names
}

// about lists an entry's subjects: those it names, and those of the entry that
// it speaks of.
func (t *timeline) about(e *events.Event, names map[events.Tag]events.Tag) []events.Subject {
	subjects := slices.Clone(e.Payload.Subjects())
	if ref, ok := spokenOf(e.Payload); ok {
		if target, found := t.find(ref); found {
			subjects = append(subjects, target.Payload.Subjects()...)
		}
	}
	for i, s := range subjects {
		if tag, ok := s.Tag(); ok {
			if now, renamed := names[tag]; renamed {
				subjects[i] = events.Device(now)
			}
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
