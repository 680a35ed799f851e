package projection

import (
	"cmp"
	"slices"

	"pairwalk/events"
)

// fold gathers the facts of one moment from a timeline.
type fold struct {
	*timeline
	site     *Site
	number   int // of all folds of the timeline; see copy.go
	hubs     leaf[events.HubID, *hub]
	lastHub  *hub                     // written last
	home     leaf[events.HubID, home] // for each, and for the whole site by no name
	table    table
	devices  leaf[events.Tag, int] // places in table
	asked    asked
	sorted   sorted
	alias    leaf[events.Tag, int] // by old tags that nobody else was given
	doubtful leaf[int, bool]       // devices that were paired by two in ignorance of each other, whatever came of it
	floors   leaf[events.FloorID, events.FloorListed]
	inUse    leaf[events.FloorID, bool] // floors that something is or was scheduled on
	rooms    leaf[events.RoomID, events.RoomListed]
	walls    leaf[string, events.WallListed]
	circuits leaf[events.CircuitID, *circuit]
	dark     leaf[source, []int] // what each source that is off keeps dark
	holds    []Hold
	strange  []stranger
	lost     map[events.Ref]bool // pairings that a resolution set aside
	doubles  []double            // devices paired by two in ignorance of each other
	ends     []Anomaly           // those that show only at the moment
	marks    marks
	troubles
	told
	noting bool   // somebody watches
	alone  *int32 // the place of the one device that is folded, nil for all
	this   entry  // the fact that is folded just now
	wrote  []int  // the devices that were written since they looked, by place in table
}

// fold replays the facts up to the moment. Which pairings a resolution sets
// aside shows only once they are replayed, so there may be a second time.
func (t *timeline) fold(m Moment) *Site {
	n := t.upTo(m.When)
	f := t.replay(m, n, nil)
	doubles := f.findDoubles()
	if lost := f.lostPairings(doubles); len(lost) > 0 {
		f = t.replay(m, n, lost)
	}
	f.doubles = doubles
	s := f.finish()
	f.table.release(f.number)
	return s
}

// replay folds the first n facts, but for the pairings that are lost.
func (t *timeline) replay(m Moment, n int, lost map[events.Ref]bool) *fold {
	way := t.pathOf(lost)
	f, after := way.last(n)
	if f == nil {
		f = t.begin(lost)
	}
	for after < n {
		f.noting, f.wrote = after == way.noted, f.wrote[:0]
		f.take(t.laid.at(t.facts[after]))
		if f.noting {
			way.note(t.facts[after], f.wrote)
		}
		after++
		f = way.lay(f, after)
	}
	f.noting, f.wrote = false, nil
	if n == len(t.facts) {
		f = way.moveOn(f, n)
	}
	m.When = events.Some(t.moment(m.When))
	f.site.Moment = m
	return f
}

// begin is a fold of nothing yet.
func (t *timeline) begin(lost map[events.Ref]bool) *fold {
	f := &fold{
		timeline: t,
		site:     &Site{ID: t.site, Settings: t.settings, Root: t.trust.root},
		lost:     lost,
		table:    table{spare: &t.spare},
		troubles: troubles{faultAt: map[events.Ref]int{}, exportAt: map[string]int{}},
	}
	f.open()
	return f
}

// upTo is how many facts have a point that is not after when.
func (t *timeline) upTo(when events.Maybe[events.Instant]) int {
	if !when.Known {
		return len(t.facts)
	}
	n, _ := slices.BinarySearchFunc(t.facts, when.Value+1, func(n events.Number, at events.Instant) int { return cmp.Compare(t.laid.at(n).At, at) })
	return n
}

// moment is the instant asked for, or that of the last entry.
func (t *timeline) moment(when events.Maybe[events.Instant]) events.Instant {
	if when.Known {
		return when.Value
	}
	return t.last
}

func (f *fold) open() {
	if f.opened == nil {
		return
	}
	p := f.opened.Payload.(events.SiteOpened)
	f.site.Name, f.site.Zone, f.site.Practice, f.site.Opened = p.Name, p.Zone, p.Practice, f.cause(f.opened)
	f.site.zone = f.site.Location() // it is read from a file, and asked for by every time that is told
}

