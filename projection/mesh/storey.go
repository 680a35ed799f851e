package mesh

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
)

// storeyHeight is how far one level lies above the next where no elevation is
// listed, in mm: the same as an import takes.
const storeyHeight = 3_500

// storeys says on which level a place is, and what lies between two levels.
type storeys struct {
	heights []int64 // of every known floor, rising, each once
	of      map[events.FloorID]int64
	rising  []events.FloorID // every known floor, the lowest first
	rooms   map[events.RoomID]events.FloorID
}

// newStoreys takes the floors that are listed, and those the schedule names by a
// number although nobody listed them.
func newStoreys(s *projection.Site) storeys {
	t := storeys{of: map[events.FloorID]int64{}, rooms: map[events.RoomID]events.FloorID{}}
	for _, f := range s.Floors {
		t.of[f.Floor] = int64(f.Level) * storeyHeight
		if f.Elevation.Known {
			t.of[f.Floor] = f.Elevation.Value
		}
	}
	for _, r := range s.Rooms {
		t.rooms[r.Room] = r.Floor
		t.named(r.Floor)
	}
	for i := range s.Hubs {
		t.named(s.Hubs[i].Floor)
	}
	for i := range s.Devices {
		t.named(s.Devices[i].Floor)
	}
	for f := range t.of {
		t.rising = append(t.rising, f)
	}
	slices.SortFunc(t.rising, func(a, b events.FloorID) int {
		return cmp.Or(cmp.Compare(t.of[a], t.of[b]), events.ByName(a, b))
	})
	for _, h := range t.of {
		t.heights = append(t.heights, h)
	}
	slices.Sort(t.heights)
	t.heights = slices.Compact(t.heights)
	return t
}

// named takes a floor that nobody listed by the number that is its name.
func (t *storeys) named(id events.FloorID) {
	if _, known := t.of[id]; known || id == "" {
		return
	}
	if level, ok := levelNamed(id); ok {
		t.of[id] = int64(level) * storeyHeight
	}
}

// levelNamed reads the level in a floor's name: a number, or B1 for the first
// basement.
func levelNamed(id events.FloorID) (int, bool) {
	name, below := strings.CutPrefix(strings.ToUpper(string(id)), "B")
	level, err := strconv.Atoi(name)
	if err != nil || level > 1000 || level < -1000 {
		return 0, false
	}
	if below {
		level = -level
	}
	return level, true
}

// level is the storey of a place: counted from the lowest known floor by its
// floor, else by its height; by height alone where no floor is known.
func (t *storeys) level(floor events.FloorID, z int64) int32 {
	if len(t.heights) == 0 {
		return int32(floorDiv(z, storeyHeight))
	}
	h, ok := t.of[floor]
	if !ok {
		h = z
	}
	n, exact := slices.BinarySearch(t.heights, h)
	if !exact {
		n--
	}
	return int32(max(n, 0))
}

// floor is the floor a thing is on: its own, else its room's, else the highest
// one that is not above it; the lowest for what is below them all.
func (t *storeys) floor(own events.FloorID, room events.RoomID, z events.Maybe[int64]) events.FloorID {
	if own == "" {
		own = t.rooms[room]
	}
	if own != "" || !z.Known {
		return own
	}
	for _, f := range t.rising {
		if own == "" || t.of[f] <= z.Value && t.of[f] > t.of[own] {
			own = f
		}
	}
	return own
}
