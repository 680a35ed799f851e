package projection

import (
	"slices"

	"pairwalk/events"
)

func (f *fold) floorListed(c Cause, p events.FloorListed) {
	for _, other := range f.floors {
		if other.Floor != p.Floor && other.Level == p.Level {
			f.oddity(c, events.Floor(p.Floor), "is on the level of floor "+string(other.Floor))
			break
		}
	}
	f.floors[p.Floor], f.sorted.floors = p, nil
}

func (f *fold) floorStruck(c Cause, p events.FloorStruck) {
	if f.about(c, events.Floor(p.Floor)) {
		delete(f.floors, p.Floor)
		f.sorted.floors = nil
	}
}

func (f *fold) roomListed(c Cause, p events.RoomListed) {
	f.knownFloor(c, p.Floor)
	f.inUse[p.Floor] = true
	f.rooms[p.Room], f.sorted.rooms = p, nil
}

// knownFloor notes a floor that is not listed on a site that lists its floors.
func (f *fold) knownFloor(c Cause, id events.FloorID) {
	if _, ok := f.floors[id]; !ok && id != "" && len(f.floors) > 0 {
		f.oddity(c, events.Floor(id), "is not among the floors listed")
	}
}

func (f *fold) roomStruck(c Cause, p events.RoomStruck) {
	if f.about(c, events.Room(p.Room)) {
		delete(f.rooms, p.Room)
		f.sorted.rooms = nil
	}
}

func (f *fold) wallListed(c Cause, p events.WallListed) {
	f.about(c, events.Floor(p.Floor))
	f.walls[p.Wall], f.sorted.walls = p, nil
}

func (f *fold) wallStruck(c Cause, p events.WallStruck) {
	if f.about(c, p.Subjects()[0]) {
		delete(f.walls, p.Wall)
		f.sorted.walls = nil
	}
}

func (f *fold) hubListed(c Cause, p events.HubListed) {
	f.knownFloor(c, p.Floor)
	if f.hubs[p.Hub] == nil {
		f.newHub(p.Hub)
	}
	h := f.ownHub(p.Hub)
	h.HubListed, h.Row, h.Struck = p, &c, nil
	f.circuit(p.Circuit)
}

func (f *fold) hubStruck(c Cause, p events.HubStruck) {
	h := f.hubs[p.Hub]
	if h == nil || h.Struck != nil {
		f.oddity(c, events.Hub(p.Hub), "is not on the schedule")
		return
	}
	h = f.ownHub(p.Hub)
	h.Struck = &c
	if len(h.joined) > 0 {
		f.oddity(c, events.Hub(p.Hub), "is struck while devices are paired to it")
	}
}

func (f *fold) deviceListed(c Cause, p events.DeviceListed) {
	delete(f.alias, p.Device)
	if h := f.hubs[p.Hub]; h == nil || h.Struck != nil {
		f.oddity(c, events.Hub(p.Hub), "is not on the schedule, and "+string(p.Device)+" is listed on it")
	}
	d := f.named(p.Device)
	if d == nil {
		d = f.newDevice(p.Device, events.DeviceListed{})
	}
	d = f.ownDevice(d.at)
	f.learnRadio(d, p.Radio)
	if d.Row != nil && (d.Circuit != p.Circuit || d.Power != p.Power) {
		f.offCircuit(d)
	}
	f.inUse[p.Floor] = true
	if d.Placed != nil && !p.Place.Known {
		p.Place = d.Place
	}
	d.DeviceListed, d.Row, d.Struck = p, &c, nil
	f.onCircuit(d)
}

// learnRadio sets right what was taken for mesh before anybody scheduled it.
func (f *fold) learnRadio(d *device, r events.Radio) {
	if d.Row == nil && d.Paired != nil {
		pairing := *d.Paired
		pairing.Radio = r
		d.Paired = &pairing
	}
	for _, g := range d.guesses {
		h := f.ownHub(g.hub)
		h.Pairings = slices.Clone(h.Pairings)
		h.Pairings[g.i].Radio = r
	}
	d.guesses = nil
}

func (f *fold) deviceStruck(c Cause, p events.DeviceStruck) {
	d := f.device(c, p.Device)
	if d == nil {
		return
	}
	if d.Struck != nil {
		f.oddity(c, events.Device(p.Device), "was struck before")
	}
	d.Struck = &c
}

func (f *fold) devicePlaced(c Cause, p events.DevicePlaced) {
	if id := events.HubID(p.Device); f.hubs[id] != nil && f.known(p.Device) == nil {
		f.ownHub(id).Place = events.Some(p.Place)
		return
	}
	if d := f.device(c, p.Device); d != nil {
		d.Place, d.Accuracy, d.Placed = events.Some(p.Place), p.Accuracy, &c
	}
}

func (f *fold) drawingPlaced(c Cause, p events.DrawingPlaced) {
	f.about(c, events.Floor(p.Floor))
	f.site.Drawings = append(f.site.Drawings, Drawing{p, c})
}

func (f *fold) wifiSurveyed(c Cause, p events.WifiSurveyed) {
	f.about(c, events.Floor(p.Floor))
	f.site.Surveys = append(f.site.Surveys, Survey{p, c})
}

func (f *fold) testPlanned(c Cause, p events.TestPlanned) {
	f.about(c, events.Room(p.Room))
	f.site.Plans = append(f.site.Plans, Plan{p, c})
}

func (f *fold) linkMeasured(c Cause, p events.LinkMeasured) {
	i := len(f.site.Links)
	f.site.Links = append(f.site.Links, Link{p, c})
	f.mentionEnd(p.A, mention{in: inLinksA, i: i})
	f.mentionEnd(p.B, mention{in: inLinksB, i: i})
}

// strangers notes measured links to what is on no schedule. A survey may well come
// before the schedule, so this is judged by what is known at the moment.
func (f *fold) strangers() {
	for i := range f.site.Links {
		l := &f.site.Links[i]
		for _, end := range []events.Tag{l.A, l.B} {
			if f.hubs[events.HubID(end)] == nil && f.known(end) == nil {
				f.device(l.Measured, end) // notes it
			}
		}
	}
}

// mentionEnd mentions an end of a link, which may be a hub.
func (f *fold) mentionEnd(t events.Tag, m mention) {
	if d := f.known(t); d != nil {
		f.mention(d, m)
	}
}
