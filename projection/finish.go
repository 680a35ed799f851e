package projection

import (
	"cmp"
	"slices"

	"pairwalk/events"
)

// finish sums up and puts everything in its fixed order.
func (f *fold) finish() *Site {
	s := f.site
	f.strangers()
	s.Entries = len(f.order)
	f.odd = slices.Clone(f.odd) // it will be sorted
	f.tellAlways()
	s.Members = f.trust.sorted(f.cause)
	s.Conflicts = f.conflicts()
	s.Holds = f.holds
	f.mark()
	s.Devices = make([]Device, 0, len(f.devices))
	for _, d := range f.sortedDevices() {
		s.Devices = append(s.Devices, d.Device)
		f.sumUp(&s.Devices[len(s.Devices)-1])
	}
	for _, h := range f.hubs {
		s.Hubs = append(s.Hubs, h.Hub)
	}
	for _, ref := range f.found {
		s.Faults = append(s.Faults, f.faults[ref])
	}
	for _, id := range f.sent {
		s.Exports = append(s.Exports, f.exports[id])
	}
	f.collect()
	s.index()
	return s
}

func (f *fold) collect() {
	s := f.site
	f.sortSchedule()
	s.Floors, s.Rooms, s.Walls = slices.Clone(f.sorted.floors), slices.Clone(f.sorted.rooms), slices.Clone(f.sorted.walls)
	for _, x := range f.circuits {
		s.Circuits = append(s.Circuits, f.asFact(x))
	}
	for _, r := range f.resolved {
		r.Cause = f.cause(r.Event)
		s.Resolved = append(s.Resolved, r)
	}
	slices.SortFunc(s.Hubs, func(a, b Hub) int { return events.ByName(a.Hub, b.Hub) })
	slices.SortFunc(s.Circuits, func(a, b Circuit) int { return events.ByName(a.ID, b.ID) })
	slices.SortFunc(s.Resolved, func(a, b Resolution) int { return cmp.Compare(a.Key, b.Key) })
	f.sortAnomalies()
}

// sortAnomalies puts anomalies in record order and fills in what records lacked.
func (f *fold) sortAnomalies() {
	for i := range f.odd {
		if a := &f.odd[i]; a.Subject == (events.Subject{}) {
			a.Cause = f.cause(a.Event)
			a.Subject = events.Site()
		}
	}
	slices.SortStableFunc(f.odd, func(a, b Anomaly) int {
		if c := compareRecords(&a.Cause, &b.Cause); c != 0 {
			return c
		}
		return cmp.Or(cmp.Compare(a.Subject.String(), b.Subject.String()), cmp.Compare(a.Why, b.Why))
	})
	f.site.Anomalies = f.odd
}

// sumUp works out a device's state, needs and flags.
func (f *fold) sumUp(d *Device) {
	d.State, d.Since = f.state(d)
	d.Flags = f.flags(d)
	d.Needs = f.needs(d)
}

func (f *fold) state(d *Device) (State, Cause) {
	switch {
	case d.Pushed != nil && !d.channelChanged:
		return Pushed, d.Pushed.Cause
	case d.Paired != nil && d.Paired.Radio == events.Mesh && f.site.Moment.When.Value >= d.Settles:
		return Settled, d.Paired.Cause
	case d.Paired != nil:
		return Paired, d.Paired.Cause
	case d.Fitted != nil && d.Serial != "":
		return Fitted, *d.Fitted
	case d.Row != nil:
		return Listed, *d.Row
	}
	return Listed, f.firstWord(d)
}

// firstWord is what is known of a device that nobody scheduled.
func (f *fold) firstWord(d *Device) Cause {
	for _, c := range []*Cause{d.Skipped, d.Refused, d.Unpaired, d.Fitted} {
		if c != nil {
			return *c
		}
	}
	return Cause{}
}

func (f *fold) flags(d *Device) []Flag {
	subject := events.Device(d.Device)
	var out []Flag
	add := func(yes bool, x Flag) {
		if yes {
			out = append(out, x)
		}
	}
	add(d.Emergency, FlagEmergency)
	add(d.Row == nil, FlagFound)
	add(d.Struck != nil, FlagStruck)
	add(f.held(d), FlagHold)
	add(d.Dark != nil, FlagDark)
	add(f.marks.disputed[subject], FlagConflict)
	add(d.Skipped != nil, FlagSkipped)
	add(d.Refused != nil, FlagRefused)
	add(d.Missed != nil, FlagMissed)
	add(d.notReady, FlagNotReady)
	add(d.notListed, FlagNotListed)
	add(d.notMerged, FlagNotMerged)
	add(d.Row != nil && d.Paired != nil && d.Paired.Hub != d.Hub, FlagOtherHub)
	add(d.channelChanged, FlagChannel)
	add(f.marks.faulty[subject], FlagFault)
	add(d.Since.Event != nil && f.trust.members[d.Since.Member()].Standing == Provisional, FlagProvisional)
	return out
}

// held says whether any hold touches a device.
func (f *fold) held(d *Device) bool {
	return slices.ContainsFunc(d.keptBy(), func(s events.Subject) bool { return f.marks.held[s] && s.ID != "" })
}

// keptBy lists the subjects a hold on which is a hold on the device.
func (d *Device) keptBy() []events.Subject {
	return []events.Subject{events.Site(), events.Device(d.Device), events.Hub(d.hub()), events.Room(d.Room), events.Floor(d.Floor), events.Circuit(d.Circuit)}
}

// Touches says whether a hold keeps hands off a device: it is on the device, its
// hub, room, floor, circuit, or the whole site.
func (h Hold) Touches(d *Device) bool {
	switch id := h.Of.ID; h.Of.Class {
	case events.OfSite:
		return h.Of == events.Site()
	case events.OfDevice:
		return id != "" && id == string(d.Device)
	case events.OfHub:
		return id != "" && id == string(d.hub())
	case events.OfRoom:
		return id != "" && id == string(d.Room)
	case events.OfFloor:
		return id != "" && id == string(d.Floor)
	case events.OfCircuit:
		return id != "" && id == string(d.Circuit)
	}
	return false
}

func (f *fold) needs(d *Device) []Need {
	if d.Struck != nil {
		return nil
	}
	var out []Need
	add := func(yes bool, n Need) {
		if yes {
			out = append(out, n)
		}
	}
	pushed := d.Pushed != nil && !d.channelChanged
	add(f.marks.disputed[events.Device(d.Device)], NeedResolve)
	add(d.Paired == nil && (d.Row == nil || d.Is.Pairs()), NeedPair)
	add(d.Paired != nil && d.Serial == "", NeedSerial)
	add(d.Paired != nil && (!pushed || f.outdated(d)), NeedPush)
	add(pushed && d.Heard == nil && (d.Checked == nil || !d.Checked.Pass), NeedCheck)
	add(f.marks.faulty[events.Device(d.Device)], NeedMend)
	return out
}

// outdated says whether the hub holds another program than the device took.
func (f *fold) outdated(d *Device) bool {
	h := f.hubs[d.Pushed.Hub]
	return d.Missed != nil || h != nil && h.Program != d.Pushed.Program
}

// index makes the look-ups by name.
func (s *Site) index() {
	s.hubs, s.devices, s.members = map[events.HubID]int{}, map[events.Tag]int{}, map[events.Key]int{}
	for i := range s.Hubs {
		s.hubs[s.Hubs[i].Hub] = i
	}
	for i := range s.Devices {
		s.devices[s.Devices[i].Device] = i
	}
	for i := range s.Members {
		s.members[s.Members[i].Key] = i
	}
}
