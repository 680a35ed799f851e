package callback

import (
	"fmt"

	"pairwalk/events"
	"pairwalk/projection"
)

// around lists what a device belongs to, itself first.
func around(d *projection.Device) []events.Subject {
	out := []events.Subject{events.Device(d.Device)}
	for _, x := range []events.Subject{events.Room(d.Room), events.Circuit(d.Circuit), events.Hub(homeOf(d)), events.Floor(d.Floor)} {
		if x.ID != "" {
			out = append(out, x)
		}
	}
	return out
}

// failedChecks finds tests of a device or its room of which the last one failed.
func failedChecks(x *inquiry, d *projection.Device) []finding {
	var out []finding
	for _, of := range around(d)[:min(2, len(around(d)))] {
		if of.Class != events.OfDevice && of.Class != events.OfRoom {
			continue
		}
		for _, test := range events.TestKinds {
			if c := x.lastCheck(of, test); c != nil && !c.Pass && (d.Paired == nil || of.Class == events.OfRoom || c.Done.After(d.Paired.Cause)) {
				out = append(out, finding{kind: ByFailedCheck, subject: of, device: d, main: c.Done,
					what: fmt.Sprintf("the %s test of %s failed at %s, and was not passed since", test, of.Words(), x.clock(c.Done.At))})
			}
		}
	}
	return out
}

// lastCheck is the last result of a test.
func (x *inquiry) lastCheck(of events.Subject, test events.TestKind) *projection.Check {
	var last *projection.Check
	for i := range x.site.Checks {
		c := &x.site.Checks[i]
		if c.Test == test && c.Of == of && (last == nil || c.Done.After(last.Done)) {
			last = c
		}
	}
	return last
}

// faults finds open faults on a device or what it belongs to. A fault is what
// somebody saw; it explains something if it says what is wrong, by whose work it is
// or what is to be done.
func faults(x *inquiry, d *projection.Device) []finding {
	var out []finding
	for _, of := range around(d) {
		for _, f := range x.site.Faults {
			if f.Of != of || !f.Open() {
				continue
			}
			y := finding{kind: ByOpenFault, subject: of, device: d, main: f.Found, named: f.Trade != "" || f.Action != "",
				what: fmt.Sprintf("a fault on %s is open since %s: %s%s", of.Words(), x.clock(f.Found.At), f.Symptom, mending(f))}
			if x.Symptom == NoAnswer {
				y.against = x.heardSince(d, f.Found)
			}
			if f.Reopened != nil {
				y.more = append(y.more, *f.Reopened)
			}
			out = append(out, y)
		}
	}
	return out
}

// mending says what is known of what is wrong.
func mending(f *projection.Fault) string {
	switch {
	case f.Trade != "" && f.Action != "":
		return fmt.Sprintf(" (for %s: %s)", f.Trade, f.Action)
	case f.Trade+f.Action != "":
		return fmt.Sprintf(" (for %s)", f.Trade+f.Action)
	}
	return " (what somebody saw, and not why)"
}

// holds finds what somebody keeps hands off, which may be without power.
func holds(x *inquiry, d *projection.Device) []finding {
	var out []finding
	for _, h := range x.site.Holds {
		if !h.Touches(d) {
			continue
		}
		who := ""
		if h.Who != "" {
			who = " for " + h.Who
		}
		out = append(out, finding{kind: ByHeld, subject: h.Of, device: d, main: h.Placed,
			what: fmt.Sprintf("%s is on hold since %s%s (%s), and may be without power", h.Of.Words(), x.clock(h.Placed.At), who, h.Why)})
	}
	return out
}
