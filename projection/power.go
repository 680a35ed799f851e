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
	hubs           bool  // it feeds some, or did
	off            *Cause
	shown          *shownCircuit // as it was shown last, nil where that is not so any more
}

// shownCircuit is what a circuit feeds by name.
type shownCircuit struct{ feeds, learned []events.Tag }

// circuit finds or begins a circuit, to be written; nil for no name.
func (f *fold) circuit(id events.CircuitID) *circuit {
	if id == "" {
		return nil
	}
	if f.circuits.m[id] == nil {
		f.circuits.own(f.number)[id], f.sorted.circuits = &circuit{id: id, fold: f.number}, nil
	}
	return f.ownCircuit(id)
}

// onCircuit puts a device on its scheduled circuit. What runs on a battery has its
// power from there, whatever the schedule says, and joins a circuit only by being
// seen to go dark with it.
func (f *fold) onCircuit(d *device, at int) {
	if c := f.circuit(d.row.Circuit); c != nil && d.row.Power != events.Battery && !slices.Contains(c.feeds, at) {
		c.feeds, c.shown = append(c.feeds, at), nil
	}
}

// offCircuit takes a device off the circuit it was scheduled on, unless it was
// seen to go dark with it.
func (f *fold) offCircuit(d *device, at int) {
	if c := f.circuits.m[d.row.Circuit]; c != nil && !slices.Contains(c.learned, at) {
		feeds := slices.DeleteFunc(slices.Clone(c.feeds), func(x int) bool { return x == at })
		c = f.ownCircuit(d.row.Circuit)
		c.feeds, c.shown = feeds, nil
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

// cut is a source that a device is dark with, and what kept it dark before that. It
// is never changed: the devices of a circuit share it.
type cut struct {
	by     source
	cause  *Cause
	before *cut
}

// without is what is left of cuts when power is back at a source.
func (x *cut) without(by source) *cut {
	switch {
	case x == nil:
		return nil
	case x.by == by:
		return x.before.without(by)
	}
	before := x.before.without(by)
	if before == x.before {
		return x
	}
	return &cut{x.by, x.cause, before}
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
	this := &cut{by, c, nil}
	for _, at := range dark {
		if f.passes(at) {
			continue
		}
		d := f.ownDevice(at)
		if before := d.cuts.without(by); before == nil {
			d.cuts = this
		} else {
			d.cuts = &cut{by, c, before}
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
		if d.cuts == nil {
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
		if f.passes(at) {
			continue
		}
		d := f.ownDevice(at)
		d.cuts = d.cuts.without(by)
		if !slices.Contains(lit, at) {
			lit = append(lit, at)
		}
	}
	delete(was, by)
	f.notePower(PowerChange{Cause: *c, Of: p.Of, On: true}, lit)
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
	if f.circuits.m[events.CircuitID(of.ID)] == nil {
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
		x.learned, x.shown = append(x.learned, at), nil
		if d := f.table.at(at); d.row.Circuit != "" && d.row.Circuit != x.id {
			f.oddity(c, events.Device(d.tag()), fmt.Sprintf("is scheduled on circuit %s, and went dark with %s", d.row.Circuit, x.id))
		}
	}
}

// notePower tells every hub whose mesh a change of power touches.
func (f *fold) notePower(change PowerChange, touched []int) {
	if f.alone != nil {
		return
	}
	var told []events.HubID
	tell := func(id events.HubID) {
		if !slices.Contains(told, id) && f.hubs.m[id] != nil {
			told = append(told, id)
		}
	}
	for _, at := range touched {
		if d := f.table.at(at); d.is(isRouter) {
			tell(d.hub())
		}
	}
	if x := f.circuits.m[events.CircuitID(change.Of.ID)]; change.Of.Class == events.OfCircuit && x.hubs {
		for id, h := range f.hubs.m {
			if h.Circuit == events.CircuitID(change.Of.ID) {
				tell(id)
			}
		}
	}
	var on [2]int32
	change.Of, on = f.today(change.Of)
	for _, id := range told {
		f.ownHub(id).power.put(on, change)
	}
}

// circuitAsFact is a circuit as it is shown. Names are put in order once for all who
// go on from there.
func (f *fold) circuitAsFact(x *circuit) Circuit {
	tags := func(list []int) []events.Tag {
		var out []events.Tag
		for _, at := range list {
			out = append(out, f.table.at(at).tag())
		}
		slices.SortFunc(out, events.ByName[events.Tag])
		return out
	}
	if x.shown == nil {
		x = f.ownCircuit(x.id)
		x.shown = &shownCircuit{tags(x.feeds), tags(x.learned)}
	}
	return Circuit{ID: x.id, Feeds: x.shown.feeds, Learned: x.shown.learned, Off: x.off}
}
