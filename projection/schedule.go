package projection

import (
	"pairwalk/events"
)

func (f *fold) floorListed(c *Cause, p events.FloorListed) {
	for _, other := range f.floors.m {
		if other.Floor != p.Floor && other.Level == p.Level {
			f.oddity(c, events.Floor(p.Floor), "is on the level of floor "+string(other.Floor))
			break
		}
	}
	f.floors.own(f.number)[p.Floor], f.sorted.floors = p, nil
}

func (f *fold) floorStruck(c *Cause, p events.FloorStruck) {
	if f.about(c, events.Floor(p.Floor)) {
		delete(f.floors.own(f.number), p.Floor)
		f.sorted.floors = nil
	}
}

func (f *fold) roomListed(c *Cause, p events.RoomListed) {
	f.knownFloor(c, p.Floor)
	f.use(p.Floor)
	f.rooms.own(f.number)[p.Room], f.sorted.rooms = p, nil
}

// knownFloor notes a floor that is not listed on a site that lists its floors.
func (f *fold) knownFloor(c *Cause, id events.FloorID) {
	if _, ok := f.floors.m[id]; !ok && id != "" && len(f.floors.m) > 0 {
		f.oddity(c, events.Floor(id), "is not among the floors listed")
	}
}

func (f *fold) roomStruck(c *Cause, p events.RoomStruck) {
	if f.about(c, events.Room(p.Room)) {
		delete(f.rooms.own(f.number), p.Room)
		f.sorted.rooms = nil
	}
}

func (f *fold) wallListed(c *Cause, p events.WallListed) {
	f.about(c, events.Floor(p.Floor))
	f.walls.own(f.number)[p.Wall], f.sorted.walls = p, nil
}

func (f *fold) wallStruck(c *Cause, p events.WallStruck) {
	if f.about(c, p.Subjects()[0]) {
		delete(f.walls.own(f.number), p.Wall)
		f.sorted.walls = nil
	}
}

func (f *fold) hubListed(c *Cause, p events.HubListed) {
	f.knownFloor(c, p.Floor)
	if f.hubs.m[p.Hub] == nil {
		f.newHub(p.Hub)
	}
	h := f.ownHub(p.Hub)
	h.HubListed, h.Row, h.Struck = p, c, nil
	if x := f.circuit(p.Circuit); x != nil {
		x.hubs = true
	}
}

func (f *fold) hubStruck(c *Cause, p events.HubStruck) {
	h := f.hubs.m[p.Hub]
	if h == nil || h.Struck != nil {
		f.oddity(c, events.Hub(p.Hub), "is not on the schedule")
		return
	}
	h = f.ownHub(p.Hub)
	h.Struck = c
	if len(h.joined) > 0 {
		f.oddity(c, events.Hub(p.Hub), "is struck while devices are paired to it")
	}
}

func (f *fold) deviceListed(c *Cause, p events.DeviceListed) {
	if _, old := f.alias.m[p.Device]; old {
		delete(f.alias.own(f.number), p.Device)
	}
	if h := f.hubs.m[p.Hub]; h == nil || h.Struck != nil {
		f.oddity(c, events.Hub(p.Hub), "is not on the schedule, and "+string(p.Device)+" is listed on it")
	}
	at := f.named(p.Device)
	if at == none {
		at = f.newDevice(p.Device, events.DeviceListed{})
	}
	d := f.ownDevice(at)
	f.learnRadio(d, at, p.Radio)
	if d.Row != 0 && (d.row.Circuit != p.Circuit || d.row.Power != p.Power) {
		f.offCircuit(d, at)
	}
	f.use(p.Floor)
	if d.is(isPlaced) && !p.Place.Known {
		p.Place = d.row.Place
	}
	d.Row, d.Struck = f.this, 0
	d.schedule(p)
	f.onCircuit(d, at)
}

// learnRadio sets right what was taken for mesh before anybody scheduled it.
func (f *fold) learnRadio(d *device, at int, r events.Radio) {
	if d.Row == 0 && d.Paired != nil {
		pairing := *d.Paired
		pairing.Radio = r
		d.pair(&pairing)
	}
	if d.past.guessed {
		for id := range f.hubs.m {
			f.ownHub(id).pairings.change(at, func(x *Pairing, _ int) { x.Radio = r })
		}
		f.ownPast(d).guessed = false
	}
}

// use notes that something is scheduled on a floor.
func (f *fold) use(id events.FloorID) {
	if !f.inUse.m[id] {
		f.inUse.own(f.number)[id] = true
	}
}

func (f *fold) deviceStruck(c *Cause, p events.DeviceStruck) {
	d := f.device(c, p.Device)
	if d == nil {
		return
	}
	if d.Struck != 0 {
		f.oddity(c, events.Device(p.Device), "was struck before")
	}
	d.Struck = f.this
}

func (f *fold) devicePlaced(c *Cause, p events.DevicePlaced) {
	if id := events.HubID(p.Device); f.hubs.m[id] != nil && f.known(p.Device) == none {
		f.ownHub(id).Place = events.Some(p.Place)
		return
	}
	if d := f.device(c, p.Device); d != nil {
		row := *d.row
		row.Place = events.Some(p.Place)
		d.schedule(row)
		d.set(isPlaced, true)
		f.ownPast(d).placed = f.this
	}
}

func (f *fold) drawingPlaced(c *Cause, p events.DrawingPlaced) {
	f.about(c, events.Floor(p.Floor))
	f.drawings.put(aboutNone, Drawing{p, *c})
}

func (f *fold) wifiSurveyed(c *Cause, p events.WifiSurveyed) {
	f.about(c, events.Floor(p.Floor))
	f.surveys.put(aboutNone, Survey{p, *c})
}

func (f *fold) testPlanned(c *Cause, p events.TestPlanned) {
	f.about(c, events.Room(p.Room))
	f.plans.put(aboutNone, Plan{p, *c})
}

func (f *fold) linkMeasured(c *Cause, p events.LinkMeasured) {
	about := aboutNone
	for end, t := range []events.Tag{p.A, p.B} { // an end may be a hub
		if about[end] = int32(f.known(t)); about[end] == none && f.hubs.m[events.HubID(t)] == nil {
			f.strange = append(f.strange, stranger{*c, t})
		}
	}
	f.links.put(about, Link{p, *c})
}

// stranger is an end of a measured link that was on no schedule then.
type stranger struct {
	Cause
	tag events.Tag
}

// strangers notes measured links to what is on no schedule. A survey may well come
// before the schedule, so this is judged by what is known at the moment.
func (f *fold) strangers() {
	for i := range f.strange {
		l := &f.strange[i]
		if f.hubs.m[events.HubID(l.tag)] == nil && f.known(l.tag) == none {
			f.oddAtLast(&l.Cause, events.Device(l.tag), "is not on the schedule")
		}
	}
}
