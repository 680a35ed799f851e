package projection

import (
	"maps"
	"slices"

	"pairwalk/events"
)

// A fold is copied to go on from where it stands, once or many times. A copy
// shares what it does not change: devices, hubs and circuits say which fold they
// belong to, and are written only through [fold.ownDevice], [fold.ownHub] and
// [fold.ownCircuit]; lists are only ever appended to, and clipped first.

// device is a device while it is folded.
type device struct {
	Device
	at       int // its place in fold.table
	fold     int // the number of the fold that may write it
	cuts     []cut
	serials  []serialSaid // since it was last replaced
	acts     []act
	guesses  []guess
	mentions []mention
}

// tag is what the device is called now.
func (d *device) tag() events.Tag { return d.DeviceListed.Device }

// hub is a hub while it is folded.
type hub struct {
	Hub
	fold   int
	joined map[int]bool // the devices that are paired to it
}

// copied is a fold that goes on from this one, which must not be written any more.
func (f *fold) copied() *fold {
	c := *f
	f.folds++
	c.number = f.folds
	c.mine = [lists]bool{}
	c.table = slices.Clone(f.table)
	c.devices, c.alias, c.doubtful = maps.Clone(f.devices), maps.Clone(f.alias), maps.Clone(f.doubtful)
	c.sorted.more = slices.Clip(f.sorted.more)
	c.hubs, c.home = maps.Clone(f.hubs), maps.Clone(f.home)
	c.floors, c.inUse, c.rooms, c.walls = maps.Clone(f.floors), maps.Clone(f.inUse), maps.Clone(f.rooms), maps.Clone(f.walls)
	c.circuits, c.dark = maps.Clone(f.circuits), maps.Clone(f.dark)
	c.faults, c.exports = maps.Clone(f.faults), maps.Clone(f.exports)
	c.holds, c.found, c.sent, c.odd = slices.Clip(f.holds), slices.Clip(f.found), slices.Clip(f.sent), slices.Clip(f.odd)
	site := *f.site
	site.Checks, site.Links, site.Surveys = slices.Clip(site.Checks), slices.Clip(site.Links), slices.Clip(site.Surveys)
	site.Drawings, site.Plans, site.Photos = slices.Clip(site.Drawings), slices.Clip(site.Plans), slices.Clip(site.Photos)
	site.Notes, site.Signed = slices.Clip(site.Notes), slices.Clip(site.Signed)
	c.site = &site
	return &c
}

// newDevice is a device that was not heard of before.
func (f *fold) newDevice(t events.Tag, row events.DeviceListed) *device {
	d := &device{Device: Device{DeviceListed: row}, at: len(f.table), fold: f.number}
	f.table = append(f.table, d)
	f.note(d.at)
	f.devices[t] = d.at
	f.sorted.more = append(f.sorted.more, d.at)
	return d
}

// ownDevice is a device to be written.
func (f *fold) ownDevice(at int) *device {
	f.note(at)
	d := f.table[at]
	if d.fold != f.number {
		c := *d
		c.fold = f.number
		c.Was = slices.Clip(d.Was)
		c.cuts, c.serials, c.acts = slices.Clip(d.cuts), slices.Clip(d.serials), slices.Clip(d.acts)
		c.guesses, c.mentions = slices.Clip(d.guesses), slices.Clip(d.mentions)
		d, f.table[at] = &c, &c
	}
	return d
}

// note notes that a device is written, for whoever watches the fold.
func (f *fold) note(at int) {
	if f.noting {
		f.wrote = append(f.wrote, at)
	}
}

// ownHub is a hub that there is, to be written.
func (f *fold) ownHub(id events.HubID) *hub {
	h := f.hubs[id]
	if h.fold != f.number {
		c := *h
		c.fold = f.number
		c.Programs, c.Pairings, c.Pushes = slices.Clip(h.Programs), slices.Clip(h.Pairings), slices.Clip(h.Pushes)
		c.Power, c.Asked = slices.Clip(h.Power), slices.Clip(h.Asked)
		c.Channels, c.Assigned, c.Active, c.joined = maps.Clone(h.Channels), maps.Clone(h.Assigned), maps.Clone(h.Active), maps.Clone(h.joined)
		h, f.hubs[id] = &c, &c
	}
	return h
}

// ownCircuit is a circuit that there is, to be written.
func (f *fold) ownCircuit(id events.CircuitID) *circuit {
	x := f.circuits[id]
	if x.fold != f.number {
		c := *x
		c.fold = f.number
		c.feeds, c.learned = slices.Clip(x.feeds), slices.Clip(x.learned)
		x, f.circuits[id] = &c, &c
	}
	return x
}

// named is the device that is called so now, to be read; nil if there is none.
func (f *fold) named(t events.Tag) *device {
	if at, ok := f.devices[t]; ok {
		return f.table[at]
	}
	return nil
}

// known is the device that is or was called so, to be read; nil if there is none.
func (f *fold) known(t events.Tag) *device { return f.named(f.tag(t)) }
