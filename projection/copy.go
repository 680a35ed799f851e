package projection

import (
	"maps"
	"slices"

	"pairwalk/events"
)

// A fold is copied to go on from where it stands, once or many times. What every
// fact may write is small and copied whole: the table of devices, which points to
// the rest. Of that, hubs, circuits, faults, exports and the past of a device say
// which fold they belong to, and are written only through a method such as
// [fold.ownHub]; so do the maps (leaf). Lists that only grow are shared by all folds
// of one path (shelf).

// leaf is a map that a fold shares with those before it until it writes it.
type leaf[K comparable, V any] struct {
	m    map[K]V
	fold int
}

// own is the map, to be written by the fold of that number.
func (x *leaf[K, V]) own(fold int) map[K]V {
	if x.m == nil {
		x.m, x.fold = map[K]V{}, fold
	}
	if x.fold != fold {
		x.m, x.fold = maps.Clone(x.m), fold
	}
	return x.m
}

// copied is a fold that goes on from this one, which must not be written any more.
func (f *fold) copied() *fold {
	c := *f
	c.renumber()
	c.table.leaves = slices.Clone(f.table.leaves)
	c.faults, c.exports = f.faults.copied(), f.exports.copied()
	c.sorted.more = slices.Clip(f.sorted.more)
	c.holds, c.openFaults, c.strange = slices.Clip(f.holds), slices.Clip(f.openFaults), slices.Clip(f.strange)
	c.noting, c.wrote = false, nil
	site := *f.site
	c.site = &site
	return &c
}

// renumber has a fold go on as another: what it has written so far is not written any
// more.
func (f *fold) renumber() {
	f.folds++
	f.number = f.folds
}

// newDevice is a device that was not heard of before.
func (f *fold) newDevice(t events.Tag, row events.DeviceListed) int {
	at := f.table.add(f.number)
	d := f.table.own(at, f.number)
	d.past = &past{fold: f.number}
	d.schedule(row)
	f.note(at)
	f.ownNames()[t] = at
	f.sorted.more = append(f.sorted.more, at)
	return at
}

// ownDevice is a device to be written.
func (f *fold) ownDevice(at int) *device {
	f.note(at)
	return f.table.own(at, f.number)
}

// ownPast is the past of a device, to be written.
func (f *fold) ownPast(d *device) *past {
	if d.past.fold != f.number {
		c := *d.past
		c.fold = f.number
		c.serials, c.was, c.said = slices.Clip(c.serials), slices.Clip(c.was), slices.Clone(c.said)
		c.apart, c.open = slices.Clip(c.apart), slices.Clip(c.open)
		d.past = &c
	}
	return d.past
}

// note notes that a device is written, for whoever watches the fold.
func (f *fold) note(at int) {
	if f.noting {
		f.wrote = append(f.wrote, at)
	}
}

// hub is a hub while it is folded.
type hub struct {
	Hub
	fold     int
	joined   []int32  // the devices that are paired to it, by place in fold.table
	active   []*Cause // the last work of each member on it
	lately   *Cause   // the last of all
	programs shelved[Load]
	pairings shelved[Pairing]
	pushes   shelved[Push]
	power    shelved[PowerChange]
	channels leaf[events.Radio, Channel]
	assigned leaf[events.Key, Cause]
}

// asFact is the hub as it is shown.
func (h *hub) asFact() Hub {
	out := h.Hub
	out.Programs, out.Pairings, out.Pushes, out.Power = h.programs.list(), h.pairings.list(), h.pushes.list(), h.power.list()
	out.Channels, out.Assigned = h.channels.m, h.assigned.m
	out.Active = make(map[events.Key]Cause, len(h.active))
	for _, c := range h.active {
		out.Active[c.Member()] = *c
	}
	return out
}

// work notes the last work of a member on the hub.
func (h *hub) work(c *Cause) {
	if h.lately == c {
		return // a fact may say so several times
	}
	h.lately = c
	if i := h.worker(c.Member()); i >= 0 {
		h.active[i] = c
	} else {
		h.active = append(h.active, c)
	}
}

// worker is the place of a member in active, none for one who has not worked on it.
func (h *hub) worker(k events.Key) int {
	return slices.IndexFunc(h.active, func(x *Cause) bool { return x.Member() == k })
}

// ownHub is a hub to be written, nil if there is none of that name.
func (f *fold) ownHub(id events.HubID) *hub {
	if h := f.lastHub; h != nil && h.fold == f.number && h.Hub.Hub == id {
		return h // as it mostly is
	}
	h := f.hubs.m[id]
	if h == nil {
		return nil
	}
	if h.fold != f.number {
		c := *h
		c.fold = f.number
		c.Asked, c.joined = slices.Clip(h.Asked), slices.Clone(h.joined)
		c.active = slices.Clone(h.active)
		if f.alone != nil { // its lists are not for others to go on with
			c.programs = c.programs.apart()
			c.pairings, c.pushes, c.power = shelved[Pairing]{}, shelved[Push]{}, shelved[PowerChange]{}
		}
		h, f.hubs.own(f.number)[id] = &c, &c
	}
	f.lastHub = h
	return h
}

// ownCircuit is a circuit that there is, to be written.
func (f *fold) ownCircuit(id events.CircuitID) *circuit {
	x := f.circuits.m[id]
	if x.fold != f.number {
		c := *x
		c.fold = f.number
		c.feeds, c.learned = slices.Clip(x.feeds), slices.Clip(x.learned)
		x, f.circuits.own(f.number)[id] = &c, &c
	}
	return x
}

// named is the place of the device that is called so now; none if there is none.
func (f *fold) named(t events.Tag) int {
	if f.asked.tag == t && t != "" {
		return f.asked.at
	}
	at, ok := f.devices.m[t]
	if !ok {
		return none
	}
	f.asked = asked{t, at}
	return at
}

// asked is the device that was asked for last: most facts ask for theirs a few times.
type asked struct {
	tag events.Tag
	at  int
}

// ownNames is the devices by what they are called, to be written.
func (f *fold) ownNames() map[events.Tag]int {
	f.asked = asked{}
	return f.devices.own(f.number)
}

// known is the place of the device that is or was called so; none if there is none.
func (f *fold) known(t events.Tag) int {
	if at, ok := f.alias.m[t]; ok {
		return f.named(f.table.at(at).tag())
	}
	return f.named(t)
}

// none is no place.
const none = -1
