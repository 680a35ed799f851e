package walk

import (
	"cmp"
	"slices"

	"github.com/maruel/natural"

	"pairwalk/events"
	"pairwalk/projection"
)

// Order lists the devices scheduled on a hub in the order to walk them. It is
// empty for a hub that the site does not know.
func Order(s *projection.Site, hub events.HubID) []events.Tag {
	h, ok := s.Hub(hub)
	if !ok {
		return nil
	}
	levels := levelsOf(s)
	var devices []*projection.Device
	for i := range s.Devices {
		if d := &s.Devices[i]; d.Hub == hub && d.Struck == nil {
			devices = append(devices, d)
		}
	}
	slices.SortStableFunc(devices, func(a, b *projection.Device) int {
		return cmp.Or(
			cmp.Compare(away(levels, h.Floor, a.Floor), away(levels, h.Floor, b.Floor)),
			compareLevel(levels, a.Floor, b.Floor),
			byName(string(a.Floor), string(b.Floor)),
			cmp.Compare(notRoom(h.Room, a.Room), notRoom(h.Room, b.Room)),
			byName(string(a.Room), string(b.Room)),
			byName(string(a.Device), string(b.Device)))
	})
	out := make([]events.Tag, len(devices))
	for i, d := range devices {
		out[i] = d.Device
	}
	return out
}

// levelsOf is the level of every floor that is listed.
func levelsOf(s *projection.Site) map[events.FloorID]int {
	levels := map[events.FloorID]int{}
	for _, f := range s.Floors {
		levels[f.Floor] = f.Level
	}
	return levels
}

// farAway stands for a distance that nobody knows.
const farAway = 1 << 20

// away is how many levels a floor is from the hub's. A floor without a level is
// farther than any that has one, and no floor at all is farther still.
func away(levels map[events.FloorID]int, from, to events.FloorID) int {
	a, knownA := levels[from]
	b, knownB := levels[to]
	switch {
	case to == "":
		return farAway + 1
	case from == to:
		return 0
	case !knownA || !knownB:
		return farAway
	}
	return max(a-b, b-a)
}

func compareLevel(levels map[events.FloorID]int, a, b events.FloorID) int {
	return cmp.Compare(levels[a], levels[b])
}

func notRoom(own, room events.RoomID) int {
	if room != "" && room == own {
		return 0
	}
	return 1
}

func byName(a, b string) int {
	switch {
	case natural.Less(a, b):
		return -1
	case natural.Less(b, a):
		return 1
	}
	return cmp.Compare(a, b)
}
