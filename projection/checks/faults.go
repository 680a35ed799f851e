package checks

import (
	"strings"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
)

// Trouble is a fault as people ask after it.
type Trouble struct {
	projection.Fault
	Room   events.RoomID
	Floor  events.FloorID
	Place  events.Maybe[events.Point]
	State  FaultState
	By     string // who found it
	Age    int    // whole days it stood since it was first found, up to the moment or to where it was cleared
	Steps  []Step // oldest first
	Photos []projection.Photo
}

// FaultState says how far a fault has come.
type FaultState string

// The states of a fault. One that was assigned anew after it was reopened is
// assigned.
const (
	Open     FaultState = "open"
	Assigned FaultState = "assigned"
	Cleared  FaultState = "cleared"
	Reopened FaultState = "reopened"
)

// Step is one thing that was said of a fault.
type Step struct {
	What  string // found, assigned, cleared, reopened
	Done  projection.Cause
	By    string
	Words string
}

const day = 24 * time.Hour

// Faults lists every fault of a site, in the order they were found.
func Faults(s *projection.Site) []Trouble {
	out := make([]Trouble, len(s.Faults))
	for i, f := range s.Faults {
		out[i] = TroubleOf(s, f)
	}
	return out
}

// TroubleOf tells one fault of a site.
func TroubleOf(s *projection.Site, f *projection.Fault) Trouble {
	t := Trouble{Fault: *f, By: s.DoneBy(f.Found.Event), State: Open}
	until := s.Moment.When.Value
	for _, c := range f.Steps {
		x := Step{Done: *c, By: s.DoneBy(c.Event)}
		x.What, x.Words, t.State = told(c.Event.Payload)
		t.Steps = append(t.Steps, x)
	}
	if f.Cleared != nil {
		until, t.State = f.Cleared.At, Cleared
	}
	t.Age = max(0, int(until.Sub(f.Found.At)/day))
	t.Floor, t.Room, t.Place = where(s, f.Of)
	for _, p := range s.Photos {
		if p.Of == f.Of && !f.Found.After(p.Added) && (f.Cleared == nil || !p.Added.After(*f.Cleared)) {
			t.Photos = append(t.Photos, p)
		}
	}
	return t
}

// told is what an entry says of a fault, and how far that brings it.
func told(p events.Payload) (what, words string, state FaultState) {
	switch p := p.(type) {
	case events.FaultFound:
		return "found", said(p.Symptom, string(p.Severity), p.Trade, p.Owner, p.Action), Open
	case events.FaultAssigned:
		return "assigned", said("", "", p.Trade, p.Owner, p.Action), Assigned
	case events.FaultCleared:
		return "cleared", p.Action, Cleared
	case events.FaultReopened:
		return "reopened", p.Why, Reopened
	}
	return "", "", Open
}

func said(symptom, severity, trade, owner, action string) string {
	var out []string
	for _, x := range []struct{ name, words string }{{"", symptom}, {"", severity}, {"trade: ", trade}, {"", owner + " has it"}, {"to do: ", action}} {
		if x.words != "" && x.words != " has it" {
			out = append(out, x.name+x.words)
		}
	}
	return strings.Join(out, "; ")
}

// where says on which floor, in which room and at what place a subject is, as far
// as that is known.
func where(s *projection.Site, of events.Subject) (floor events.FloorID, room events.RoomID, place events.Maybe[events.Point]) {
	if tag, ok := of.Tag(); ok {
		if d, known := s.Device(tag); known {
			floor, room, place = d.Floor, d.Room, d.Place
		}
	} else if id, ok := of.Hub(); ok {
		if h, known := s.Hub(id); known {
			floor, room, place = h.Floor, h.Room, h.Place
		}
	}
	switch of.Class {
	case events.OfFloor:
		floor = events.FloorID(of.ID)
	case events.OfRoom:
		room = events.RoomID(of.ID)
	case events.OfWall:
		for _, w := range s.Walls {
			if w.Wall == of.ID {
				floor = w.Floor
			}
		}
	}
	for _, r := range s.Rooms {
		if floor == "" && room != "" && r.Room == room {
			floor = r.Floor
		}
	}
	return floor, room, place
}
