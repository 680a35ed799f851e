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
	for _, h := range f.hubs.m {
		s.Hubs = append(s.Hubs, h.asFact())
	}
	s.Faults, s.Exports = f.faults.whole(), f.exports.whole()
	f.tell()
	f.collect()
	s.index(f.sorted.index)
	return s
}

// asFact is a device as it is shown.
func (f *fold) asFact(out *Device, d *device, on mark) {
	out.DeviceListed, out.Serial, out.Settles = d.row, d.Serial, d.Settles
	out.Paired, out.Pushed, out.Checked = d.Paired, d.Pushed, d.Checked
	out.Row, out.Struck, out.Fitted, out.Heard = f.causeOf(d.Row), f.causeOf(d.Struck), f.causeOf(d.Fitted), f.causeOf(d.Heard)
	out.Unpaired, out.Replaced, out.Refused = f.causeOf(d.Unpaired), f.causeOf(d.Replaced), f.causeOf(d.Refused)
	out.Skipped, out.Missed = f.causeOf(d.Skipped), f.causeOf(d.Missed)
	if d.is(isPlaced) {
		out.Placed = f.causeOf(d.past.placed)
		out.Accuracy = out.Placed.Event.Payload.(events.DevicePlaced).Accuracy
	}
	if d.is(isRenamed) {
		out.Was = d.past.was
	}
	out.Dark, out.channel = d.dark(), events.Maybe[int]{Value: int(d.channel), Known: d.is(knowsChannel)}
	out.notReady, out.channelChanged, out.notMerged, out.notListed = d.is(notReady), d.is(channelChanged), d.is(notMerged), d.is(notListed)
	out.State, out.Since = f.state(d)
	out.Flags, out.Needs = f.lists.ofFlags(f.flags(d, on, out.Since)), f.lists.ofNeeds(f.needs(d, on))
}

func (f *fold) collect() {
	s := f.site
	f.sortSchedule()
	s.Floors, s.Rooms, s.Walls = slices.Clip(f.sorted.floors), slices.Clip(f.sorted.rooms), slices.Clip(f.sorted.walls)
	for _, id := range f.sorted.circuits {
		s.Circuits = append(s.Circuits, f.circuitAsFact(f.circuits.m[id]))
	}
	for _, r := range f.resolved {
		r.Cause = f.cause(r.Event)
		s.Resolved = append(s.Resolved, r)
	}
	slices.SortFunc(s.Hubs, func(a, b Hub) int { return events.ByName(a.Hub, b.Hub) })
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
	case d.Pushed != nil && !d.is(channelChanged):
		return Pushed, &d.Pushed.Cause
	case d.is(isMesh) && f.site.Moment.When.Value >= d.Settles:
		return Settled, &d.Paired.Cause
	case d.Paired != nil:
		return Paired, &d.Paired.Cause
	case d.Fitted != 0 && d.Serial != "":
		return Fitted, f.causeOf(d.Fitted)
	case d.Row != 0:
		return Listed, f.causeOf(d.Row)
	}
	return Listed, f.firstWord(d)
}

// firstWord is what is known of a device that nobody scheduled.
func (f *fold) firstWord(d *device) *Cause {
	return f.causeOf(cmp.Or(d.Skipped, d.Refused, d.Unpaired, d.Fitted))
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
	add(d.is(isUrgent))
	add(d.Row == 0)
	add(d.Struck != 0)
	add(on&held != 0)
	add(d.cuts != nil)
	add(on&disputed != 0)
	add(d.Skipped != 0)
	add(d.Refused != 0)
	add(d.Missed != 0)
	add(d.is(notReady))
	add(d.is(notListed))
	add(d.is(notMerged))
	add(d.is(onOther))
	add(d.is(channelChanged))
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
	if d.Struck != 0 {
		return 0
	}
	bit := uint32(1)
	add := func(yes bool) {
		if yes {
			set |= bit
		}
		bit <<= 1
	}
	pushed := d.Pushed != nil && !d.is(channelChanged)
	add(on&disputed != 0)
	add(d.Paired == nil && (d.Row == 0 || d.row.Is.Pairs()))
	add(d.Paired != nil && d.Serial == "")
	add(d.Paired != nil && (!pushed || f.outdated(d)))
	add(pushed && d.Heard == 0 && (d.Checked == nil || !d.Checked.Pass))
	add(on&faulty != 0)
	return set
}

// outdated says whether the hub holds another program than the device took.
func (f *fold) outdated(d *device) bool { return d.Missed != 0 || f.marks.newer.than(f, d.Pushed) }

// newer says whether a hub holds another program, at the end of a fold, than a push
// sent. It keeps the push asked for last, since neighbours mostly took the same.
type newer struct {
	push *Push
	yes  bool
}

func (x *newer) than(f *fold, p *Push) bool {
	if x.push != p {
		h := f.hubs.m[p.Hub]
		x.push, x.yes = p, h != nil && h.Program != p.Program
	}
	return x.yes
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
