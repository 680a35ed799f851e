package projection

import (
	"maps"
	"slices"

	"pairwalk/events"
)

// mention is a place in the facts where a device stands by its tag. Positions may
// be renamed, and old tags given to others; every mention is then called anew.
type mention struct {
	in    list
	hub   events.HubID // of those in a hub
	i, j  int
	fault events.Ref
}

// list is what a mention is in.
type list int

const (
	inChecks list = iota
	inSigned
	inNotes
	inPhotos
	inLinksA
	inLinksB
	inPairings
	inPower
	inTried
	inMissed
	inFaults
	lists
)

// mention notes where a device is mentioned.
func (f *fold) mention(d *device, m mention) {
	d = f.ownDevice(d.at)
	d.mentions = append(d.mentions, m)
}

// today is a subject by today's name.
func (f *fold) today(s events.Subject) events.Subject {
	if tag, ok := s.Tag(); ok {
		return events.Device(f.tag(tag))
	}
	return s
}

// mentionSubject is mention for a subject, which it gives today's name; it does
// nothing with a subject that is no known device.
func (f *fold) mentionSubject(s events.Subject, m mention) events.Subject {
	tag, _ := s.Tag()
	d := f.known(tag)
	if s.Class != events.OfDevice || d == nil {
		return s
	}
	f.mention(d, m)
	return events.Device(d.tag())
}

// call writes a device's new tag where it is mentioned.
func (f *fold) call(m mention, t events.Tag) {
	s := f.site
	switch m.in {
	case inChecks:
		f.rewrite(m.in, func() { s.Checks = slices.Clone(s.Checks) })
		s.Checks[m.i].Of = events.Device(t)
	case inSigned:
		f.rewrite(m.in, func() { s.Signed = slices.Clone(s.Signed) })
		s.Signed[m.i].Of = events.Device(t)
	case inNotes:
		f.rewrite(m.in, func() { s.Notes = slices.Clone(s.Notes) })
		s.Notes[m.i].Of = events.Device(t)
	case inPhotos:
		f.rewrite(m.in, func() { s.Photos = slices.Clone(s.Photos) })
		s.Photos[m.i].Of = events.Device(t)
	case inLinksA:
		f.rewrite(inLinksA, func() { s.Links = slices.Clone(s.Links) })
		s.Links[m.i].A = t
	case inLinksB:
		f.rewrite(inLinksA, func() { s.Links = slices.Clone(s.Links) })
		s.Links[m.i].B = t
	case inFaults:
		x := f.faults[m.fault]
		x.Of = events.Device(t)
		f.faults[m.fault] = x
	default:
		f.callAtHub(m, t)
	}
}

// rewrite has a list copied before it is written in place, once for each fold.
func (f *fold) rewrite(in list, copied func()) {
	if !f.mine[in] {
		f.mine[in] = true
		copied()
	}
}

func (f *fold) callAtHub(m mention, t events.Tag) {
	h := f.ownHub(m.hub)
	switch m.in {
	case inPairings:
		h.Pairings = slices.Clone(h.Pairings)
		h.Pairings[m.i].Device = t
	case inPower:
		h.Power = slices.Clone(h.Power)
		h.Power[m.i].Of = events.Device(t)
	case inTried, inMissed:
		h.Pushes = slices.Clone(h.Pushes)
		push := &h.Pushes[m.i]
		if m.in == inTried {
			push.Tried = slices.Clone(push.Tried)
			push.Tried[m.j] = t
		} else {
			push.Missed = slices.Clone(push.Missed)
			push.Missed[m.j] = t
		}
		for at := range h.joined {
			if last := f.table[at].Pushed; last != nil && last.Event == push.Event {
				f.ownDevice(at).Pushed = push
			}
		}
	}
}

// tag is what a position is called now.
func (f *fold) tag(t events.Tag) events.Tag {
	if at, ok := f.alias[t]; ok {
		return f.table[at].tag()
	}
	return t
}

func (f *fold) deviceRenamed(c Cause, p events.DeviceRenamed) {
	d := f.device(c, p.From)
	if d == nil {
		return
	}
	if other := f.named(p.To); other != nil && other.Struck == nil {
		f.oddity(c, events.Device(p.To), "is on the schedule already, so "+string(p.From)+" can't be called so")
		return
	}
	old := d.tag()
	delete(f.devices, old)
	delete(f.alias, p.To)
	f.alias[old] = d.at
	d.Was = append(d.Was, old)
	d.Device.Device = p.To
	f.devices[p.To] = d.at
	f.sorted.devices = nil
	f.callAnew(d, old)
}

// callAnew puts a device's new tag wherever its old one stood.
func (f *fold) callAnew(d *device, old events.Tag) {
	for _, m := range d.mentions {
		f.call(m, d.tag())
	}
	if d.Paired != nil {
		pairing := *d.Paired
		pairing.Device = d.tag()
		d.Paired = &pairing
	}
	if d.Checked != nil {
		check := *d.Checked
		check.Of = events.Device(d.tag())
		d.Checked = &check
	}
	for i := range f.holds {
		if f.holds[i].Of == events.Device(old) {
			f.holds = slices.Clone(f.holds)
			f.holds[i].Of = events.Device(d.tag())
		}
	}
	for id := range f.hubs {
		f.listAnew(id, old, d.tag())
	}
}

// listAnew puts a new tag into the programs that list the old one.
func (f *fold) listAnew(id events.HubID, old, now events.Tag) {
	if !slices.ContainsFunc(f.hubs[id].Programs, func(l Load) bool { return l.Lists[old] }) {
		return
	}
	h := f.ownHub(id)
	h.Programs = slices.Clone(h.Programs)
	for i := range h.Programs {
		load := &h.Programs[i]
		if load.Lists[old] {
			load.Lists = maps.Clone(load.Lists)
			delete(load.Lists, old)
			load.Lists[now] = true
		}
	}
	h.Lists = h.Programs[len(h.Programs)-1].Lists
}
