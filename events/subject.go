package events

import (
	"fmt"
	"strings"
)

// Class says what sort of thing a Subject names.
type Class string

// The classes of subject.
const (
	OfSite    Class = "site"
	OfMember  Class = "member"
	OfHub     Class = "hub"
	OfDevice  Class = "device"
	OfCircuit Class = "circuit"
	OfRoom    Class = "room"
	OfFloor   Class = "floor"
	OfWall    Class = "wall"
)

var classes = []Class{OfSite, OfMember, OfHub, OfDevice, OfCircuit, OfRoom, OfFloor, OfWall}

// Subject is something on a site that an event can be about. It is comparable.
type Subject struct {
	Class Class
	ID    string
}

// Device, Hub, Circuit, Room, Floor and Member make subjects of ids.
func Device(t Tag) Subject           { return Subject{OfDevice, string(t)} }
func Hub(h HubID) Subject            { return Subject{OfHub, string(h)} }
func Circuit(c CircuitID) Subject    { return Subject{OfCircuit, string(c)} }
func Room(r RoomID) Subject          { return Subject{OfRoom, string(r)} }
func Floor(f FloorID) Subject        { return Subject{OfFloor, string(f)} }
func Member(k Key) Subject           { return Subject{OfMember, string(k)} }
func Site() Subject                  { return Subject{OfSite, "site"} }
func wall(id string) Subject         { return Subject{OfWall, id} }
func devices(tags ...Tag) []Subject  { return each(tags, Device) }
func (s Subject) Tag() (Tag, bool)   { return Tag(s.ID), s.Class == OfDevice }
func (s Subject) Hub() (HubID, bool) { return HubID(s.ID), s.Class == OfHub }

func each[T any](in []T, to func(T) Subject) []Subject {
	out := make([]Subject, len(in))
	for i, v := range in {
		out[i] = to(v)
	}
	return out
}

// String is class:id, as on the wire.
func (s Subject) String() string { return string(s.Class) + ":" + s.ID }

// Words names the subject as people do: "2-114", "circuit C3-7".
func (s Subject) Words() string {
	switch s.Class {
	case OfDevice, OfHub:
		return s.ID
	case OfSite:
		return "the site"
	case OfMember:
		return "member " + Key(s.ID).Short()
	}
	return string(s.Class) + " " + s.ID
}

// MarshalText lets a Subject stand in JSON as class:id.
func (s Subject) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// ParseSubject reads what String writes.
func ParseSubject(text string) (Subject, error) {
	class, id, ok := strings.Cut(text, ":")
	if !ok {
		return Subject{}, fmt.Errorf("read subject %q: not class:id", clip(text))
	}
	if err := oneOf(classes...)(class); err != nil {
		return Subject{}, fmt.Errorf("read subject: %w", err)
	}
	if err := named(id); err != nil {
		return Subject{}, fmt.Errorf("read subject %q: id %w", clip(text), err)
	}
	return Subject{Class(class), id}, nil
}

// subject is a required field that names one.
func subject(w *walk, name string, s *Subject) {
	if !w.need(name) {
		return
	}
	t := s.String()
	w.str(name, &t, func(t string) error { _, err := ParseSubject(t); return err })
	if w.reading && w.err == nil {
		*s, w.err = ParseSubject(t)
	}
}
