package projection

import (
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
	kept := slices.DeleteFunc(f.holds, func(h Hold) bool { return h.Of == p.Of })
	if len(kept) == len(f.holds) {
		f.oddity(c, p.Of, "is under no hold")
	}
	f.holds = kept
}

func (f *fold) faultFound(c Cause, p events.FaultFound) {
	f.about(c, p.Of)
	x := &Fault{Symptom: p.Symptom, Severity: p.Severity, Trade: p.Trade, Owner: p.Owner, Action: p.Action, Found: c, Steps: []Cause{c}}
	x.Of = f.mentionSubject(p.Of, func(s events.Subject) { x.Of = s })
	f.faults[c.Ref()] = x
	f.found = append(f.found, c.Ref())
}

func (f *fold) fault(c Cause, ref events.Ref) *Fault {
	if x := f.faults[ref]; x != nil {
		return x
	}
	f.oddity(c, events.Site(), "speaks of a fault that is not known here", ref)
	return nil
}

func (f *fold) faultAssigned(c Cause, p events.FaultAssigned) {
	x := f.fault(c, p.Fault)
	if x == nil {
		return
	}
	x.Assigned = &c
	x.Steps = append(x.Steps, c)
	if p.Trade != "" {
		x.Trade = p.Trade
	}
	if p.Owner != "" {
		x.Owner = p.Owner
	}
	if p.Action != "" {
		x.Action = p.Action
	}
}

func (f *fold) faultCleared(c Cause, p events.FaultCleared) {
	x := f.fault(c, p.Fault)
	if x == nil {
		return
	}
	if x.Cleared != nil {
		f.oddity(c, x.Of, "had this fault cleared before", x.Cleared.Ref())
	}
	x.Cleared = &c
	x.Steps = append(x.Steps, c)
	if p.Action != "" {
		x.Action = p.Action
	}
}

func (f *fold) faultReopened(c Cause, p events.FaultReopened) {
	x := f.fault(c, p.Fault)
	if x == nil {
		return
	}
	if x.Cleared == nil {
		f.oddity(c, x.Of, "has this fault open still")
	}
	x.Cleared, x.Reopened = nil, &c
	x.Steps = append(x.Steps, c)
}

func (f *fold) checkDone(c Cause, p events.CheckDone) {
	f.about(c, p.Of)
	check, i := &Check{p, c}, len(f.site.Checks)
	check.Of = f.mentionSubject(p.Of, func(s events.Subject) { check.Of, f.site.Checks[i].Of = s, s })
	f.site.Checks = append(f.site.Checks, *check)
	if tag, ok := check.Of.Tag(); ok {
		if d := f.devices[tag]; d != nil {
			d.Checked = check
		}
	}
}

func (f *fold) workSigned(c Cause, p events.WorkSigned) {
	f.about(c, p.Of)
	i := len(f.site.Signed)
	p.Of = f.mentionSubject(p.Of, func(s events.Subject) { f.site.Signed[i].Of = s })
	f.site.Signed = append(f.site.Signed, Signature{p, c})
}

func (f *fold) noteAdded(c Cause, p events.NoteAdded) {
	f.about(c, p.Of)
	i := len(f.site.Notes)
	p.Of = f.mentionSubject(p.Of, func(s events.Subject) { f.site.Notes[i].Of = s })
	f.site.Notes = append(f.site.Notes, Note{p, c})
}

func (f *fold) photoAdded(c Cause, p events.PhotoAdded) {
	f.about(c, p.Of)
	i := len(f.site.Photos)
	p.Of = f.mentionSubject(p.Of, func(s events.Subject) { f.site.Photos[i].Of = s })
	f.site.Photos = append(f.site.Photos, Photo{p, c})
}
