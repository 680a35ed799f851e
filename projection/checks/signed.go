package checks

import (
	"pairwalk/events"
	"pairwalk/projection"
)

// At is [Of] at a moment, with what was still owed at each signature. A signature
// is judged by what is known at the moment asked for, as it stood when it was made.
func At(h *projection.History, m projection.Moment) Book {
	b := Of(h.At(m))
	for i := range b.Signed {
		b.Signed[i].weigh(h.At(projection.Moment{When: events.Some(b.Signed[i].Signed.At), Known: m.Known}))
	}
	return b
}

// weigh notes what was owed of what was signed for.
func (x *Signed) weigh(then *projection.Site) {
	for _, r := range Of(then).Rooms {
		for _, t := range r.Tests {
			if t.Owed() && covers(then, x.Of, r, t) {
				x.Left = append(x.Left, t)
			}
		}
	}
	x.Owed = events.Some(len(x.Left))
	for _, f := range Faults(then) {
		if f.Fault.Open() && coversFault(then, x.Of, f) {
			x.Open = append(x.Open, f.Fault)
		}
	}
}

// covers says whether a signature for a subject is one for a test.
func covers(s *projection.Site, of events.Subject, r Room, t Test) bool {
	switch of.Class {
	case events.OfSite:
		return true
	case events.OfFloor:
		return of.ID == string(r.Floor)
	case events.OfRoom:
		return of.ID == string(r.Room)
	case events.OfHub:
		return onHub(s, t.Of, events.HubID(of.ID))
	}
	return of == t.Of
}

func coversFault(s *projection.Site, of events.Subject, f Trouble) bool {
	switch of.Class {
	case events.OfSite:
		return true
	case events.OfFloor:
		return of.ID == string(f.Floor)
	case events.OfRoom:
		return of.ID == string(f.Room)
	case events.OfHub:
		return f.Of == of || onHub(s, f.Of, events.HubID(of.ID))
	}
	return of == f.Of
}

// onHub says whether a device, or any device of a room, belongs to a hub.
func onHub(s *projection.Site, of events.Subject, hub events.HubID) bool {
	for i := range s.Devices {
		d := &s.Devices[i]
		here := events.Device(d.Device) == of || of.Class == events.OfRoom && string(d.Room) == of.ID
		if here && d.Struck == nil && (d.Hub == hub || d.Paired != nil && d.Paired.Hub == hub) {
			return true
		}
	}
	return false
}
