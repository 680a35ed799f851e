package projection

import (
	"slices"

	"pairwalk/events"
)

// told is what stands in lists of its own. A position may be renamed, and its old tag
// given to another; it is then called anew wherever it stands, which each list knows.
type told struct {
	checks   shelved[Check]
	signed   shelved[Signature]
	notes    shelved[Note]
	photos   shelved[Photo]
	links    shelved[Link]
	surveys  shelved[Survey]
	drawings shelved[Drawing]
	plans    shelved[Plan]
	odd      shelved[Anomaly]
}

// cut takes away what was put on the lists beyond the end of this fold.
func (f *fold) cut() {
	f.checks.cut()
	f.signed.cut()
	f.notes.cut()
	f.photos.cut()
	f.links.cut()
	f.surveys.cut()
	f.drawings.cut()
	f.plans.cut()
	f.told.odd.cut()
	for _, h := range f.hubs.m {
		h.programs.cut()
		h.pairings.cut()
		h.pushes.cut()
		h.power.cut()
	}
	for i := range f.table.n {
		f.table.at(i).past.acts.cut()
	}
}

// tell puts the lists into a site's facts.
func (f *fold) tell() {
	s := f.site
	s.Checks, s.Signed, s.Notes, s.Photos = f.checks.list(), f.signed.list(), f.notes.list(), f.photos.list()
	s.Links, s.Surveys, s.Drawings, s.Plans = f.links.list(), f.surveys.list(), f.drawings.list(), f.plans.list()
}

// today is a subject by today's name, and the device that it is.
func (f *fold) today(s events.Subject) (events.Subject, [2]int32) {
	if tag, ok := s.Tag(); ok {
		if at := f.known(tag); at != none {
			return events.Device(f.table.at(at).tag()), about(at)
		}
		return events.Device(f.tag(tag)), aboutNone
	}
	return s, aboutNone
}

// callTold writes a device's new tag where it stands in lists.
func (f *fold) callTold(at int, t events.Tag) {
	of := events.Device(t)
	f.checks.change(at, func(x *Check, _ int) { x.Of = of })
	f.signed.change(at, func(x *Signature, _ int) { x.Of = of })
	f.notes.change(at, func(x *Note, _ int) { x.Of = of })
	f.photos.change(at, func(x *Photo, _ int) { x.Of = of })
	f.links.change(at, func(x *Link, end int) {
		if end == 0 {
			x.A = t
		} else {
			x.B = t
		}
	})
	for i, x := range f.faults.all() {
		if x.at == at {
			now := *x
			now.Of = of
			f.faults.put(i, &now, f.number)
		}
	}
}

// callAtHub writes it where the device stands on a hub.
func (f *fold) callAtHub(id events.HubID, at int, t events.Tag) {
	h := f.ownHub(id)
	h.pairings.change(at, func(x *Pairing, _ int) { x.Device = t })
	h.power.change(at, func(x *PowerChange, _ int) { x.Of = events.Device(t) })
	pushes := h.pushes.list()
	for i := range pushes {
		if p := &pushes[i]; slices.Contains(p.tried, int32(at)) || slices.Contains(p.missed, int32(at)) {
			push := *p
			push.Tried, push.Missed = renamed(push.Tried, push.tried, at, t), renamed(push.Missed, push.missed, at, t)
			h.pushes.replace(i, push)
			f.pushAnew(h, &push)
		}
	}
}

// pushAnew has the devices that last took a push hold it as it reads now.
func (f *fold) pushAnew(h *hub, push *Push) {
	for _, at := range h.joined {
		if last := f.table.at(int(at)).Pushed; last != nil && last.Event == push.Event {
			f.ownDevice(int(at)).Pushed = push
		}
	}
}

// renamed puts a device's new tag into a list of a push.
func renamed(tags []events.Tag, places []int32, at int, t events.Tag) []events.Tag {
	tags = slices.Clone(tags)
	for i, p := range places {
		if int(p) == at {
			tags[i] = t
		}
	}
	return tags
}

// tag is what a position is called now.
func (f *fold) tag(t events.Tag) events.Tag {
	if at, ok := f.alias.m[t]; ok {
		return f.table.at(at).tag()
	}
	return t
}

func (f *fold) deviceRenamed(c *Cause, p events.DeviceRenamed) {
	d := f.device(c, p.From)
	if d == nil {
		return
	}
	if other := f.named(p.To); other != none && f.table.at(other).Struck == 0 {
		f.oddity(c, events.Device(p.To), "is on the schedule already, so "+string(p.From)+" can't be called so")
		return
	}
	old, at := d.tag(), f.named(d.tag())
	devices, alias := f.ownNames(), f.alias.own(f.number)
	delete(devices, old)
	delete(alias, p.To)
	alias[old], devices[p.To] = at, at
	past := f.ownPast(d)
	past.was = append(past.was, old)
	row := *d.row
	row.Device = p.To
	d.schedule(row)
	d.set(isRenamed, true)
	f.sorted.devices, f.sorted.index = nil, nil
	f.callAnew(d, at, old)
}

// callAnew puts a device's new tag wherever its old one stood.
func (f *fold) callAnew(d *device, at int, old events.Tag) {
	f.callTold(at, d.tag())
	for id, x := range f.circuits.m {
		if slices.Contains(x.feeds, at) {
			f.ownCircuit(id).shown = nil
		}
	}
	for id := range f.hubs.m {
		f.callAtHub(id, at, d.tag())
	}
	if d.Paired != nil {
		pairing := *d.Paired
		pairing.Device = d.tag()
		d.pair(&pairing)
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
	for id := range f.hubs.m {
		f.listAnew(id, old, d.tag())
	}
}

// listAnew puts a new tag into the programs that list the old one.
func (f *fold) listAnew(id events.HubID, old, now events.Tag) {
	if !slices.ContainsFunc(f.hubs.m[id].programs.list(), func(l Load) bool { return l.Lists != nil && l.Holds(old) }) {
		return
	}
	h := f.ownHub(id)
	h.programs.part()
	programs := h.programs.list()
	for i := range programs {
		load := &programs[i]
		if i, lists := slices.BinarySearch(load.Lists, old); lists {
			load.Lists = slices.Delete(slices.Clone(load.Lists), i, i+1)
			if i, lists = slices.BinarySearch(load.Lists, now); !lists {
				load.Lists = slices.Insert(load.Lists, i, now)
			}
		}
	}
	h.Lists = programs[len(programs)-1].Lists
}
