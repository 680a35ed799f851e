package between

import (
	"pairwalk/events"
	"pairwalk/projection"
)

// scope is whom a question is about, by today's names; nil for everybody.
type scope map[events.Subject]bool

// scope gathers what belongs to a subject at either moment.
func (c *comparison) scope(about About) scope {
	if about.Whole() {
		return nil
	}
	out := scope{events.Subject(about): true}
	for _, r := range []*Reading{c.early, c.late} {
		out.gather(r.Site, c.names.today(r.Site), events.Subject(about))
	}
	return out
}

func (x scope) gather(s *projection.Site, today map[events.Tag]events.Tag, about events.Subject) {
	for i := range s.Devices {
		d := &s.Devices[i]
		of := events.Device(today[d.Device])
		if of == about {
			x.hangsOn(s, d)
		}
		if about.Class != events.OfDevice && s.Within(d, about) {
			x[of] = true
		}
	}
	for i := range s.Hubs {
		h := &s.Hubs[i]
		if events.Floor(h.Floor) == about || events.Room(h.Room) == about || events.Circuit(h.Circuit) == about && h.Circuit != "" {
			x[events.Hub(h.Hub)] = true
		}
	}
	for _, r := range s.Rooms {
		if events.Floor(r.Floor) == about {
			x[events.Room(r.Room)] = true
		}
	}
}

// hangsOn adds what a device hangs on.
func (x scope) hangsOn(s *projection.Site, d *projection.Device) {
	x[events.Hub(hubOf(d))] = true
	if d.Circuit != "" {
		x[events.Circuit(d.Circuit)] = true
	}
	for i := range s.Circuits {
		for _, t := range s.Circuits[i].Feeds {
			if t == d.Device {
				x[events.Circuit(s.Circuits[i].ID)] = true
			}
		}
	}
	for _, h := range s.Holds {
		if h.Touches(d) {
			x[h.Of] = true
		}
	}
}

// holds says whether a fact is in scope.
func (x scope) holds(k key, also []events.Subject) bool {
	if x == nil || x[k.of] {
		return true
	}
	for _, s := range also {
		if x[s] {
			return true
		}
	}
	return false
}