// take folds one fact, unless it is withdrawn or its author may not say it. A
// pairing is noted on its hub in any case.
func (f *fold) take(x *laid) {
	p, pairing := x.Event.Payload.(events.DevicePaired)
	if pairing {
		f.notePairing(x, p)
	}
	if x.counts() {
		if f.alone == nil {
			f.flagForetold(&x.Cause)
		}
		f.apply(x)
	}
	if pairing {
		f.followPairing(p)
	}
	f.noteAct(x)
}

// foretold says whether the typed time of an entry was still to come by its author's
// own clock.
func (c *Cause) foretold() bool {
	return c.Event.When().Known && c.Event.When().Value.From > c.Event.Wall.At
}

// flagForetold flags such an entry. It counts: the watch may have been right and the
// device wrong.
func (f *fold) flagForetold(c *Cause) {
	if c.foretold() {
		about := events.Site()
		if subjects := c.Event.Payload.Subjects(); len(subjects) > 0 {
			about = subjects[0]
		}
		f.oddity(c, about, "is told of at a time that was still to come by the clock of who wrote it down; if an earlier day was meant, withdraw it and log it with the day")
	}
}

// apply is the one type switch of the fold. What it does not list has no facts:
// records have been applied before, and opaque payloads are not on the timeline.
func (f *fold) apply(x *laid) {
	c := &x.Cause
	f.this = entry(x.number) + 1
	switch p := c.Event.Payload.(type) {
	case events.FloorListed:
		f.floorListed(c, p)
	case events.FloorStruck:
		f.floorStruck(c, p)
	case events.RoomListed:
		f.roomListed(c, p)
	case events.RoomStruck:
		f.roomStruck(c, p)
	case events.WallListed:
		f.wallListed(c, p)
	case events.WallStruck:
		f.wallStruck(c, p)
	case events.HubListed:
		f.hubListed(c, p)
	case events.HubStruck:
		f.hubStruck(c, p)
	case events.DeviceListed:
		f.deviceListed(c, p)
	case events.DeviceStruck:
		f.deviceStruck(c, p)
	case events.DeviceRenamed:
		f.deviceRenamed(c, p)
	case events.DevicePlaced:
		f.devicePlaced(c, p)
	case events.DrawingPlaced:
		f.drawingPlaced(c, p)
	case events.WifiSurveyed:
		f.wifiSurveyed(c, p)
	case events.TestPlanned:
		f.testPlanned(c, p)
	case events.LinkMeasured:
		f.linkMeasured(c, p)
	case events.HubAssigned:
		f.hubAssigned(c, p)
	case events.MemberAsked:
		f.memberAsked(c, p)
	case events.HubReady:
		f.hubReady(c, p)
	case events.HubLost:
		f.hubLost(c, p)
	case events.HubChannel:
		f.hubChannel(c, p)
	case events.HubLoaded:
		f.hubLoaded(c, p)
	case events.DeviceFitted:
		f.deviceFitted(c, p)
	case events.DevicePaired:
		f.devicePaired(c, p)
	case events.DeviceRefused:
		f.deviceRefused(c, p)
	case events.DeviceSkipped:
		f.deviceSkipped(c, p)
	case events.DeviceUnpaired:
		f.deviceUnpaired(c, p)
	case events.DeviceReplaced:
		f.deviceReplaced(c, p)
	case events.DeviceHeard:
		f.deviceHeard(c, p)
	case events.PowerOff:
		f.powerOff(c, p)
	case events.PowerOn:
		f.powerOn(c, p)
	case events.HoldPlaced:
		f.holdPlaced(c, p)
	case events.HoldLifted:
		f.holdLifted(c, p)
	case events.RecordsExported:
		f.recordsExported(c, p)
	case events.RecordsMerged:
		f.recordsMerged(c, p)
	case events.PushDone:
		f.pushDone(c, p)
	case events.PushFailed:
		f.pushFailed(c, p)
	case events.FaultFound:
		f.faultFound(c, p)
	case events.FaultAssigned:
		f.faultAssigned(c, p)
	case events.FaultCleared:
		f.faultCleared(c, p)
	case events.FaultReopened:
		f.faultReopened(c, p)
	case events.CheckDone:
		f.checkDone(c, p)
	case events.WorkSigned:
		f.workSigned(c, p)
	case events.NoteAdded:
		f.noteAdded(c, p)
	case events.PhotoAdded:
		f.photoAdded(c, p)
	default:
		// A kind that this projection takes no fact from.
	}
}

