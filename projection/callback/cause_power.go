package callback

import (
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// power finds supplies of a device that are off.
func power(x *inquiry, d *projection.Device) []finding {
	if d.Dark == nil {
		return nil
	}
	var out []finding
	for of, offs := range x.offs {
		if !x.darkens(of, offs, d) {
			continue
		}
		last := offs[len(offs)-1]
		f := finding{
			kind: ByPower, subject: of, device: d, main: last, more: offs[:len(offs)-1],
			what:    fmt.Sprintf("%s is off since %s, says the log, and {them} with it", of.Words(), x.clock(offs[0].At)),
			against: x.heardSince(d, last),
		}
		f.against = append(f.against, x.sharers(of, d, last)...)
		out = append(out, f)
	}
	if len(out) == 0 {
		p, _ := d.Dark.Event.Payload.(events.PowerOff)
		out = append(out, finding{kind: ByPower, subject: p.Of, device: d, main: *d.Dark, against: x.heardSince(d, *d.Dark),
			what: fmt.Sprintf("%s is off since %s, says the log, and {them} with it", p.Of.Words(), x.clock(d.Dark.At))})
	}
	slices.SortFunc(out, func(a, b finding) int { return bySubject(a.subject, b.subject) })
	return out
}

func bySubject(a, b events.Subject) int { return events.ByName(a.String(), b.String()) }

// darkens says whether a supply that is off is a device's own.
func (x *inquiry) darkens(of events.Subject, offs []projection.Cause, d *projection.Device) bool {
	if of.Class == events.OfCircuit {
		return x.site.Within(d, of)
	}
	return of == events.Device(d.Device) || slices.ContainsFunc(offs, func(c projection.Cause) bool {
		return slices.Contains(x.about(c.Ref()), events.Device(d.Device))
	})
}

// sharers are others on a circuit that is off which were heard since: they have
// power, so the entry may be wrong.
func (x *inquiry) sharers(of events.Subject, d *projection.Device, off projection.Cause) []Evidence {
	if of.Class != events.OfCircuit {
		return nil
	}
	for i := range x.site.Devices {
		y := &x.site.Devices[i]
		if y.Device != d.Device && y.Power == events.Mains && y.Heard != nil && y.Heard.After(off) && x.site.Within(y, of) {
			return []Evidence{x.evidence(*y.Heard, fmt.Sprintf("%s, on the same circuit, was heard after that", y.Device))}
		}
	}
	return nil
}

// heardSince speaks against what should keep a device from being heard.
func (x *inquiry) heardSince(d *projection.Device, c projection.Cause) []Evidence {
	if d.Heard != nil && d.Heard.After(c) {
		return []Evidence{x.evidence(*d.Heard, fmt.Sprintf("%s was heard after that", d.Device))}
	}
	if d.Pushed != nil && d.Pushed.After(c) {
		return []Evidence{x.evidence(d.Pushed.Cause, fmt.Sprintf("%s took a push after that", d.Device))}
	}
	return nil
}

// cuts finds power that came and went in the time asked about, for a complaint
// that comes and goes.
func cuts(x *inquiry, d *projection.Device) []finding {
	if x.Symptom != Intermittent {
		return nil
	}
	var out []finding
	for _, p := range x.passing() {
		if x.touches(p.of, p.off, d) {
			out = append(out, finding{
				kind: ByCuts, subject: p.of, device: d, main: p.off, more: []projection.Cause{p.on}, pool: true,
				what: fmt.Sprintf("%s, which {them} {hangs} on, has come and gone", p.of.Words()),
			})
		}
	}
	return out
}

// passage is a supply that went and came back.
type passage struct {
	of      events.Subject
	off, on projection.Cause
}

// passing lists the newest supplies that came back in the time asked about.
func (x *inquiry) passing() []passage {
	var out []passage
	off := map[events.Subject]projection.Cause{}
	for i := range x.told {
		t := &x.told[i]
		if t.Withdrawn != "" || t.Quarantined != "" || len(t.Subjects) == 0 {
			continue
		}
		of := t.Subjects[0]
		switch t.Event.Payload.(type) {
		case events.PowerOff:
			if _, already := off[of]; !already {
				off[of] = t.Cause
			}
		case events.PowerOn:
			if cut, was := off[of]; was && t.At >= x.From.Value {
				out = append(out, passage{of, cut, t.Cause})
			}
			delete(off, of)
		}
	}
	return out[max(0, len(out)-mostLooked):]
}

// touches says whether a cut took a device's power, or its way home.
func (x *inquiry) touches(of events.Subject, cut projection.Cause, d *projection.Device) bool {
	if x.darkens(of, []projection.Cause{cut}, d) || x.darkensHub(of, d) {
		return true
	}
	return level(x.at(cut.At).net, d.Device) < pathLevel(x.at(cut.At-1).net, d.Device)
}

func (x *inquiry) darkensHub(of events.Subject, d *projection.Device) bool {
	h, ok := x.site.Hub(homeOf(d))
	return ok && h.Circuit != "" && of == events.Circuit(h.Circuit)
}
