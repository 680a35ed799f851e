package between

import (
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/settle"
)

func (t *table) hub(h *projection.Hub) {
	of := events.Hub(h.Hub)
	switch {
	case h.Struck != nil:
		t.say(of, Listed, "struck", h.Struck)
	case h.Row != nil:
		t.say(of, Listed, "listed", h.Row)
	default:
		t.say(of, Listed, "heard of, and on no schedule", nil)
	}
	place := ""
	if h.Place.Known {
		place = metres(h.Place.Value)
	}
	for _, x := range hubColumns(h.HubListed) {
		t.row(of, x[0], x[1], h.Row)
	}
	t.put(of, Placed, "", fact{words: none(place, "no place"), within: true})
	switch {
	case h.Lost != nil:
		t.say(of, Ready, "lost: "+h.LostWhy, h.Lost)
	case h.Ready != nil:
		t.say(of, Ready, "ready", h.Ready)
	}
	for radio, ch := range h.Channels {
		t.put(of, Channel, string(radio), fact{words: fmt.Sprintf("%s %d", radio, ch.Number), cause: ch.Set})
	}
	t.say(of, Program, string(h.Program), h.Loaded)
	for k, c := range h.Assigned {
		t.put(of, Assigned, string(k), fact{words: t.MemberName(k), cause: c, also: []events.Subject{events.Member(k)}})
	}
}

// hubColumns is what a hub's row says, by column.
func hubColumns(p events.HubListed) [][2]string {
	return [][2]string{{"radio", string(p.Radio)}, {"floor", string(p.Floor)}, {"room", string(p.Room)}, {"circuit", string(p.Circuit)}, {"note", p.Note}}
}

// supplies puts what is off.
func (t *table) supplies() {
	for i := range t.Circuits {
		if x := &t.Circuits[i]; x.Off != nil {
			t.say(events.Circuit(x.ID), Power, "off", x.Off)
		}
	}
}

func (t *table) holds() {
	for _, h := range t.Holds {
		words := "held: " + h.Why
		if h.Who != "" {
			words += " (" + h.Who + ")"
		}
		t.put(t.name(h.Of), Hold, h.Placed.Ref().String(), fact{words: words, cause: h.Placed})
	}
}

func (t *table) faults() {
	for _, f := range t.Faults {
		if t.wants(t.name(f.Of)) {
			t.put(t.name(f.Of), Fault, f.Found.Ref().String(), fact{words: faultWords(f), cause: latest(f.Found, f.Assigned, f.Cleared, f.Reopened)})
		}
	}
}

// conflicts puts what contradicts itself.
func (t *table) conflicts() {
	for _, c := range conflictsOf(t.Site) {
		f := fact{words: "open: " + c.Why, same: c.Key, loose: true, by: c.Events}
		for _, s := range c.Subjects {
			f.also = append(f.also, t.name(s))
		}
		of := events.Site()
		if len(f.also) > 0 {
			of = f.also[0]
		}
		t.put(of, Conflict, c.Key, f)
	}
}

// conflictsOf lists the conflicts of identity and the breaches of the trade's rules.
func conflictsOf(s *projection.Site) []projection.Conflict {
	return slices.Concat(s.Conflicts, settle.Breaches(s))
}

func faultWords(f *projection.Fault) string {
	words := fmt.Sprintf("open: %s (%s)", f.Symptom, f.Severity)
	switch {
	case f.Cleared != nil:
		words = "cleared: " + f.Symptom
	case f.Reopened != nil:
		words = fmt.Sprintf("open again: %s (%s)", f.Symptom, f.Severity)
	}
	for _, x := range [][2]string{{"with", f.Owner}, {"trade", f.Trade}, {"to do:", f.Action}} {
		if x[1] != "" {
			words += ", " + x[0] + " " + x[1]
		}
	}
	return words
}

