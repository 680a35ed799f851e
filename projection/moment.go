package projection

import (
	"cmp"

	"pairwalk/events"
)

// Moment is the question every view answers: as of when, and as known to whom.
// The zero value asks for everything known here, up to the last entry.
type Moment struct {
	When  events.Maybe[events.Instant] // site time; field facts after it are left out
	Known Known
}

// Known narrows a view to what one member had taken in. The zero value is
// everything known here.
type Known struct {
	Member events.Key
	At     events.Maybe[events.Instant] // site time; unset: by their last entry
}

// Everything says whether k does not narrow the view.
func (k Known) Everything() bool { return k.Member == "" }

// At is the moment t, as everything known here tells it.
func At(t events.Instant) Moment { return Moment{When: events.Some(t)} }

// Cause is the entry behind a fact, and what is known of its time.
type Cause struct {
	Event  *events.Event
	At     events.Instant  // its point in site time
	Span   events.Interval // site time it happened in, where Placed
	Placed bool            // its author's clock is known against site time

	late *events.Rank // its place in record order, where that is not its clock's; nil for most
}

// After says whether c is folded after o; both are field facts of one [Site].
func (c Cause) After(o Cause) bool {
	return comparePoints(&c, &o) > 0
}

// comparePoints puts entries in the order in which they are folded.
func comparePoints(a, b *Cause) int {
	if c := cmp.Compare(a.At, b.At); c != 0 {
		return c
	}
	return compareRecords(a, b)
}

// compareRecords puts entries in record order.
func compareRecords(a, b *Cause) int {
	if c := a.rank().Compare(b.rank()); c != 0 {
		return c
	}
	return events.CompareTied(a.Event, b.Event)
}

// rank is an entry's place in record order.
func (c *Cause) rank() events.Rank {
	switch {
	case c.late != nil:
		return *c.late
	case c.Event == nil:
		return events.Rank{}
	}
	return c.Event.HLC
}

// Ref names the entry.
func (c Cause) Ref() events.Ref { return c.Event.Ref() }

// Member is who recorded it.
func (c Cause) Member() events.Key { return c.Event.Member() }

// IsZero says whether there is no entry.
func (c Cause) IsZero() bool { return c.Event == nil }
