package between

import (
	"pairwalk/events"
	"pairwalk/projection"
)

// names calls what an entry speaks of by its name today, as everything known here
// has it, so that a device is one subject at every moment.
type names struct {
	all   projection.Telling
	still bool // nothing was ever renamed, so that everything is called as it always was
}

func namesOf(h *projection.History) *names {
	n := &names{all: h.Tell(projection.Moment{}), still: true}
	for i := range n.all.Len() {
		n.still = n.still && n.all.Event(i).Kind() != "device.renamed"
	}
	return n
}

// subjects lists what an entry is about.
func (n *names) subjects(ref events.Ref) []events.Subject {
	t, _ := n.all.Of(ref)
	return t.Subjects
}

// first is the first subject of an entry; the site where it has none.
func (n *names) first(ref events.Ref) events.Subject {
	if of := n.subjects(ref); len(of) > 0 {
		return of[0]
	}
	return events.Site()
}

// calling is what the devices of a moment are called today, and the other way
// round.
type calling struct {
	site *projection.Site
	now  map[events.Tag]events.Tag // nil where all are called as they were
	was  map[events.Tag][]int      // places in the site's list, of those called so today
}

func (n *names) calling(s *projection.Site) calling {
	c := calling{site: s}
	if n.still {
		return c
	}
	c.now, c.was = n.today(s), map[events.Tag][]int{}
	for i := range s.Devices {
		now := c.now[s.Devices[i].Device]
		c.was[now] = append(c.was[now], i)
	}
	return c
}

// tag is what a tag of the moment is called today.
func (c *calling) tag(t events.Tag) events.Tag {
	if now, ok := c.now[t]; ok {
		return now
	}
	return t
}

// name is a subject by today's name.
func (c *calling) name(s events.Subject) events.Subject {
	if tag, ok := s.Tag(); ok {
		return events.Device(c.tag(tag))
	}
	return s
}

// calledNow lists where the devices that are called so today are in the site's
// list: one, or none.
func (c *calling) calledNow(t events.Tag) []int {
	if c.now != nil {
		return c.was[t]
	}
	if i, ok := c.site.DeviceIndex(t); ok {
		return []int{i}
	}
	return nil
}

// today maps the tags of a moment to today's. A device is known by an entry that
// speaks of it; one of which no entry is kept stays as it is called.
func (n *names) today(s *projection.Site) map[events.Tag]events.Tag {
	out := make(map[events.Tag]events.Tag, len(s.Devices))
	if n.still {
		for i := range s.Devices {
			out[s.Devices[i].Device] = s.Devices[i].Device
		}
		return out
	}
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

func (n *names) nameNow(d *projection.Device) events.Tag {
	for _, c := range witnesses(d) {
		subjects := n.subjects(c.Ref())
		if len(subjects) == 0 {
			continue
		}
		for i, s := range c.Event.Payload.Subjects() {
			was, device := s.Tag()
			if now, still := subjects[i].Tag(); device && still && (was == d.Device || calledOnce(d, was)) {
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
