package projection

import "pairwalk/events"

// mention is a place in the facts where a device stands by its tag. Positions
// may be renamed, and old tags given to others, so the tag is put in at the end.
type mention struct {
	device *Device
	call   func(events.Tag)
}

// mention has call told what the device is called at the moment asked for.
func (f *fold) mention(d *Device, call func(events.Tag)) {
	f.mentions = append(f.mentions, mention{d, call})
}

// today is a subject by today's name.
func (f *fold) today(s events.Subject) events.Subject {
	if tag, ok := s.Tag(); ok {
		return events.Device(f.tag(tag))
	}
	return s
}

// mentionSubject is mention for a subject, and gives it today's name at once; it
// does nothing with a subject that is no known device.
func (f *fold) mentionSubject(s events.Subject, call func(events.Subject)) events.Subject {
	tag, _ := s.Tag()
	d := f.devices[f.tag(tag)]
	if s.Class != events.OfDevice || d == nil {
		return s
	}
	f.mention(d, func(t events.Tag) { call(events.Device(t)) })
	return events.Device(d.Device)
}

// callAll puts the tags of the moment where renamed devices are mentioned.
func (f *fold) callAll() {
	for _, m := range f.mentions {
		if len(m.device.Was) > 0 {
			m.call(m.device.Device)
		}
	}
}

// tag is what a position is called now.
func (f *fold) tag(t events.Tag) events.Tag {
	if d := f.alias[t]; d != nil {
		return d.Device
	}
	return t
}

func (f *fold) deviceRenamed(c Cause, p events.DeviceRenamed) {
	d := f.device(c, p.From)
	if d == nil {
		return
	}
	if other := f.devices[p.To]; other != nil && other.Struck == nil {
		f.oddity(c, events.Device(p.To), "is on the schedule already, so "+string(p.From)+" can't be called so")
		return
	}
	old := d.Device
	delete(f.devices, old)
	delete(f.alias, p.To)
	f.alias[old] = d
	d.Was = append(d.Was, old)
	d.Device = p.To
	f.devices[p.To] = d
	for i := range f.holds {
		if f.holds[i].Of == events.Device(old) {
			f.holds[i].Of = events.Device(p.To)
		}
	}
	for _, h := range f.hubs {
		for _, load := range h.Programs {
			if load.Lists[old] {
				delete(load.Lists, old)
				load.Lists[p.To] = true
			}
		}
	}
}
