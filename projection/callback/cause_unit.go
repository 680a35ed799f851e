package callback

import (
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// changedUnit finds a position whose unit is not on its hub any more: replaced,
// reset, or off the schedule; or replaced and paired, and not pushed since.
func changedUnit(x *inquiry, d *projection.Device) []finding {
	f := finding{subject: events.Device(d.Device), device: d}
	replaced := replacedSince(d)
	switch {
	case d.Struck != nil:
		f.kind, f.main = ByStruck, *d.Struck
		f.what = fmt.Sprintf("%s was taken off the schedule at %s", d.Device, x.clock(d.Struck.At))
	case replaced && d.Paired == nil:
		f.kind, f.main = ByReplaced, *d.Replaced
		f.what = fmt.Sprintf("%s was replaced at %s, and the new unit was not paired since", d.Device, x.clock(d.Replaced.At))
	case replaced:
		f.kind, f.main, f.more = ByReplaced, *d.Replaced, []projection.Cause{d.Paired.Cause}
		f.what = fmt.Sprintf("%s was replaced at %s and paired, and the new unit took no push since", d.Device, x.clock(d.Replaced.At))
	case d.Paired == nil && d.Unpaired != nil:
		f.kind, f.main = ByUnpaired, *d.Unpaired
		f.what = fmt.Sprintf("%s was reset or taken off its hub at %s, and not paired since", d.Device, x.clock(d.Unpaired.At))
	default:
		return nil
	}
	return []finding{f}
}

// replacedSince says whether a unit went in that took no push.
func replacedSince(d *projection.Device) bool {
	return d.Replaced != nil && (d.Pushed == nil || d.Replaced.After(d.Pushed.Cause))
}

// serial finds a position of which it is not sure which unit sits there.
func serial(x *inquiry, d *projection.Device) []finding {
	var out []finding
	kinds := []projection.ConflictKind{projection.SerialTwice, projection.TwoSerials, projection.PairedTwice}
	for i := range x.site.Conflicts {
		c := &x.site.Conflicts[i]
		if !slices.Contains(kinds, c.Kind) || !slices.Contains(c.Subjects, events.Device(d.Device)) {
			continue
		}
		f := finding{kind: BySerial, subject: c.Subjects[0], device: d, what: c.Why}
		for _, ref := range c.Events {
			if said, ok := x.said(ref); ok {
				f.more = append(f.more, said)
			}
		}
		if n := len(f.more); n > 0 {
			f.main, f.more = f.more[n-1], f.more[:n-1]
			out = append(out, f)
		}
	}
	return out
}

// otherHub finds a device on another hub than the schedule says.
func otherHub(x *inquiry, d *projection.Device) []finding {
	if !d.Has(projection.FlagOtherHub) {
		return nil
	}
	return []finding{{
		kind: ByOtherHub, subject: events.Device(d.Device), device: d, main: d.Paired.Cause, more: []projection.Cause{*d.Row},
		what:    fmt.Sprintf("%s is paired to %s, and the schedule has it on %s, whose program and controls don't reach it there", d.Device, d.Paired.Hub, d.Hub),
		against: x.heardSince(d, d.Paired.Cause),
	}}
}
