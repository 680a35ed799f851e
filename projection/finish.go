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
	f.tellAlways()
	s.Members = f.trust.sorted(f.cause)
	s.Conflicts = f.conflicts()
	s.Holds = f.holds
	f.mark()
	sorted := f.sortedDevices()
	s.Devices = make([]Device, len(sorted))
	for i, at := range sorted {
		f.asFact(&s.Devices[i], f.table.at(at), f.marks.on[at])
	}
	for _, h := range f.hubs {
		s.Hubs = append(s.Hubs, h.asFact())
	}
	if len(f.faults) > 0 {
		s.Faults = make([]*Fault, len(f.faults))
	}
	for i, x := range f.faults {
		s.Faults[i] = &x.Fault
	}
	s.Exports = slices.Clip(f.exports)
	f.tell()
	f.collect()
	s.index(f.sorted.index)
	return s
}

// asFact is a device as it is shown.
func (f *fold) asFact(out *Device, d *device, on mark) {
	out.DeviceListed, out.Was = d.row, d.past.was
	out.Row, out.Struck, out.Serial, out.Fitted, out.Paired, out.Settles = d.Row, d.Struck, d.Serial, d.Fitted, d.Paired, d.Settles
	out.Unpaired, out.Replaced, out.Refused, out.Skipped = d.Unpaired, d.Replaced, d.Refused, d.Skipped
	out.Pushed, out.Missed, out.Heard, out.Checked, out.Placed, out.Accuracy = d.Pushed, d.Missed, d.Heard, d.Checked, d.Placed, d.accuracy()
	out.Dark, out.channel = d.dark(), events.Maybe[int]{Value: int(d.channel), Known: d.channelKnown}
	out.notReady, out.channelChanged, out.notMerged, out.notListed = d.notReady, d.channelChanged, d.notMerged, d.notListed
	out.State, out.Since = f.state(d)
	out.Flags, out.Needs = f.lists.ofFlags(f.flags(d, on, out.Since)), f.lists.ofNeeds(f.needs(d, on))
}

func (f *fold) collect() {
	s := f.site
	f.sortSchedule()
	s.Floors, s.Rooms, s.Walls = slices.Clip(f.sorted.floors), slices.Clip(f.sorted.rooms), slices.Clip(f.sorted.walls)
	for _, x := range f.circuits {
		s.Circuits = append(s.Circuits, f.circuitAsFact(x))
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
	odd := slices.Concat(f.timeline.odd, f.told.odd.list(), f.ends)
	for i := range f.timeline.odd {
		odd[i].Cause, odd[i].Subject = f.cause(odd[i].Event), events.Site()
	}
	slices.SortStableFunc(odd, func(a, b Anomaly) int {
		if c := compareRecords(&a.Cause, &b.Cause); c != 0 {
			return c
		}
		return cmp.Or(cmp.Compare(a.Subject.String(), b.Subject.String()), cmp.Compare(a.Why, b.Why))
	})
	f.site.Anomalies = odd
}

func (f *fold) state(d *device) (State, *Cause) {
	switch {
	case d.Pushed != nil && !d.channelChanged:
		return Pushed, &d.Pushed.Cause
	case d.Paired != nil && d.Paired.Radio == events.Mesh && f.site.Moment.When.Value >= d.Settles:
		return Settled, &d.Paired.Cause
	case d.Paired != nil:
		return Paired, &d.Paired.Cause
	case d.Fitted != nil && d.Serial != "":
		return Fitted, d.Fitted
	case d.Row != nil:
		return Listed, d.Row
	}
	return Listed, f.firstWord(d)
}

// firstWord is what is known of a device that nobody scheduled.
func (f *fold) firstWord(d *device) *Cause {
	for _, c := range []*Cause{d.Skipped, d.Refused, d.Unpaired, d.Fitted} {
		if c != nil {
			return c
		}
	}
	return nil
}

// flags are those of a device, as bits in the order of flagOrder.
func (f *fold) flags(d *device, on mark, since *Cause) (set uint32) {
	bit := uint32(1)
	add := func(yes bool) {
		if yes {
			set |= bit
		}
		bit <<= 1
	}
	add(d.row.Emergency)
	add(d.Row == nil)
	add(d.Struck != nil)
	add(on&held != 0)
	add(d.cuts != nil)
	add(on&disputed != 0)
	add(d.Skipped != nil)
	add(d.Refused != nil)
	add(d.Missed != nil)
	add(d.notReady)
	add(d.notListed)
	add(d.notMerged)
	add(d.Row != nil && d.Paired != nil && d.Paired.Hub != d.row.Hub)
	add(d.channelChanged)
	add(on&faulty != 0)
	add(since != nil && f.trust.anyProvisional && f.trust.members[since.Member()].Standing == Provisional)
	return set
}

// keptBy says whether a hold on a subject is a hold on the device.
func (d *device) keptBy(of events.Subject) bool { return keeps(of, d.row, d.hub()) }

func keeps(of events.Subject, row *events.DeviceListed, hub events.HubID) bool {
	switch id := of.ID; of.Class {
	case events.OfSite:
		return of == events.Site()
	case events.OfDevice:
		return id != "" && id == string(row.Device)
	case events.OfHub:
		return id != "" && id == string(hub)
	case events.OfRoom:
		return id != "" && id == string(row.Room)
	case events.OfFloor:
		return id != "" && id == string(row.Floor)
	case events.OfCircuit:
		return id != "" && id == string(row.Circuit)
	}
	return false
}

// Touches says whether a hold keeps hands off a device: it is on the device, its
// hub, room, floor, circuit, or the whole site.
func (h Hold) Touches(d *Device) bool { return keeps(h.Of, d.DeviceListed, d.hub()) }

// needs are those of a device, as bits in the order of needOrder.
func (f *fold) needs(d *device, on mark) (set uint32) {
	if d.Struck != nil {
		return 0
	}
	bit := uint32(1)
	add := func(yes bool) {
		if yes {
			set |= bit
		}
		bit <<= 1
	}
	pushed := d.Pushed != nil && !d.channelChanged
	add(on&disputed != 0)
	add(d.Paired == nil && (d.Row == nil || d.row.Is.Pairs()))
	add(d.Paired != nil && d.Serial == "")
	add(d.Paired != nil && (!pushed || f.outdated(d)))
	add(pushed && d.Heard == nil && (d.Checked == nil || !d.Checked.Pass))
	add(on&faulty != 0)
	return set
}

// outdated says whether the hub holds another program than the device took.
func (f *fold) outdated(d *device) bool {
	h := f.hubs[d.Pushed.Hub]
	return d.Missed != nil || h != nil && h.Program != d.Pushed.Program
}

// index makes the look-ups by name.
func (s *Site) index(devices map[events.Tag]int) {
	s.hubs, s.devices, s.members = map[events.HubID]int{}, devices, map[events.Key]int{}
	for i := range s.Hubs {
		s.hubs[s.Hubs[i].Hub] = i
	}
	for i := range s.Members {
		s.members[s.Members[i].Key] = i
	}
}
