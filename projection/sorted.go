package projection

import (
	"cmp"
	"maps"
	"slices"

	"pairwalk/events"
)

// sorted is what a fold has put in the order of names, to be used again by all
// that go on from it: a site's schedule changes less than what is done on it.
// Nothing of it is changed in place.
type sorted struct {
	devices []int              // places in fold.table
	index   map[events.Tag]int // places in devices
	more    []int              // come since; all of them where devices is nil
	floors  []events.FloorListed
	rooms   []events.RoomListed
	walls   []events.WallListed

	circuits []events.CircuitID
}

// sortedDevices lists the places of the devices in the table, by name.
func (f *fold) sortedDevices() []int {
	f.sortDevices()
	return f.sorted.devices
}

func (f *fold) byName(a, b int) int { return events.ByName(f.table.at(a).tag(), f.table.at(b).tag()) }

func (f *fold) sortDevices() {
	switch s := &f.sorted; {
	case s.devices == nil:
		s.devices = make([]int, 0, len(f.devices.m))
		for _, at := range f.devices.m {
			s.devices = append(s.devices, at)
		}
		slices.SortFunc(s.devices, f.byName)
	case len(s.more) > 0:
		more := slices.SortedFunc(slices.Values(s.more), f.byName)
		s.devices = interleaved(s.devices, more, f.byName)
	}
	if s := &f.sorted; s.index == nil || s.more != nil {
		s.index = make(map[events.Tag]int, len(s.devices))
		for i, at := range s.devices {
			s.index[f.table.at(at).tag()] = i
		}
	}
	f.sorted.more = nil
}

// interleaved puts a few more into a sorted list.
func interleaved(list, more []int, compare func(a, b int) int) []int {
	out := make([]int, 0, len(list)+len(more))
	for _, x := range more {
		i, _ := slices.BinarySearchFunc(list, x, compare)
		out = append(append(out, list[:i]...), x)
		list = list[i:]
	}
	return append(out, list...)
}

// sortSchedule puts floors, rooms, walls and circuits in their order.
func (f *fold) sortSchedule() {
	s := &f.sorted
	if s.floors == nil {
		s.floors = values(f.floors.m)
		slices.SortFunc(s.floors, func(a, b events.FloorListed) int {
			return cmp.Or(cmp.Compare(a.Level, b.Level), events.ByName(a.Floor, b.Floor))
		})
	}
	if s.rooms == nil {
		s.rooms = values(f.rooms.m)
		slices.SortFunc(s.rooms, func(a, b events.RoomListed) int { return events.ByName(a.Room, b.Room) })
	}
	if s.walls == nil {
		s.walls = values(f.walls.m)
		slices.SortFunc(s.walls, func(a, b events.WallListed) int { return events.ByName(a.Wall, b.Wall) })
	}
	if s.circuits == nil {
		s.circuits = slices.SortedFunc(maps.Keys(f.circuits.m), events.ByName[events.CircuitID])
	}
}

// values lists what is in a map; nil where that is nothing.
func values[K comparable, V any](m map[K]V) []V {
	var out []V
	for _, x := range m {
		out = append(out, x)
	}
	return out
}
