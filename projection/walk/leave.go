package walk

import (
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/checks"
)

// Leave lists what is still open on a floor, for somebody about to leave it:
// devices not paired yet, refused and skipped ones and why, serials not read
// before the ceiling closes, devices that missed a push, functional tests that are
// owed and could be done now, power that is off, holds and faults; in that order. What has not been synced is the member's matter.
func Leave(s *projection.Site, floor events.FloorID) []Step {
	p := newPlan(s, "")
	var devices []*projection.Device
	for i := range s.Devices {
		if d := &s.Devices[i]; d.Struck == nil && floorOf(s, d) == floor {
			devices = append(devices, d)
		}
	}
	p.leaving(devices, func(d *projection.Device) bool { return untouched(d) || d.Emergency }, func(*projection.Device) string { return "nobody has paired it yet" })
	p.leaving(devices, func(d *projection.Device) bool { return d.Refused != nil && !d.Emergency }, refusedWords)
	p.leaving(devices, func(d *projection.Device) bool { return d.Refused == nil && d.Skipped != nil && !d.Emergency }, skippedWords)
	for _, d := range devices {
		if d.Wants(projection.NeedSerial) {
			p.put(mine, read, Step{Act: Serial, Subject: events.Device(d.Device), Hub: d.Paired.Hub, Why: "nobody wrote down its serial, and the ceiling may close"})
		}
	}
	for _, d := range devices {
		if d.Missed != nil {
			p.put(mine, read, Step{Act: Push, Subject: events.Device(d.Device), Hub: d.Paired.Hub, Why: "it missed the last push", Cautions: []string{CautionPush}})
		}
	}
	p.owed(floor)
	p.offOn(devices)
	for _, h := range s.Holds {
		if slices.ContainsFunc(devices, h.Touches) || onFloor(s, h.Of, floor) {
			p.put(mine, read, Step{Act: Lift, Subject: h.Of, Why: "on hold: " + h.Why, Cautions: []string{CautionHold}})
		}
	}
	for _, f := range s.Faults {
		if f.Open() && onFloor(s, f.Of, floor) {
			p.put(mine, read, Step{Act: Mend, Subject: f.Of, Why: faultWords(f), Cautions: []string{CautionMains}})
		}
	}
	return p.sorted()
}

// leaving lists the devices that want to be paired and are of one sort.
func (p *plan) leaving(devices []*projection.Device, sort func(*projection.Device) bool, why func(*projection.Device) string) {
	for _, d := range devices {
		if !d.Wants(projection.NeedPair) || !sort(d) {
			continue
		}
		x := Step{Act: Pair, Subject: events.Device(d.Device), Hub: d.Hub, Why: why(d)}
		if d.Is != "" {
			x.How = d.Is.How()
		}
		p.put(mine, read, x)
	}
}

// owed lists the functional tests of a floor that nothing keeps from being done.
func (p *plan) owed(floor events.FloorID) {
	for _, r := range checks.Of(p.site).Rooms {
		for i := range r.Tests {
			t := &r.Tests[i]
			if !t.Owed() || t.Waits != "" || answers(t) || r.Floor != floor && !onFloor(p.site, t.Of, floor) {
				continue
			}
			x := Step{Act: Check, Subject: t.Of, Hub: p.hubOf(t), Why: testWords(t), Cautions: []string{CautionPush}}
			if len(t.Cautions) > 0 && t.Of.Class == events.OfRoom { // put says it of a device
				x.Cautions = []string{CautionEmergency, CautionPush}
			}
			p.put(mine, read, x)
		}
	}
}

// offOn lists each cut of power that leaves a device dark, once.
func (p *plan) offOn(devices []*projection.Device) {
	var told []events.Ref
	for _, d := range devices {
		if d.Dark == nil || slices.Contains(told, d.Dark.Ref()) {
			continue
		}
		told = append(told, d.Dark.Ref())
		of := d.Dark.Event.Payload.Subjects()[0]
		p.put(mine, read, Step{Act: Power, Subject: of, Hub: d.Hub, Why: string(d.Device) + " has no power, says the log", Cautions: []string{CautionPower}})
	}
}

// onFloor says whether a subject is on a floor.
func onFloor(s *projection.Site, of events.Subject, floor events.FloorID) bool {
	if tag, ok := of.Tag(); ok {
		d, known := s.Device(tag)
		return known && floorOf(s, d) == floor
	}
	if id, ok := of.Hub(); ok {
		h, known := s.Hub(id)
		return known && h.Floor == floor
	}
	if of.Class == events.OfRoom {
		return roomFloor(s, events.RoomID(of.ID)) == floor
	}
	return of == events.Floor(floor)
}
