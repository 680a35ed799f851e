// Package storey says on which floor and level something is, from whatever the
// schedule tells of it. The level of a floor is that of its listed elevation, else
// 3.5 m for each level (common practice, no source); a floor nobody listed has the
// level its name says if that is a number, B1 being the first basement.
package storey

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
)

// Height is how far one level lies above the next where no elevation is
// listed, in mm: the same as an import takes.
const Height = 3_500

// Storeys are the floors of a site, from the lowest up.
type Storeys struct {
	height map[events.FloorID]int64
	rising []events.FloorID // the lowest first
	levels []int64          // heights, rising, each once
	rooms  map[events.RoomID]events.FloorID
}

// Of takes the floors that are listed, and those the schedule names by a number
// although nobody listed them.
func Of(s *projection.Site) *Storeys {
	t := &Storeys{height: map[events.FloorID]int64{}, rooms: map[events.RoomID]events.FloorID{}}
	for _, f := range s.Floors {
		t.height[f.Floor] = int64(f.Level) * Height
		if f.Elevation.Known {
			t.height[f.Floor] = f.Elevation.Value
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
	for f, h := range t.height {
		t.rising = append(t.rising, f)
		t.levels = append(t.levels, h)
	}
	slices.SortFunc(t.rising, func(a, b events.FloorID) int {
		return cmp.Or(cmp.Compare(t.height[a], t.height[b]), events.ByName(a, b))
	})
	slices.Sort(t.levels)
	t.levels = slices.Compact(t.levels)
	return t
}

// named takes a floor that nobody listed by the number that is its name.
func (t *Storeys) named(id events.FloorID) {
	if _, known := t.height[id]; known {
		return
	}
	if level, ok := Named(id); ok {
		t.height[id] = int64(level) * Height
	}
}

// Named reads the level in a floor's name: a number, or B1 for the first basement.
func Named(id events.FloorID) (level int, ok bool) {
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

// Known says whether any floor is known at all.
func (t *Storeys) Known() bool { return len(t.levels) > 0 }

// Floor is a thing's own floor, else its room's, else by its place the highest one
// that is not above it, or the lowest for what is below them all; "" unknown.
func (t *Storeys) Floor(own events.FloorID, room events.RoomID, at events.Maybe[events.Point]) events.FloorID {
	if own == "" {
		own = t.rooms[room]
	}
	if own != "" || !at.Known {
		return own
	}
	for _, f := range t.rising {
		if own == "" || t.height[f] <= at.Value.Z && t.height[f] > t.height[own] {
			own = f
		}
	}
	return own
}

// Level counts storeys from the lowest known floor: by the floor, else by the
// height of the place; by height alone where no floor is known on the site.
func (t *Storeys) Level(floor events.FloorID, at events.Maybe[events.Point]) (int, bool) {
	h, ok := t.height[floor]
	switch {
	case !ok && !at.Known:
		return 0, false
	case !ok:
		h = at.Value.Z
	}
	if len(t.levels) == 0 {
		return int(floorDiv(h, Height)), true
	}
	n, exact := slices.BinarySearch(t.levels, h)
	if !exact {
		n--
	}
	return max(n, 0), true
}

// floorDiv rounds down, also below 0.
func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}
