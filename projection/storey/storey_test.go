package storey_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/storey"
)

func TestNamed(t *testing.T) {
	for name, want := range map[events.FloorID]int{"0": 0, "12": 12, "-2": -2, "B1": -1, "b2": -2} {
		level, ok := storey.Named(name)
		require.True(t, ok, "%s", name)
		require.Equal(t, want, level, "%s", name)
	}
	for _, name := range []events.FloorID{"", "roof", "B", "1001", "2a"} {
		_, ok := storey.Named(name)
		require.False(t, ok, "%q", name)
	}
}

func at(z int64) events.Maybe[events.Point] { return events.Some(events.Point{Z: z}) }

func TestFloorAndLevel(t *testing.T) {
	none := events.Maybe[events.Point]{}
	s := &projection.Site{
		Floors: []events.FloorListed{{Floor: "1", Level: 1}, {Floor: "hall", Level: 2, Elevation: events.Some[int64](9000)}},
		Rooms:  []events.RoomListed{{Room: "plant", Floor: "B1"}},
	}
	x := storey.Of(s)
	require.True(t, x.Known())
	for _, c := range []struct {
		name  string
		floor events.FloorID
		room  events.RoomID
		at    events.Maybe[events.Point]
		want  events.FloorID
		level int
		known bool
	}{
		{"its own floor counts", "1", "plant", at(9500), "1", 1, true},
		{"else its room's", "", "plant", at(9500), "B1", 0, true},
		{"else the highest that is not above it", "", "", at(8999), "1", 1, true},
		{"at the very height of a floor it is on that", "", "", at(9000), "hall", 2, true},
		{"below them all it is on the lowest", "", "", at(-50_000), "B1", 0, true},
		{"nothing is known of it", "", "", none, "", 0, false},
		{"a floor nobody knows goes by the height", "loft", "", at(20_000), "loft", 2, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			floor := x.Floor(c.floor, c.room, c.at)
			require.Equal(t, c.want, floor)
			level, known := x.Level(floor, c.at)
			require.Equal(t, c.known, known)
			require.Equal(t, c.level, level)
		})
	}
}

// Where no floor is known, levels go by height alone, 3.5 m each.
func TestLevelsByHeight(t *testing.T) {
	x := storey.Of(&projection.Site{})
	require.False(t, x.Known())
	for z, want := range map[int64]int{0: 0, 3499: 0, 3500: 1, -1: -1, -3500: -1, -3501: -2} {
		level, known := x.Level("", at(z))
		require.True(t, known)
		require.Equal(t, want, level, "%d mm", z)
	}
}
