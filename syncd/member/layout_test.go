package member_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale/chance"
	"pairwalk/syncd/member"
)

// Where layouts are called the same they are written the same, in any story and from
// any moment to another.
func TestTheSameLayoutIsWrittenTheSame(t *testing.T) {
	same := 0
	rapid.Check(t, func(t *rapid.T) {
		h := chance.Story(t).History()
		now := h.At(projection.Moment{})
		was := now
		for range 6 {
			s := h.At(chance.Moment(t, now))
			if member.SameLayout(was, s) {
				same++
				require.Equal(t, member.LayoutOf(was), member.LayoutOf(s))
			}
			was = s
		}
	})
	require.Positive(t, same)
}

// What is said of the work leaves the layout as it is, and each thing that is listed
// makes another.
func TestWhatMakesAnotherLayout(t *testing.T) {
	_, ada, _ := pairOf(t)
	for _, x := range []events.Payload{
		events.DeviceHeard{Device: "1-007", Hub: "H1"}, events.DevicePaired{Device: "1-008", Hub: "H1"}, events.HubReady{Hub: "H1"},
		events.NoteAdded{Of: events.Device("1-007"), Text: "x"}, events.PowerOff{Of: events.Device("1-007")},
	} {
		before := ada.Now()
		ada.log(x)
		require.True(t, member.SameLayout(before, ada.Now()), "%T", x)
	}
	for _, x := range []events.Payload{
		events.FloorListed{Floor: "9", Level: 9}, events.RoomListed{Room: "9-1", Floor: "9"}, events.HubListed{Hub: "H1", Floor: "9"},
		events.WallListed{Wall: "w", Floor: "9", Material: "glass", Thickness: 100, Line: []events.XY{{}, {X: 1000}}},
		events.WallListed{Wall: "w", Floor: "9", Material: "glass", Thickness: 100, Line: []events.XY{{}, {X: 2000}}},
		events.DevicePlaced{Device: "1-007", Place: events.Point{X: 1, Y: 2, Z: 3}, Accuracy: 10},
		events.DevicePlaced{Device: "1-007", Place: events.Point{X: 1, Y: 2, Z: 3}, Accuracy: 20},
		events.DeviceRenamed{From: "1-007", To: "1-777"}, events.DeviceStruck{Device: "1-008", Why: "not built"},
	} {
		before := ada.Now()
		ada.log(x)
		require.NotEqual(t, member.LayoutOf(before), member.LayoutOf(ada.Now()), "%T", x)
		require.False(t, member.SameLayout(before, ada.Now()), "%T", x)
	}
}
