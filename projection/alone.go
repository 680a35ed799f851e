package projection

import (
	"cmp"
	"slices"

	"pairwalk/events"
)

// Device is the facts of one device at a moment: those that At gives it, at a
// fraction of the cost. It goes on from the last stage with that device alone, by
// the facts that wrote it and those that bear on a whole hub; which these are was
// noted when everything was folded.
func (h *History) Device(m Moment, tag events.Tag) (*Device, bool) {
	t := h.view(m.Known)
	if d, ok := t.deviceAlone(m, tag); ok {
		return d, d != nil
	}
	return t.fold(m).Device(tag)
}

// deviceAlone folds one device, which is nil where there is none yet. It says no where
// others bear on it in ways that only a fold of everything shows: names that moved,
// serials on two devices, pairings by two, resolutions; and where nobody has come by yet.
func (t *timeline) deviceAlone(m Moment, tag events.Tag) (*Device, bool) {
	n, way := t.upTo(m.When), t.pathOf(nil)
	if !t.standAlone() || way.noted < n || way.end.fold == nil {
		return nil, false
	}
	at := way.end.fold.named(tag)
	if at == none {
		return nil, false
	}
	if m.When.Known && t.laid.at(way.touched[at][0]).At > m.When.Value {
		return nil, true
	}
	from := way.stageBefore(n)
	if from.fold == nil {
		from.fold = t.begin(nil)
	}
	x := from.alone(at, tag, t.between(way.touched[at], from.after, m.When), t.wideFacts().between(t, from.after, m.When))
	x.goOn(none)
	d, alone := x.finish(m)
	x.table.release(x.number)
	return d, alone
}

// alone begins the fold of one device at a stage, of the facts that wrote it and of
// those that may bear on it.
func (s stage) alone(at int, tag events.Tag, facts []events.Number, wide []wideFact) *lone {
	x := &lone{fold: s.fold.copiedFor(int32(at)), from: s.fold, at: at, tag: tag, wide: wide}
	x.begin(facts)
	return x
}

// between cuts out of a list of facts those after so many of all, up to a moment.
func (t *timeline) between(list []events.Number, after int, when events.Maybe[events.Instant]) []events.Number {
	if after >= len(t.facts) {
		return nil
	}
	from, _ := slices.BinarySearchFunc(list, t.facts[after], t.comparePoints)
	list = list[from:]
	if when.Known {
		upto, _ := slices.BinarySearchFunc(list, when.Value+1, func(n events.Number, at events.Instant) int { return cmp.Compare(t.laid.at(n).At, at) })
		list = list[:upto]
	}
	return list
}

// copiedFor is a fold that goes on from this one with one device.
func (f *fold) copiedFor(at int32) *fold {
	c := *f
	c.renumber()
	c.alone = &at
	c.table.leaves = slices.Clone(f.table.leaves)
	c.holds = slices.Clip(f.holds)
	c.told, c.troubles = told{}, troubles{}
	c.site = &Site{}
	return &c
}

// passes says whether a device is none of this fold's business.
func (f *fold) passes(at int) bool { return f.alone != nil && int(*f.alone) != at }

// lone is the fold of one device on its way.
type lone struct {
	*fold
	from   *fold // the stage
	at     int
	tag    events.Tag
	facts  []events.Number // that wrote it, still to be taken
	wide   []wideFact      // that may bear on it, still to be taken
	on     []events.HubID  // hubs that it is paired to in this time
	open   []events.Ref    // faults on it
	listed bool            // it was listed anew in this time
}

// heardOf says whether there is such a device by now.
func (x *lone) heardOf() bool { return x.at < x.table.n }

func (x *lone) begin(facts []events.Number) {
	x.facts = facts
	if !x.heardOf() {
		x.table.extend(x.at, x.number)
	} else if p := x.table.at(x.at).Paired; p != nil {
		x.on = append(x.on, p.Hub)
	}
	for _, n := range facts {
		switch p := x.ranks.Event(n).Payload.(type) {
		case events.DevicePaired:
			x.on = append(x.on, p.Hub)
		case events.DeviceListed:
			x.listed = true
		}
	}
	for _, i := range x.from.openFaults {
		if f := x.from.faults.at(int(i)); f.at == x.at {
			x.open = append(x.open, f.Found.Ref())
		}
	}
}

// goOn takes what there is before a fact; all of it for none.
func (x *lone) goOn(n events.Number) {
	for len(x.wide) > 0 && (n == none || x.comparePoints(x.wide[0].n, n) < 0) {
		w := x.wide[0]
		x.wide = x.wide[1:]
		x.takeUpTo(w.n)
		if len(x.facts) > 0 && x.facts[0] == w.n {
			x.facts = x.facts[1:]
		}
		x.takeWide(w)
	}
	x.takeUpTo(n)
}

// takeUpTo takes the facts that wrote the device before another; all of them for
// none.
func (x *lone) takeUpTo(n events.Number) {
	for len(x.facts) > 0 && (n == none || x.comparePoints(x.facts[0], n) < 0) {
		x.takeOne(x.laid.at(x.facts[0]))
		x.facts = x.facts[1:]
	}
}

func (x *lone) takeOne(l *laid) {
	switch p := l.Event.Payload.(type) {
	case events.FaultFound:
		x.setOpen(l, l.Ref(), true)
	case events.FaultCleared:
		x.setOpen(l, p.Fault, false)
	case events.FaultReopened:
		x.setOpen(l, p.Fault, true)
	case events.FaultAssigned:
	default:
		x.take(l)
	}
}

func (x *lone) setOpen(l *laid, ref events.Ref, open bool) {
	if !l.counts() {
		return
	}
	x.open = slices.DeleteFunc(x.open, func(o events.Ref) bool { return o == ref })
	if open {
		x.open = append(x.open, ref)
	}
}

// takeWide takes a fact that bears on what others do to the device, if it does.
func (x *lone) takeWide(w wideFact) {
	if !x.bears(w) {
		return
	}
	l := x.laid.at(w.n)
	if p, ok := l.Event.Payload.(events.RecordsMerged); ok {
		if export, known := x.wideFacts().exported(x.timeline, p.Export, w.n); known {
			x.bringHome(p.Hub, export)
		}
		return
	}
	x.apply(l)
}

// bears says whether a wide fact may bear on the device. A hold on what it may have
// been listed in meanwhile does.
func (x *lone) bears(w wideFact) bool {
	switch w.of.Class {
	case events.OfHub:
		return w.hold || w.of.ID == "" || slices.Contains(x.on, events.HubID(w.of.ID))
	case events.OfDevice:
		return w.of.ID == string(x.tag)
	case events.OfCircuit:
		return x.listed || !x.heardOf() || w.of.ID == string(x.table.at(x.at).row.Circuit)
	case events.OfRoom:
		return x.listed || !x.heardOf() || w.of.ID == string(x.table.at(x.at).row.Room)
	}
	return true
}

// finish sums the device up, unless it comes out that others bear on it.
func (x *lone) finish(m Moment) (*Device, bool) {
	if !x.heardOf() {
		return nil, false
	}
	d := x.table.at(x.at)
	if len(d.past.open) > 0 || d.is(isMixed) || x.serials.shared(d.Serial) {
		return nil, false
	}
	m.When = events.Some(x.moment(m.When))
	x.site.Moment = m
	var on mark
	if len(x.open) > 0 {
		on |= faulty
	}
	if slices.ContainsFunc(x.holds, func(h Hold) bool { return d.keptBy(h.Of) }) {
		on |= held
	}
	out := new(Device)
	x.asFact(out, d, on)
	return out, true
}
