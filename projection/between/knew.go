package between

import (
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// Reading is a log as it reads at a moment: every entry in view with its two
// times, and who is known to have had it by then.
//
// When something happened and who knew of it are two questions. The first is the
// point of an entry in site time, with the span around it where a time was typed
// or a clock is in doubt. The second is answered by heads: a member is known to
// have an entry from the first of their own entries that had seen it. They may
// have heard earlier and said nothing, so the time is the latest at which they
// can first have known; and of who said nothing since, nothing is shown either
// way.
type Reading struct {
	Site *projection.Site // the facts of the moment

	h     *projection.History
	all   projection.Telling              // the view, also past the moment, in the order of site time
	upto  int                             // how many of all are up to the moment
	crew  []events.Key                    // members in good standing who are people, by name
	told  map[events.Ref]*projection.Told // those looked at
	known map[events.Ref]Entry
}

// Entry is one entry with its two times, and who knew.
type Entry struct {
	projection.Told        // when it happened (At, Span), when it was recorded (Said), who did it (By)
	Knew            []Knew // in the order of time
	NotKnown        []events.Key
}

// Knew is by when a member is first known to have had an entry.
type Knew struct {
	Member events.Key
	At     events.Instant // site time, where Placed
	Placed bool           // the clock of who shows it is known against site time
	Shown  events.Ref     // their entry that shows it
}

// Read reads a log at a moment.
func Read(h *projection.History, m projection.Moment) *Reading { return ReadSite(h, h.At(m)) }

// ReadSite is Read where the facts of the moment are folded already.
func ReadSite(h *projection.History, s *projection.Site) *Reading {
	r := &Reading{Site: s, h: h, told: map[events.Ref]*projection.Told{}, known: map[events.Ref]Entry{}}
	r.all = h.Tell(projection.Moment{Known: s.Moment.Known})
	r.upto = h.Tell(s.Moment).Len()
	for i := range s.Members {
		if m := &s.Members[i]; good(m) && m.Role != events.RelayRole {
			r.crew = append(r.crew, m.Key)
		}
	}
	slices.SortStableFunc(r.crew, func(a, b events.Key) int { return events.ByName(s.MemberName(a), s.MemberName(b)) })
	return r
}

func good(m *projection.Member) bool {
	return m.Standing == projection.Admitted || m.Standing == projection.Provisional
}

// Entries lists the refs of the view up to the moment, in the order of site time.
func (r *Reading) Entries() []events.Ref {
	out := make([]events.Ref, r.upto)
	for i := range out {
		out[i] = r.all.Event(i).Ref()
	}
	return out
}

// look is an entry of the view, whatever its time; nil where the view does not hold
// it.
func (r *Reading) look(ref events.Ref) *projection.Told {
	t, looked := r.told[ref]
	if !looked {
		if x, held := r.all.Of(ref); held {
			t = &x
		}
		r.told[ref] = t
	}
	return t
}

// Told is an entry of the view without who knew, whatever its time.
func (r *Reading) Told(ref events.Ref) (projection.Told, bool) {
	t := r.look(ref)
	if t == nil {
		return projection.Told{}, false
	}
	return *t, true
}

// Entry is an entry of the view with its two times and who knew; false where the
// view does not hold it.
func (r *Reading) Entry(ref events.Ref) (Entry, bool) {
	if e, ok := r.known[ref]; ok {
		return e, true
	}
	t := r.look(ref)
	if t == nil {
		return Entry{}, false
	}
	e := Entry{Told: *t}
	e.Knew, e.NotKnown = r.heard(ref)
	r.known[ref] = e
	return e, true
}

// heard lists who is known to have an entry by the moment, as far as the view
// shows it, and of whom nothing shows it.
func (r *Reading) heard(ref events.Ref) (knew []Knew, not []events.Key) {
	first := map[events.Key]Knew{}
	for _, x := range r.h.HeardOf(ref) {
		shown := x.By.Ref()
		t := r.look(shown)
		if t == nil || t.Said > r.Site.Moment.When.Value {
			continue
		}
		who := x.Member
		if was, ok := first[who]; !ok || t.Said < was.At {
			first[who] = Knew{who, t.Said, t.Placed, shown}
		}
	}
	for _, k := range r.crew {
		if x, ok := first[k]; ok {
			knew = append(knew, x)
		} else {
			not = append(not, k)
		}
	}
	slices.SortStableFunc(knew, func(a, b Knew) int { return int(min(max(a.At-b.At, -1), 1)) })
	return knew, not
}
