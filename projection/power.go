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
func (f *fold) onCircuit(d *device) {
	if c := f.circuit(d.Circuit); c != nil && d.Power != events.Battery && !slices.Contains(c.feeds, d.at) {
		c.feeds = append(c.feeds, d.at)
	}
}

// offCircuit takes a device off the circuit it was scheduled on, unless it was
// seen to go dark with it.
func (f *fold) offCircuit(d *device) {
	if c := f.circuits[d.Circuit]; c != nil && !slices.Contains(c.learned, d.at) {
		f.ownCircuit(d.Circuit).feeds = slices.DeleteFunc(slices.Clone(c.feeds), func(at int) bool { return at == d.at })
	}
}

// source is what a device may be cut off by: a circuit or device as named, or the
// place of a known device in fold.table, whatever it is called.
type source any

func (f *fold) source(of events.Subject) source {
	tag, _ := of.Tag()
	if d := f.known(tag); d != nil && of.Class == events.OfDevice {
		return d.at
	}
	return of
}

// cut is a source that a device is dark with.
type cut struct {
	by    source
	cause Cause
}

func (f *fold) powerOff(c Cause, p events.PowerOff) {
	dark := f.fed(c, p.Of)
	known := map[int]bool{}
	for _, at := range dark {
		known[at] = true
	}
	for _, t := range p.Dark {
		if d := f.device(c, t); d != nil && !known[d.at] {
			known[d.at] = true
			dark = append(dark, d.at)
		}
	}
	if p.Of.Class == events.OfCircuit {
		x := f.circuit(events.CircuitID(p.Of.ID))
		if x.off != nil {
			f.oddity(c, p.Of, "was off already", x.off.Ref())
		}
		x.off = &c
		f.learn(c, x, p.Dark)
	}
	by := f.source(p.Of)
	for _, at := range dark {
		d := f.ownDevice(at)
		d.restore(by)
		d.cuts, d.Dark = append(d.cuts, cut{by, c}), &c
	}
	f.dark[by] = dark
	f.notePower(PowerChange{Cause: c, Of: p.Of}, dark)
}

// powerOn lights what went dark with a source, unless something else still keeps
// it dark; a device that is named itself is lit whatever was said before.
func (f *fold) powerOn(c Cause, p events.PowerOn) {
	lit, by := f.fed(c, p.Of), f.source(p.Of)
	switch at, named := by.(int); {
	case named:
		d := f.ownDevice(at)
		if d.Dark == nil {
			f.oddity(c, p.Of, "was not off")
		}
		d.cuts, d.Dark = nil, nil
	case p.Of.Class == events.OfCircuit:
		x := f.circuit(events.CircuitID(p.Of.ID))
		if x.off == nil {
			f.oddity(c, p.Of, "was not off")
		}
		x.off = nil
	}
	for _, at := range f.dark[by] {
		f.ownDevice(at).restore(by)
		if !slices.Contains(lit, at) {
			lit = append(lit, at)
		}
	}
	delete(f.dark, by)
	f.notePower(PowerChange{Cause: c, Of: p.Of, On: true}, lit)
}

// restore ends what a device was dark with.
func (d *device) restore(by source) {
	d.cuts = slices.DeleteFunc(slices.Clone(d.cuts), func(x cut) bool { return x.by == by })
	d.Dark = nil
	if n := len(d.cuts); n > 0 {
		d.Dark = &d.cuts[n-1].cause
	}
}

// fed lists the devices a circuit feeds, as scheduled and as learned, or the one
// device itself. A circuit nobody has heard of begins here: that is how circuits
// are learned.
func (f *fold) fed(c Cause, of events.Subject) []int {
	if tag, ok := of.Tag(); ok {
		if d := f.device(c, tag); d != nil {
			return []int{d.at}
		}
		return nil
	}
	if f.circuits[events.CircuitID(of.ID)] == nil {
		f.oddity(c, of, "is on no schedule")
	}
	return slices.Clone(f.circuit(events.CircuitID(of.ID)).feeds)
}

// learn notes what went dark with a circuit it was not known to feed.
func (f *fold) learn(c Cause, x *circuit, dark []events.Tag) {
	for _, t := range dark {
		d := f.known(t)
		if d == nil || slices.Contains(x.feeds, d.at) {
			continue
		}
		x.feeds = append(x.feeds, d.at)
		x.learned = append(x.learned, d.at)
		if d.Circuit != "" && d.Circuit != x.id {
			f.oddity(c, events.Device(d.tag()), fmt.Sprintf("is scheduled on circuit %s, and went dark with %s", d.Circuit, x.id))
		}
	}
}

// notePower tells every hub whose mesh a change of power touches.
func (f *fold) notePower(change PowerChange, touched []int) {
	told := map[events.HubID]bool{}
	for _, at := range touched {
		if d := f.table[at]; d.IsRouter() && d.hub() != "" {
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
			h, told := f.ownHub(id), change
			told.Of = f.mentionSubject(change.Of, mention{in: inPower, hub: id, i: len(h.Power)})
			h.Power = append(h.Power, told)
		}
	}
}

// asFact is a circuit as it is shown.
func (f *fold) asFact(x *circuit) Circuit {
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
