package invent

import (
	"cmp"
	"fmt"
	"math/rand/v2"

	"pairwalk/events"
)

// Size says how large a site is to be. What is zero is chosen to fit: 500
// devices, a hub for every 120 of them up to 20 hubs, and two floors more than
// hubs.
type Size struct {
	Seed    uint64
	Devices int
	Hubs    int
	Floors  int
}

func (s Size) filled() Size {
	s.Devices = cmp.Or(s.Devices, 500)
	s.Hubs = cmp.Or(s.Hubs, min(max(s.Devices/120, 1), 20))
	s.Floors = cmp.Or(s.Floors, s.Hubs+2)
	return s
}

// The grid of a floor, in mm.
const (
	roomWide     = 6_000
	roomDeep     = 7_000
	roomsAcross  = 10
	storey       = 3_600
	ceiling      = 2_700
	switchHeight = 1_150
	devicesARoom = 8
)

// Site lists a site's schedule: floors, rooms, hubs, then devices with places,
// in the order of their tags.
func Site(size Size) []events.Payload {
	size = size.filled()
	b := building{Size: size, dice: dice(size.Seed, 1)}
	for f := range size.Floors {
		b.floor(f)
	}
	var out []events.Payload
	for _, list := range [][]events.Payload{b.floors, b.rooms, b.hubs, b.devices} {
		out = append(out, list...)
	}
	return out
}

// dice is a stream of chance of its own.
func dice(seed, stream uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, stream)) }

type building struct {
	Size
	dice                         *rand.Rand
	floors, rooms, hubs, devices []events.Payload

	part int // the share of all devices that is being listed
	hub  int // the hub it goes to
}

// share is how many of n things come before part i of parts.
func share(n, i, parts int) int { return n * i / parts }

func (b *building) floor(f int) {
	level := f - 1
	id := events.FloorID(fmt.Sprint(level))
	if level < 0 {
		id = "B1"
	}
	b.floors = append(b.floors, events.FloorListed{Floor: id, Level: level, Elevation: events.Some(int64(level) * storey)})
	n := share(b.Devices, f+1, b.Floors) - share(b.Devices, f, b.Floors)
	for r := 0; r*devicesARoom < n; r++ {
		b.room(id, int64(level)*storey, r, min(devicesARoom, n-r*devicesARoom))
	}
}

// room lists a room and its devices; they go to the hub in whose share of all
// devices the room begins. A site of few rooms gets fewer hubs than asked for.
func (b *building) room(floor events.FloorID, base int64, r, n int) {
	room := events.RoomListed{Room: events.RoomID(fmt.Sprintf("%s-R%02d", floor, r+1)), Floor: floor, Geometry: "cell"}
	switch {
	case r == 0:
		room.Geometry = "stairs"
	case r%5 == 0:
		room.Geometry = "open plan"
	}
	b.rooms = append(b.rooms, room)
	corner := events.Point{X: int64(r%roomsAcross) * roomWide, Y: int64(r/roomsAcross) * roomDeep, Z: base}
	part := 1 + len(b.devices)*b.Hubs/b.Devices
	fresh := part != b.part
	if b.part = part; fresh {
		b.hub++
	}
	hub := events.HubID(fmt.Sprintf("H%d", b.hub))
	circuit := events.CircuitID(fmt.Sprintf("C%d-%d", b.hub, 1+len(b.rooms)%12))
	if fresh {
		at := corner
		at.X, at.Y, at.Z = at.X+roomWide/2, at.Y+roomDeep/2, at.Z+ceiling
		b.hubs = append(b.hubs, events.HubListed{Hub: hub, Floor: floor, Room: room.Room, Place: events.Some(at), Circuit: circuit})
	}
	for i := range n {
		d := b.device(i, room, corner)
		d.Device = events.Tag(fmt.Sprintf("%s-%d", floor, 101+r*devicesARoom+i))
		d.Hub, d.Circuit = hub, circuit
		if len(b.rooms)%7 == 0 {
			d.Radio = events.Star
		}
		b.devices = append(b.devices, d)
	}
}

// pattern is what a room holds, in the order of its tags.
var pattern = [devicesARoom]events.DeviceKind{
	events.WallControl, events.Driver, events.Driver, events.Driver,
	events.Sensor, events.Driver, events.Dimmer, events.Driver,
}

// device invents the i-th device of a room.
func (b *building) device(i int, room events.RoomListed, corner events.Point) events.DeviceListed {
	d := events.DeviceListed{
		Is: pattern[i], Radio: events.Mesh, Power: events.Mains, Floor: room.Floor, Room: room.Room, Geometry: room.Geometry,
		Maker: "Hollow Lane Lighting", WarrantyStart: "2026-04-01", WarrantyMonths: 60,
	}
	switch roll := b.dice.IntN(100); {
	case i == 1 && room.Geometry == "stairs":
		d.Emergency = true
	case d.Is == events.Driver && roll < 8:
		d.Is = events.Relay
	case d.Is == events.Dimmer && roll < 40:
		d.Is = events.Switch
	case d.Is == events.WallControl && roll < 10:
		d.Is = events.WiredRemote
	case d.Is == events.WallControl && roll < 25, d.Is == events.Sensor && roll < 85:
		d.Power = events.Battery
	case d.Is == events.Driver && roll > 97:
		d.Is = events.Standalone
	}
	d.Model = map[bool]string{true: "HL-" + string(d.Is), false: "HL-ceiling"}[d.Is != events.Driver]
	at := events.Point{X: corner.X + 500 + int64(i%4)*1_600, Y: corner.Y + 1_200 + int64(i/4)*4_400, Z: corner.Z + ceiling}
	if d.Is == events.WallControl || d.Is == events.WiredRemote {
		at.X, at.Z = corner.X+100, corner.Z+switchHeight
	}
	at.X += int64(b.dice.IntN(5)) * 100
	d.Place = events.Some(at)
	return d
}
