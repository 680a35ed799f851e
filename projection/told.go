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
	all := h.Tell(m)
	out := make([]Told, all.Len())
	for i := range out {
		out[i] = all.At(i)
	}
	return out
}

// Telling is every entry of a view up to a moment, in the order of site time. What is
// told of one is worked out when it is asked for, so whoever reads the last page of a
// long log does not pay for all of it. It is good until more comes into the history.
type Telling struct {
	of    *timeline
	order []events.Number
}

// Tell tells the entries of a view up to When.
func (h *History) Tell(m Moment) Telling {
	t := h.view(m.Known)
	t.bringTelling()
	order := t.telling.order
	if m.When.Known {
		n, _ := slices.BinarySearchFunc(order, m.When.Value+1, func(n events.Number, at events.Instant) int { return cmp.Compare(t.laid.at(n).At, at) })
		order = order[:n]
	}
	return Telling{t, order}
}

// Len is how many entries there are.
func (x Telling) Len() int { return len(x.order) }

// Event is the entry of that number, from 0 on.
func (x Telling) Event(i int) *events.Event { return x.of.ranks.Event(x.order[i]) }

// Subjects is what the entry is about, by today's names.
func (x Telling) Subjects(i int) []events.Subject { return x.of.about(x.Event(i)) }

// Point is the entry's point in site time.
func (x Telling) Point(i int) events.Instant { return x.of.laid.at(x.order[i]).At }

// Stands says whether the entry is neither withdrawn nor quarantined.
func (x Telling) Stands(i int) bool { return x.of.laid.at(x.order[i]).counts() }

// At is the entry as it reads.
func (x Telling) At(i int) Told { return x.tell(x.order[i]) }

// Place is the number of the entry that ref names; false where none up to the moment is
// named so.
func (x Telling) Place(ref events.Ref) (int, bool) {
	n, held := x.of.find(ref)
	if !held {
		return 0, false
	}
	return slices.BinarySearchFunc(x.order, n, x.of.comparePoints)
}

// Holds says whether the view holds the entry that ref names, whatever its time.
func (x Telling) Holds(ref events.Ref) bool {
	_, held := x.of.find(ref)
	return held
}

// Of is the entry that ref names as it reads, whatever its time; false where the view
// does not hold it.
func (x Telling) Of(ref events.Ref) (Told, bool) {
	n, held := x.of.find(ref)
	if !held {
		return Told{}, false
	}
	return x.tell(n), true
}

func (x Telling) tell(n events.Number) Told {
	t, l := x.of, x.of.laid.at(n)
	e := l.Event
	told := Told{Cause: l.Cause, Said: l.said, By: t.nameOf(e), Quarantined: t.doubts[l.doubt], Subjects: t.about(e)}
	if v := t.withdrawn[l.void]; v != nil {
		told.Withdrawn = withdrawnWords(v)
	}
	return told
}

func withdrawnWords(v *void) string {
	if v.Note == "" {
		return string(v.Why)
	}
	return string(v.Why) + ": " + v.Note
}

// about lists an entry's subjects: those it names, and those of the entry that
// it speaks of.
func (t *timeline) about(e *events.Event) []events.Subject {
	subjects := t.telling.subjects(e)
	if ref, ok := spokenOf(e.Payload); ok {
		if target, found := t.find(ref); found {
			subjects = append(subjects, t.telling.subjects(t.ranks.Event(target))...)
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
