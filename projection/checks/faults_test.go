package checks_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/checks"
	"pairwalk/projection/tale"
)

func photo(of events.Subject, caption string) events.PhotoAdded {
	return events.PhotoAdded{Of: of, Caption: caption, Picture: events.Picture{SHA256: events.HashOf([]byte(caption)).String(), Bytes: 1, Type: "image/png"}}
}

func TestAFaultTellsItsWholeStory(t *testing.T) {
	s := office()
	driver := events.Device("3-3")
	s.Lead.Say("08:59", photo(driver, "before anybody saw it"))
	s.Lead.Say("08:59", events.DevicePlaced{Device: "3-3", Place: events.Point{X: 1000, Y: 2000, Z: 2700}})
	found := s.Lead.Say("09:00", events.FaultFound{Of: driver, Symptom: "flickers", Severity: events.Major, Trade: "electrical"})
	s.Lead.Say("09:01", photo(driver, "flicker"))
	s.Lead.Say("09:02", photo(room, "the room"))
	s.Lead.Say("09:10", events.FaultAssigned{Fault: found.Ref(), Owner: "site electrician", Action: "swap the driver"})
	s.Lead.Say("2026-03-03T10:00:00Z", events.FaultCleared{Fault: found.Ref(), Action: "swapped"})
	s.Lead.Say("2026-03-03T10:05:00Z", photo(driver, "lit again"))
	s.Lead.Say("2026-03-07T08:59:00Z", events.FaultReopened{Fault: found.Ref(), Why: "again"})

	at := func(clock string) checks.Trouble {
		return checks.Faults(s.History().At(projection.At(tale.T(clock))))[0]
	}
	x := at("09:05")
	require.Equal(t, checks.Open, x.State)
	require.Equal(t, []any{events.FloorID("3"), events.RoomID("3.12"), events.Some(events.Point{X: 1000, Y: 2000, Z: 2700}), "lead"}, []any{x.Floor, x.Room, x.Place, x.By})
	require.Equal(t, checks.Assigned, at("09:15").State)

	x = at("2026-03-05T12:00:00Z")
	require.Equal(t, checks.Cleared, x.State)
	require.Equal(t, 1, x.Age, "it stood for a day and an hour")
	require.Len(t, x.Photos, 1)
	require.Equal(t, "flicker", x.Photos[0].Caption)

	x = at("2026-03-07T09:00:00Z")
	require.Equal(t, checks.Reopened, x.State)
	require.Equal(t, 5, x.Age, "from the first finding, to the minute")
	require.Equal(t, 4, at("2026-03-07T08:59:59Z").Age)
	require.Len(t, x.Photos, 2, "the one between clearing and reopening is of a fault that stands again")
	var steps [][2]string
	for _, y := range x.Steps {
		steps = append(steps, [2]string{y.What, y.Words})
		require.Equal(t, "lead", y.By)
	}
	require.Equal(t, [][2]string{
		{"found", "flickers; major; trade: electrical"},
		{"assigned", "site electrician has it; to do: swap the driver"},
		{"cleared", "swapped"},
		{"reopened", "again"},
	}, steps)
}

func TestWhereAFaultIs(t *testing.T) {
	s := office()
	s.Lead.Say("08:10", events.HubListed{Hub: "H2", Floor: "3", Room: "riser"})
	s.Lead.Say("08:11", events.WallListed{Wall: "w1", Floor: "3", Material: "brick", Thickness: 100, Line: []events.XY{{}, {X: 1}}})
	want := map[events.Subject][2]string{
		events.Device("3-1"): {"3", "3.12"}, events.Hub("H2"): {"3", "riser"}, room: {"3", "3.12"},
		events.Floor("3"): {"3", ""}, {Class: events.OfWall, ID: "w1"}: {"3", ""}, events.Circuit("C1"): {"", ""}, events.Site(): {"", ""},
	}
	for of := range want {
		s.Lead.Say("09:00", events.FaultFound{Of: of, Symptom: "x", Severity: events.Minor})
	}
	all := checks.Faults(s.Now())
	require.Len(t, all, len(want))
	for _, x := range all {
		require.Equal(t, want[x.Of], [2]string{string(x.Floor), string(x.Room)}, "%s", x.Of)
	}
}
