package callback

import (
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/settle"
)

// pushedWrongly finds pushes that broke a rule, as settle judges.
func pushedWrongly(x *inquiry, d *projection.Device) []finding {
	if d.Paired == nil {
		return nil
	}
	var out []finding
	for _, b := range x.breaches() {
		if !slices.Contains(b.Subjects, events.Device(d.Device)) {
			continue
		}
		push, ok := x.push(d.Paired.Hub, b.Events)
		if !ok {
			continue
		}
		f := finding{subject: events.Hub(push.Hub), device: d, main: push.Cause, more: []projection.Cause{d.Paired.Cause}}
		switch b.Kind {
		case projection.PushedEarly:
			f.kind, f.against = ByEarlyPush, x.heardSince(d, push.Cause)
			f.what = fmt.Sprintf("{them} {was} pushed at %s before the settle time after pairing was over, and may not have taken it", x.clock(push.At))
		case projection.PushedUnmerged:
			f.kind = ByNotMerged
			f.what = fmt.Sprintf("%s was pushed at %s before the pairing of {them} {was} in the design file, so the program did not know it", push.Hub, x.clock(push.At))
		default:
			continue
		}
		out = append(out, f)
	}
	return out
}

func (x *inquiry) breaches() []projection.Conflict {
	if x.broken == nil {
		x.broken = append([]projection.Conflict{}, settle.Breaches(x.site)...)
	}
	return x.broken
}

// push finds the push of a hub that is among some entries.
func (x *inquiry) push(hub events.HubID, among []events.Ref) (projection.Push, bool) {
	if h, ok := x.site.Hub(hub); ok {
		for _, p := range h.Pushes {
			if slices.Contains(among, p.Ref()) {
				return p, true
			}
		}
	}
	return projection.Push{}, false
}

// missed finds what should have been done to a device and was not: it missed the
// last push, or it refused or was skipped and never paired after.
func missed(x *inquiry, d *projection.Device) []finding {
	var out []finding
	about := events.Device(d.Device)
	if d.Missed != nil {
		out = append(out, finding{kind: ByMissed, subject: events.Hub(homeOf(d)), device: d, main: *d.Missed,
			what: fmt.Sprintf("{them} missed the push of %s, and took none since", x.clock(d.Missed.At))})
	}
	if d.Paired != nil {
		return out
	}
	if c := d.Refused; c != nil {
		out = append(out, finding{kind: ByMissed, subject: about, device: d, main: *c,
			what: fmt.Sprintf("%s would not pair at %s, and was never paired since", d.Device, x.clock(c.At))})
	}
	if c := d.Skipped; c != nil {
		p, _ := c.Event.Payload.(events.DeviceSkipped)
		if d.Room != "" {
			about = events.Room(d.Room) // a locked door keeps all in the room
		}
		out = append(out, finding{kind: ByMissed, subject: about, device: d, main: *c, pool: true,
			what: fmt.Sprintf("{them} {was} skipped at %s (%s), and never paired since", x.clock(c.At), p.Why)})
	}
	return out
}

// unproved finds devices that were paired, and never seen to work since: no push,
// or nothing heard. What else keeps a push from counting is told by others.
func unproved(x *inquiry, d *projection.Device) []finding {
	if d.Paired == nil {
		return unpairedYet(x, d)
	}
	f := finding{subject: events.Hub(d.Paired.Hub), device: d, main: d.Paired.Cause, pool: true}
	tested := d.Checked != nil && d.Checked.Pass
	explained := d.Missed != nil || d.Has(projection.FlagNotMerged) || d.Has(projection.FlagNotListed) || replacedSince(d)
	switch {
	case d.Pushed == nil && !explained:
		f.kind, f.what = ByNotPushed, fmt.Sprintf("{them} {was} paired to %s and never took a push since", d.Paired.Hub)
		f.against = x.heardSince(d, f.main)
	case d.Pushed != nil && d.Heard == nil && !tested:
		f.kind, f.what = ByNeverHeard, fmt.Sprintf("%s was never seen to hear {them} since the push", d.Paired.Hub)
		f.main, f.more = d.Pushed.Cause, []projection.Cause{d.Paired.Cause}
	default:
		return nil
	}
	return []finding{f}
}

// unpairedYet finds what is scheduled, and of which nothing else is known.
func unpairedYet(x *inquiry, d *projection.Device) []finding {
	if !d.Is.Pairs() || d.Row == nil || d.Struck != nil || d.Unpaired != nil || d.Refused != nil || d.Skipped != nil {
		return nil
	}
	return []finding{{kind: ByNotPaired, subject: events.Hub(d.Hub), device: d, main: *d.Row, pool: true,
		what: fmt.Sprintf("{them} {was} put on the schedule of %s and never paired", d.Hub)}}
}
