package walk

import (
	"cmp"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/storey"
)

// Order lists the devices scheduled on a hub in the order to walk them. It is
// empty for a hub that the site does not know.
func Order(s *projection.Site, hub events.HubID) []events.Tag {
	h, ok := s.Hub(hub)
	if !ok {
		return nil
	}
	var scheduled []*projection.Device
	for i := range s.Devices {
		if d := &s.Devices[i]; d.Hub == hub {
			scheduled = append(scheduled, d)
		}
	}
	return order(s, h, scheduled)
}

// order puts those of a hub's scheduled devices that pair in the order to walk them.
func order(s *projection.Site, h *projection.Hub, scheduled []*projection.Device) []events.Tag {
	levels := levelsOf(s)
	var stops []stop
	for _, d := range scheduled {
		if d.Struck == nil && (d.Row == nil || d.Is.Pairs()) {
			stops = append(stops, newStop(levels, h, d, floorOf(s, d)))
		}
	}
	slices.SortFunc(stops, stop.compare)
	out := make([]events.Tag, len(stops))
	for i, x := range stops {
		out[i] = x.tag
	}
	return out
}

// stop is a device on the walk, with what puts it in its place.
type stop struct {
	away  int // levels from the hub's floor
	level int
	floor events.FloorID
	aside int // 1 if not in the hub's own room
	room  events.RoomID
	tag   events.Tag
}

// Distances in levels that are not known: of a floor, and of a device that is on
// no floor anybody wrote down.
const (
	farFloor = 1 << 20
	noFloor  = 1 << 21
)

func newStop(levels map[events.FloorID]int, h *projection.Hub, d *projection.Device, floor events.FloorID) stop {
	x := stop{floor: floor, aside: 1, room: d.Room, tag: d.Device}
	if d.Room != "" && d.Room == h.Room {
		x.aside = 0
	}
	here, hubKnown := levelOf(levels, h.Floor)
	level, known := levelOf(levels, floor)
	x.level = level
	switch {
	case floor == "":
		x.away = noFloor
	case floor == h.Floor:
		x.away = 0
	case !known:
		x.away = farFloor
	case hubKnown:
		x.away = max(level-here, here-level)
	default:
		x.away = 1 // all the same, so from the lowest up
	}
	return x
}

func (x stop) compare(y stop) int {
	return cmp.Or(
		cmp.Compare(x.away, y.away),
		cmp.Compare(x.level, y.level),
		events.ByName(x.floor, y.floor),
		cmp.Compare(x.aside, y.aside),
		events.ByName(x.room, y.room),
		events.ByName(x.tag, y.tag))
}

// floorOf is the floor of a device, else of its room.
func floorOf(s *projection.Site, d *projection.Device) events.FloorID {
	if d.Floor != "" || d.Room == "" {
		return d.Floor
	}
	return roomFloor(s, d.Room)
}

func roomFloor(s *projection.Site, id events.RoomID) events.FloorID {
	for _, r := range s.Rooms {
		if r.Room == id {
			return r.Floor
		}
	}
	return ""
}

// levelsOf is the level of every floor that is listed.
func levelsOf(s *projection.Site) map[events.FloorID]int {
	levels := map[events.FloorID]int{}
	for _, f := range s.Floors {
		levels[f.Floor] = f.Level
	}
	return levels
}

func levelOf(levels map[events.FloorID]int, f events.FloorID) (level int, known bool) {
	if level, known = levels[f]; known {
		return level, true
	}
	return storey.Named(f)
}
