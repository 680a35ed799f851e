package between

import (
	"pairwalk/events"
	"pairwalk/projection"
)

// names calls what an entry speaks of by its name today, as everything known here
// has it, so that a device is one subject at every moment.
type names map[events.Ref]*projection.Told

func namesOf(h *projection.History) names {
	all := h.Told(projection.Moment{})
	out := make(names, len(all))
	for i := range all {
		out[all[i].Ref()] = &all[i]
	}
	return out
}

// today maps the tags of a moment to today's. A device is known by an entry that
// speaks of it; one of which no entry is kept stays as it is called.
func (n names) today(s *projection.Site) map[events.Tag]events.Tag {
	out := make(map[events.Tag]events.Tag, len(s.Devices))
	taken := map[events.Tag]bool{}
	for i := range s.Devices {
		d := &s.Devices[i]
		tag := n.nameNow(d)
		if taken[tag] {
			tag = d.Device // its own entry is told of another by now
		}
		taken[tag] = true
		out[d.Device] = tag
	}
	return out
}

func (n names) nameNow(d *projection.Device) events.Tag {
	for _, c := range witnesses(d) {
		t := n[c.Ref()]
		if t == nil {
			continue
		}
		for i, s := range c.Event.Payload.Subjects() {
			was, device := s.Tag()
			if now, still := t.Subjects[i].Tag(); device && still && (was == d.Device || calledOnce(d, was)) {
				return now
			}
		}
	}
	return d.Device
}

// witnesses are entries that speak of a device by a name it had.
func witnesses(d *projection.Device) []projection.Cause {
	var out []projection.Cause
	add := func(c *projection.Cause) {
		if c != nil && !c.IsZero() {
			out = append(out, *c)
		}
	}
	add(d.Row)
	if d.Paired != nil {
		add(&d.Paired.Cause)
	}
	for _, c := range []*projection.Cause{d.Fitted, d.Unpaired, d.Replaced, d.Refused, d.Skipped, d.Heard, d.Placed, d.Struck} {
		add(c)
	}
	return out
}

func calledOnce(d *projection.Device, t events.Tag) bool {
	for _, was := range d.Was {
		if was == t {
			return true
		}
	}
	return false
}
