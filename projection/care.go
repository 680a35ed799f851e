package projection

import (
	"cmp"
	"slices"

	"pairwalk/events"
)

func (f *fold) holdPlaced(c *Cause, p events.HoldPlaced) {
	f.about(c, p.Of)
	p.Of, _ = f.today(p.Of)
	f.holds = append(f.holds, Hold{p.Of, p.Why, p.Who, *c})
}

func (f *fold) holdLifted(c *Cause, p events.HoldLifted) {
	p.Of, _ = f.today(p.Of)
	kept := slices.DeleteFunc(slices.Clone(f.holds), func(h Hold) bool { return h.Of == p.Of })
	if len(kept) == len(f.holds) {
		f.oddity(c, p.Of, "is under no hold")
	}
	f.holds = kept
}

// troubles are faults and exports, each in order; they may be changed later.
type troubles struct {
	faults     leaves[Fault]
	openFaults []int32            // places in faults
	faultAt    map[events.Ref]int // the same; shared by all folds of a path, so it may know of later ones
	exports    leaves[Export]
	exportAt   map[string]int // as faultAt
}

func (f *troubles) fault(ref events.Ref) *Fault {
	if i, ok := f.faultAt[ref]; ok && i < f.faults.n && f.faults.at(i).Found.Ref() == ref {
		return f.faults.at(i)
	}
	return nil
}

func (f *troubles) export(id string) *Export {
	if i, ok := f.exportAt[id]; ok && i < f.exports.n && f.exports.at(i).ID == id {
		return f.exports.at(i)
	}
	return nil
}

func (f *fold) setFault(i int, x *Fault) {
	f.faults.put(i, x, f.number)
	at := slices.Index(f.openFaults, int32(i))
	switch open := x.Open(); {
	case open && at < 0:
		f.openFaults = append(f.openFaults, int32(i))
	case !open && at >= 0:
		f.openFaults = slices.Delete(slices.Clone(f.openFaults), at, at+1)
	}
}

func (f *fold) faultFound(c *Cause, p events.FaultFound) {
	f.about(c, p.Of)
	x := &Fault{Symptom: p.Symptom, Severity: p.Severity, Trade: p.Trade, Owner: p.Owner, Action: p.Action, Found: *c, Steps: []*Cause{c}}
	of, about := f.today(p.Of)
	x.Of, x.at = of, int(about[0])
	i := f.faults.n
	f.faultAt[c.Ref()] = i
	f.setFault(i, x)
	f.noteFault(x)
}

// step adds an entry to what was said of a fault, and does with it what the entry
// says.
func (f *fold) step(c *Cause, ref events.Ref, change func(*Fault)) {
	old := f.fault(ref)
	if old == nil {
		f.oddity(c, events.Site(), "speaks of a fault that is not known here", ref)
		return
	}
	x := *old
	x.Steps = append(slices.Clip(x.Steps), c)
	change(&x)
	f.setFault(f.faultAt[ref], &x)
	f.noteFault(&x)
}

// noteFault notes that something was said of a fault on a device.
func (f *fold) noteFault(x *Fault) {
	if x.at != none {
		f.note(x.at)
	} else if x.Of.Class == events.OfDevice {
		f.strays = true
	}
}

func (f *fold) faultAssigned(c *Cause, p events.FaultAssigned) {
	f.step(c, p.Fault, func(x *Fault) {
		x.Assigned = c
		x.Trade = cmp.Or(p.Trade, x.Trade)
		x.Owner = cmp.Or(p.Owner, x.Owner)
		x.Action = cmp.Or(p.Action, x.Action)
	})
}

func (f *fold) faultCleared(c *Cause, p events.FaultCleared) {
	f.step(c, p.Fault, func(x *Fault) {
		if x.Cleared != nil {
			f.oddity(c, x.Of, "had this fault cleared before", x.Cleared.Ref())
		}
		x.Cleared = c
		x.Action = cmp.Or(p.Action, x.Action)
	})
}

func (f *fold) faultReopened(c *Cause, p events.FaultReopened) {
	f.step(c, p.Fault, func(x *Fault) {
		if x.Cleared == nil {
			f.oddity(c, x.Of, "has this fault open still")
		}
		x.Cleared, x.Reopened = nil, c
	})
}

func (f *fold) checkDone(c *Cause, p events.CheckDone) {
	f.about(c, p.Of)
	of, about := f.today(p.Of)
	p.Of = of
	f.checks.put(about, Check{p, *c})
	if tag, ok := p.Of.Tag(); ok {
		if at := f.named(tag); at != none {
			f.ownDevice(at).Checked = &Check{p, *c}
		}
	}
}

func (f *fold) workSigned(c *Cause, p events.WorkSigned) {
	f.about(c, p.Of)
	of, about := f.today(p.Of)
	p.Of = of
	f.signed.put(about, Signature{p, *c})
}

func (f *fold) noteAdded(c *Cause, p events.NoteAdded) {
	f.about(c, p.Of)
	of, about := f.today(p.Of)
	p.Of = of
	f.notes.put(about, Note{p, *c})
}

func (f *fold) photoAdded(c *Cause, p events.PhotoAdded) {
	f.about(c, p.Of)
	of, about := f.today(p.Of)
	p.Of = of
	f.photos.put(about, Photo{p, *c})
}
