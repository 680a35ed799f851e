package projection

import (
	"cmp"
	"slices"

	"pairwalk/events"
)

func (f *fold) holdPlaced(c Cause, p events.HoldPlaced) {
	f.about(c, p.Of)
	p.Of = f.today(p.Of)
	f.holds = append(f.holds, Hold{p.Of, p.Why, p.Who, c})
}

func (f *fold) holdLifted(c Cause, p events.HoldLifted) {
	p.Of = f.today(p.Of)
	kept := slices.DeleteFunc(slices.Clone(f.holds), func(h Hold) bool { return h.Of == p.Of })
	if len(kept) == len(f.holds) {
		f.oddity(c, p.Of, "is under no hold")
	}
	f.holds = kept
}

func (f *fold) faultFound(c Cause, p events.FaultFound) {
	f.about(c, p.Of)
	x := Fault{Symptom: p.Symptom, Severity: p.Severity, Trade: p.Trade, Owner: p.Owner, Action: p.Action, Found: c, Steps: []Cause{c}}
	x.Of = f.mentionSubject(p.Of, mention{in: inFaults, fault: c.Ref()})
	f.faults[c.Ref()] = x
	f.found = append(f.found, c.Ref())
}

// fault adds an entry to what was said of a fault, and does with it what the entry
// says.
func (f *fold) fault(c Cause, ref events.Ref, change func(*Fault)) {
	x, ok := f.faults[ref]
	if !ok {
		f.oddity(c, events.Site(), "speaks of a fault that is not known here", ref)
		return
	}
	x.Steps = append(slices.Clip(x.Steps), c)
	change(&x)
	f.faults[ref] = x
}

func (f *fold) faultAssigned(c Cause, p events.FaultAssigned) {
	f.fault(c, p.Fault, func(x *Fault) {
		x.Assigned = &c
		x.Trade = cmp.Or(p.Trade, x.Trade)
		x.Owner = cmp.Or(p.Owner, x.Owner)
		x.Action = cmp.Or(p.Action, x.Action)
	})
}

func (f *fold) faultCleared(c Cause, p events.FaultCleared) {
	f.fault(c, p.Fault, func(x *Fault) {
		if x.Cleared != nil {
			f.oddity(c, x.Of, "had this fault cleared before", x.Cleared.Ref())
		}
		x.Cleared = &c
		x.Action = cmp.Or(p.Action, x.Action)
	})
}

func (f *fold) faultReopened(c Cause, p events.FaultReopened) {
	f.fault(c, p.Fault, func(x *Fault) {
		if x.Cleared == nil {
			f.oddity(c, x.Of, "has this fault open still")
		}
		x.Cleared, x.Reopened = nil, &c
	})
}

func (f *fold) checkDone(c Cause, p events.CheckDone) {
	f.about(c, p.Of)
	p.Of = f.mentionSubject(p.Of, mention{in: inChecks, i: len(f.site.Checks)})
	f.site.Checks = append(f.site.Checks, Check{p, c})
	if tag, ok := p.Of.Tag(); ok {
		if d := f.named(tag); d != nil {
			f.ownDevice(d.at).Checked = &Check{p, c}
		}
	}
}

func (f *fold) workSigned(c Cause, p events.WorkSigned) {
	f.about(c, p.Of)
	p.Of = f.mentionSubject(p.Of, mention{in: inSigned, i: len(f.site.Signed)})
	f.site.Signed = append(f.site.Signed, Signature{p, c})
}

func (f *fold) noteAdded(c Cause, p events.NoteAdded) {
	f.about(c, p.Of)
	p.Of = f.mentionSubject(p.Of, mention{in: inNotes, i: len(f.site.Notes)})
	f.site.Notes = append(f.site.Notes, Note{p, c})
}

func (f *fold) photoAdded(c Cause, p events.PhotoAdded) {
	f.about(c, p.Of)
	p.Of = f.mentionSubject(p.Of, mention{in: inPhotos, i: len(f.site.Photos)})
	f.site.Photos = append(f.site.Photos, Photo{p, c})
}
