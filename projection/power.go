package projection

import (
	"fmt"
	"slices"

	"pairwalk/events"
)

// circuit is a supply circuit while it is folded.
type circuit struct {
	id             events.CircuitID
	fold           int   // the number of the fold that may write it
	feeds, learned []int // places in fold.table
	off            *Cause
}

// circuit finds or begins a circuit, to be written; nil for no name.
func (f *fold) circuit(id events.CircuitID) *circuit {
	if id == "" {
		return nil
	}
	if f.circuits[id] == nil {
		f.circuits[id] = &circuit{id: id, fold: f.number}
	}
	return f.ownCircuit(id)
}

// onCircuit puts a device on its scheduled circuit. What runs on a battery has its
// power from there, whatever the schedule says, and joins a circuit only by being
// seen to go dark with it.
func (f *fold) onCircuit(d *device, at int) {
	if c := f.circuit(d.row.Circuit); c != nil && d.row.Power != events.Battery && !slices.Contains(c.feeds, at) {
		c.feeds = append(c.feeds, at)
	}
}

// offCircuit takes a device off the circuit it was scheduled on, unless it was
// seen to go dark with it.
func (f *fold) offCircuit(d *device, at int) {
	if c := f.circuits[d.row.Circuit]; c != nil && !slices.Contains(c.learned, at) {
		f.ownCircuit(d.row.Circuit).feeds = slices.DeleteFunc(slices.Clone(c.feeds), func(x int) bool { return x == at })
	}
}

// source is what a device may be cut off by: a circuit or device as named, or the
// place of a known device in fold.table, whatever it is called.
type source any

func (f *fold) source(of events.Subject) source {
	tag, _ := of.Tag()
	if at := f.known(tag); at != none && of.Class == events.OfDevice {
		return at
	}
	return of
}

// cut is a source that a device is dark with. A list of them is never changed in
// place: the devices of a circuit share it.
type cut struct {
	by    source
	cause *Cause
}

func (f *fold) powerOff(c *Cause, p events.PowerOff) {
	dark := f.fed(c, p.Of)
	for _, t := range p.Dark {
		if at := f.known(t); at == none {
			f.oddity(c, events.Device(t), "is not on the schedule")
		} else if !slices.Contains(dark, at) {
			dark = append(dark, at)
		}
	}
	if p.Of.Class == events.OfCircuit {
		x := f.circuit(events.CircuitID(p.Of.ID))
		if x.off != nil {
			f.oddity(c, p.Of, "was off already", x.off.Ref())
		}
		x.off = c
		f.learn(c, x, p.Dark)
	}
	by := f.source(p.Of)
	this := []cut{{by, c}}
	for _, at := range dark {
		d := f.ownDevice(at)
		d.restore(by)
		if len(d.cuts) == 0 {
			d.cuts = this
		} else {
			d.cuts = append(slices.Clip(d.cuts), this[0])
		}
	}
	f.dark.own(f.number)[by] = dark
	f.notePower(PowerChange{Cause: *c, Of: p.Of}, dark)
}

// powerOn lights what went dark with a source, unless something else still keeps
// it dark; a device that is named itself is lit whatever was said before.
func (f *fold) powerOn(c *Cause, p events.PowerOn) {
	lit, by := f.fed(c, p.Of), f.source(p.Of)
	switch at, named := by.(int); {
	case named:
		d := f.ownDevice(at)
		if len(d.cuts) == 0 {
			f.oddity(c, p.Of, "was not off")
		}
		d.cuts = nil
	case p.Of.Class == events.OfCircuit:
		x := f.circuit(events.CircuitID(p.Of.ID))
		if x.off == nil {
			f.oddity(c, p.Of, "was not off")
		}
		x.off = nil
	}
	was := f.dark.own(f.number)
	for _, at := range was[by] {
		f.ownDevice(at).restore(by)
		if !slices.Contains(lit, at) {
			lit = append(lit, at)
		}
	}
	delete(was, by)
	f.notePower(PowerChange{Cause: *c, Of: p.Of, On: true}, lit)
}

// restore ends what a device was dark with.
func (d *device) restore(by source) {
	switch {
	case !slices.ContainsFunc(d.cuts, func(x cut) bool { return x.by == by }):
	case len(d.cuts) == 1:
		d.cuts = nil
	default:
		d.cuts = slices.DeleteFunc(slices.Clone(d.cuts), func(x cut) bool { return x.by == by })
	}
}

// fed lists the devices a circuit feeds, as scheduled and as learned, or the one
// device itself. A circuit nobody has heard of begins here: that is how circuits
// are learned.
func (f *fold) fed(c *Cause, of events.Subject) []int {
	if tag, ok := of.Tag(); ok {
		if d := f.device(c, tag); d != nil {
			return []int{f.known(tag)}
		}
		return nil
	}
	if f.circuits[events.CircuitID(of.ID)] == nil {
		f.oddity(c, of, "is on no schedule")
	}
	return slices.Clone(f.circuit(events.CircuitID(of.ID)).feeds)
}

// learn notes what went dark with a circuit it was not known to feed.
func (f *fold) learn(c *Cause, x *circuit, dark []events.Tag) {
	for _, t := range dark {
		at := f.known(t)
		if at == none || slices.Contains(x.feeds, at) {
			continue
		}
		x.feeds = append(x.feeds, at)
		x.learned = append(x.learned, at)
		if d := &f.table[at]; d.row.Circuit != "" && d.row.Circuit != x.id {
			f.oddity(c, events.Device(d.tag()), fmt.Sprintf("is scheduled on circuit %s, and went dark with %s", d.row.Circuit, x.id))
		}
	}
}

// notePower tells every hub whose mesh a change of power touches.
func (f *fold) notePower(change PowerChange, touched []int) {
	told := map[events.HubID]bool{}
	for _, at := range touched {
		if d := &f.table[at]; d.isRouter() && d.hub() != "" {
			told[d.hub()] = true
		}
	}
	if change.Of.Class == events.OfCircuit {
		for id, h := range f.hubs {
			told[id] = told[id] || h.Circuit == events.CircuitID(change.Of.ID)
		}
	}
	for id, yes := range told {
		if yes && f.hubs[id] != nil {
			told, about := change, aboutNone
			told.Of, about = f.today(change.Of)
			f.ownHub(id).power.put(about, told)
		}
	}
}

// circuitAsFact is a circuit as it is shown.
func (f *fold) circuitAsFact(x *circuit) Circuit {
	tags := func(list []int) []events.Tag {
		var out []events.Tag
		for _, at := range list {
			out = append(out, f.table[at].tag())
		}
		slices.SortFunc(out, events.ByName[events.Tag])
		return out
	}
	return Circuit{ID: x.id, Feeds: tags(x.feeds), Learned: tags(x.learned), Off: x.off}
}
