package walk

import (
	"fmt"

	"pairwalk/events"
	"pairwalk/projection"
)

// Leave lists what is still open on a floor, for somebody about to leave it:
// devices not paired or not done and why, serials not read, holds, faults.
func Leave(s *projection.Site, floor events.FloorID) []Step {
	var out []Step
	for i := range s.Devices {
		d := &s.Devices[i]
		if d.Floor != floor || d.Struck != nil {
			continue
		}
		out = append(out, leaving(d)...)
	}
	for _, h := range s.Holds {
		if onFloor(s, h.Of, floor) {
			out = append(out, Step{Act: Lift, Subject: h.Of, Why: "on hold: " + h.Why, Cautions: []string{CautionHold}})
		}
	}
	for _, f := range s.Faults {
		if f.Open() && onFloor(s, f.Of, floor) {
			out = append(out, Step{Act: Mend, Subject: f.Of, Why: fmt.Sprintf("%s fault: %s", f.Severity, f.Symptom), Cautions: []string{CautionMains}})
		}
	}
	return out
}

// leaving lists what one device leaves open.
func leaving(d *projection.Device) []Step {
	x := Step{Subject: events.Device(d.Device), Hub: d.Hub}
	if d.Emergency {
		x.Cautions = []string{CautionEmergency}
	}
	var out []Step
	add := func(act Act, why string) {
		y := x
		y.Act, y.Why = act, why
		out = append(out, y)
	}
	switch {
	case d.Wants(projection.NeedPair) && d.Refused != nil:
		add(Pair, refusedWords(d))
	case d.Wants(projection.NeedPair) && d.Skipped != nil:
		add(Pair, skippedWords(d))
	case d.Wants(projection.NeedPair):
		add(Pair, "not paired yet")
	}
	if d.Missed != nil {
		add(Push, "it missed the last push")
	}
	if d.Wants(projection.NeedSerial) {
		add(Read, "nobody wrote down its serial; the ceiling may close")
	}
	if d.Dark != nil {
		add(Check, "it has no power, says the log")
	}
	return out
}

// onFloor says whether a subject is on a floor.
func onFloor(s *projection.Site, of events.Subject, floor events.FloorID) bool {
	if tag, ok := of.Tag(); ok {
		d, known := s.Device(tag)
		return known && d.Floor == floor
	}
	if id, ok := of.Hub(); ok {
		h, known := s.Hub(id)
		return known && h.Floor == floor
	}
	if of.Class == events.OfRoom {
		for _, r := range s.Rooms {
			if string(r.Room) == of.ID {
				return r.Floor == floor
			}
		}
	}
	return of == events.Floor(floor)
}
