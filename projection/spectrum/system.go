package spectrum

import (
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/storey"
)

// system is a hub that speaks mesh with all that is on its mesh: what has to be on
// one channel. Devices count where they are paired, else where they are scheduled.
type system struct {
	hub     *projection.Hub
	now     int // its present channel, 0 if the log has none
	paired  int // mesh devices
	members []member
	levels  []int // on which it has members, rising, each once
	storeys []layer
	placed  []member
}

// member is the hub itself or a mesh device.
type member struct {
	at    events.Maybe[events.Point]
	floor events.FloorID // "" unknown
	level int            // if it has a place
}

// layer is the places of a system's members on one level.
type layer struct {
	level  int
	places []events.Point
}

// systems lists the systems of a site, in the order of its hubs, and the hubs that
// speak no mesh.
func systems(s *projection.Site) (list []*system, starOnly []events.HubID) {
	t := storey.Of(s)
	of := map[events.HubID]*system{}
	for i := range s.Hubs {
		h := &s.Hubs[i]
		switch {
		case h.Struck != nil:
			continue
		case h.Radio == events.Star:
			starOnly = append(starOnly, h.Hub)
			continue
		}
		x := &system{hub: h, now: h.Channels[events.Mesh].Number}
		x.add(t, h.Place, h.Floor, h.Room)
		list, of[h.Hub] = append(list, x), x
	}
	for i := range s.Devices {
		d := &s.Devices[i]
		id := d.Hub
		if d.Paired != nil {
			id = d.Paired.Hub
		}
		x := of[id]
		if x == nil || d.Struck != nil || d.Radio == events.Star || !d.Is.Pairs() {
			continue
		}
		x.add(t, d.Place, d.Floor, d.Room)
		if d.Paired != nil {
			x.paired++
		}
	}
	for _, x := range list {
		x.arrange()
	}
	return list, starOnly
}

func (x *system) add(t *storey.Storeys, at events.Maybe[events.Point], floor events.FloorID, room events.RoomID) {
	m := member{at: at, floor: t.Floor(floor, room, at)}
	level, known := t.Level(m.floor, at)
	m.level = level
	x.members = append(x.members, m)
	if known {
		x.levels = append(x.levels, level)
	}
}

// arrange sorts the members by level, for the search of who is nearest.
func (x *system) arrange() {
	slices.Sort(x.levels)
	x.levels = slices.Compact(x.levels)
	for _, m := range x.members {
		if m.at.Known {
			x.placed = append(x.placed, m)
		}
	}
	for _, level := range x.levels {
		y := layer{level: level}
		for _, m := range x.placed {
			if m.level == level {
				y.places = append(y.places, m.at.Value)
			}
		}
		if len(y.places) > 0 {
			x.storeys = append(x.storeys, y)
		}
	}
}

// near says whether two systems have members on the same level or on neighbouring
// ones, as far as is known; a system of which no level is known may be near any.
func near(a, b *system) bool {
	if len(a.levels) == 0 || len(b.levels) == 0 {
		return true
	}
	for _, x := range a.levels {
		for _, y := range b.levels {
			if max(x-y, y-x) <= 1 {
				return true
			}
		}
	}
	return false
}