// hub is the one a device is paired to, else the one it is scheduled on.
func (d *Device) hub() events.HubID {
	if d.Paired != nil {
		return d.Paired.Hub
	}
	return d.Hub
}

// device finds a device, or notes that there is none.
func (f *fold) device(c *Cause, t events.Tag) *device {
	if at := f.known(t); at != none {
		return f.ownDevice(at)
	}
	f.oddity(c, events.Device(t), "is not on the schedule")
	return nil
}

// worked finds a device that somebody worked on; one that nobody scheduled is
// there all the same.
func (f *fold) worked(c *Cause, t events.Tag) *device {
	f.workAt(c, f.known(t))
	if d := f.device(c, t); d != nil {
		return d
	}
	return f.ownDevice(f.newDevice(t, events.DeviceListed{Device: t, Radio: events.Mesh, Power: events.Mains}))
}

// workAt notes who worked last on the hub that the device at a place is on just then.
func (f *fold) workAt(c *Cause, at int) {
	if f.alone == nil && at != none {
		f.workOn(c, f.table.at(at).hub())
	}
}

// workOn notes who worked last on a hub, which is for others to say than one device.
func (f *fold) workOn(c *Cause, id events.HubID) {
	if f.alone != nil {
		return
	}
	if h := f.ownHub(id); h != nil {
		h.work(c)
	}
}

// workedHub finds a hub that somebody worked on; one that nobody scheduled is there
// all the same.
func (f *fold) workedHub(c *Cause, id events.HubID) *hub {
	f.workOn(c, id)
	return f.onHub(c, id)
}

// onHub finds a hub that an entry is about, or begins it.
func (f *fold) onHub(c *Cause, id events.HubID) *hub {
	if f.hubs.m[id] != nil {
		return f.ownHub(id)
	}
	f.oddity(c, events.Hub(id), "is not on the schedule")
	return f.newHub(id)
}

func (f *fold) newHub(id events.HubID) *hub {
	h := &hub{fold: f.number, Hub: Hub{HubListed: events.HubListed{Hub: id}}}
	h.channels.own(f.number)
	h.assigned.own(f.number)
	f.hubs.own(f.number)[id] = h
	return h
}

// oddity notes an entry that makes no sense where it stands.
func (f *fold) oddity(c *Cause, about events.Subject, why string, others ...events.Ref) {
	f.told.odd.put(aboutNone, Anomaly{Cause: *c, Why: why, Subject: about, Others: others})
}

// oddAtLast notes an entry that makes no sense as things stand at the moment.
func (f *fold) oddAtLast(c *Cause, about events.Subject, why string) {
	f.ends = append(f.ends, Anomaly{Cause: *c, Why: why, Subject: about})
}

// about checks that a subject exists.
func (f *fold) about(c *Cause, s events.Subject) bool {
	if tag, ok := s.Tag(); ok {
		s = events.Device(f.tag(tag))
	}
	if f.exists(s) {
		return true
	}
	f.oddity(c, s, "is not known on this site")
	return false
}

func (f *fold) exists(s events.Subject) bool {
	switch s.Class {
	case events.OfSite:
		return true
	case events.OfMember:
		return f.trust.members[events.Key(s.ID)] != nil
	case events.OfHub:
		return f.hubs.m[events.HubID(s.ID)] != nil
	case events.OfDevice:
		return f.known(events.Tag(s.ID)) != none
	case events.OfCircuit:
		return f.circuits.m[events.CircuitID(s.ID)] != nil
	case events.OfRoom:
		_, ok := f.rooms.m[events.RoomID(s.ID)]
		return ok
	case events.OfFloor:
		_, ok := f.floors.m[events.FloorID(s.ID)]
		return ok || f.inUse.m[events.FloorID(s.ID)]
	case events.OfWall:
		_, ok := f.walls.m[s.ID]
		return ok
	}
	return false
}