// plan puts what else is on the schedule: floors, rooms, walls, drawings, surveys,
// measured links.
func (t *table) plan() {
	for _, x := range t.Floors {
		t.say(events.Floor(x.Floor), Listed, fmt.Sprintf("listed on level %d%s", x.Level, elevation(x)), nil)
	}
	for _, x := range t.Rooms {
		of := events.Room(x.Room)
		if !t.wants(of) {
			continue
		}
		t.say(of, Listed, "listed", nil)
		for _, c := range [][2]string{{"floor", string(x.Floor)}, {"geometry", x.Geometry}, {"note", x.Note}} {
			t.row(of, c[0], c[1], nil)
		}
	}
	for _, x := range t.Walls {
		if !t.wants(x.Subjects()[0]) {
			continue
		}
		t.put(x.Subjects()[0], Listed, "", fact{words: x.String(), same: fmt.Sprint(x.Line), also: []events.Subject{events.Floor(x.Floor)}})
	}
	for _, x := range t.Drawings {
		t.put(events.Floor(x.Floor), Drawing, x.Placed.Ref().String(), fact{words: x.DrawingPlaced.String(), cause: x.Placed})
	}
	for _, x := range t.Surveys {
		t.put(events.Floor(x.Floor), Surveyed, x.Done.Ref().String(), fact{words: x.WifiSurveyed.String(), cause: x.Done})
	}
	for _, x := range t.Links {
		a := t.end(x.A)
		if !t.wants(a) {
			continue
		}
		b := t.end(x.B)
		was, seen := t.into[key{a, Measured, b.ID}]
		if !seen || x.Measured.After(was.cause) {
			t.put(a, Measured, b.ID, fact{words: x.LinkMeasured.String(), cause: x.Measured, also: []events.Subject{b}})
		}
	}
}

// end is an end of a link, which may be a hub.
func (t *table) end(tag events.Tag) events.Subject {
	if _, device := t.Site.Device(tag); !device {
		if _, hub := t.Site.Hub(events.HubID(tag)); hub {
			return events.Hub(events.HubID(tag))
		}
	}
	return t.name(events.Device(tag))
}

func elevation(x events.FloorListed) string {
	if !x.Elevation.Known {
		return ""
	}
	return fmt.Sprintf(", at %.1f m", float64(x.Elevation.Value)/1000)
}

// book puts what was checked, planned, carried home, remarked and signed.
func (t *table) book() {
	for i := range t.Checks {
		x := &t.Checks[i]
		of, which := t.name(x.Of), string(x.Test)
		if !t.wants(of) {
			continue
		}
		if was, seen := t.into[key{of, Check, which}]; !seen || x.Done.After(was.cause) {
			t.put(of, Check, which, fact{words: checkWords(x), same: x.Done.Ref().String(), cause: x.Done})
		}
	}
	for _, x := range t.Plans {
		of, which := events.Room(x.Room), string(x.Test)
		if !t.wants(of) {
			continue
		}
		if was, seen := t.into[key{of, Planned, which}]; !seen || x.Planned.After(was.cause) {
			t.put(of, Planned, which, fact{words: x.TestPlanned.String(), cause: x.Planned})
		}
	}
	for _, x := range t.Exports {
		t.put(events.Site(), Records, x.ID, fact{words: "exported as " + x.ID, cause: x.Exported})
		for _, m := range x.Merged {
			f, of := fact{words: "export " + x.ID + " is in the design file", cause: m.Cause}, events.Site()
			if m.Hub != "" {
				of = events.Hub(m.Hub)
			}
			t.put(of, Records, x.ID+" merged", f)
		}
	}
	for _, x := range t.Notes {
		if !t.wants(t.name(x.Of)) {
			continue
		}
		t.put(t.name(x.Of), Noted, x.Noted.Ref().String(), fact{words: x.Text, cause: x.Noted})
	}
	for _, x := range t.Photos {
		if !t.wants(t.name(x.Of)) {
			continue
		}
		t.put(t.name(x.Of), Photo, x.Added.Ref().String(), fact{words: none(x.Caption, "a picture"), cause: x.Added})
	}
	for _, x := range t.Signed {
		if !t.wants(t.name(x.Of)) {
			continue
		}
		t.put(t.name(x.Of), Signed, x.Signed.Ref().String(), fact{words: fmt.Sprintf("%s, signed by %s as %s", x.Scope, x.Signer, x.As), cause: x.Signed})
	}
}

func checkWords(x *projection.Check) string {
	words := string(x.Test) + " failed"
	if x.Pass {
		words = string(x.Test) + " passed"
	}
	if x.Reading != "" {
		words += ": " + x.Reading
	}
	return words
}
