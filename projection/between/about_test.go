package between_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/between"
	"pairwalk/projection/tale"
)

// twoSheds is a shed and, on floor 2, one lamp on a hub of its own; both have
// trouble between 10:00 and 10:10.
func twoSheds() *tale.Story {
	s := shed()
	s.Lead.Say("09:20", events.HubListed{Hub: "H2", Floor: "2"})
	s.Lead.Say("09:21", events.DeviceListed{Device: "2-1", Is: events.Driver, Hub: "H2", Radio: events.Mesh, Power: events.Mains, Floor: "2", Room: "attic", Circuit: "C5"})
	s.Lead.Say("10:00", events.PowerOff{Of: events.Circuit("C1")})
	s.Lead.Say("10:01", events.HubLost{Hub: "H2", Why: "no answer"})
	s.Lead.Say("10:02", events.FaultFound{Of: events.Device("2-1"), Symptom: "dark", Severity: events.Major})
	s.Lead.Say("10:03", events.HoldPlaced{Of: events.Room("attic"), Why: "wet"})
	s.Lead.Say("10:04", events.NoteAdded{Of: lamp2, Text: "dusty"})
	return s
}

func TestNarrowedToAFloorHubRoomCircuitOrDevice(t *testing.T) {
	s := twoSheds()
	for _, tt := range []struct {
		name  string
		about events.Subject
		whom  []string
	}{
		{"a floor", events.Floor("2"), []string{"device:2-1", "hub:H2"}},
		{"a hub", hub1, []string{"device:1-1", "device:1-2", "device:1-3"}},
		{"a room", events.Room("attic"), []string{"device:2-1", "room:attic"}},
		{"a circuit", events.Circuit("C2"), []string{"device:1-2", "device:1-3"}},
		{"a device, with what it hangs on", lamp1, []string{"circuit:C1", "device:1-1"}},
		{"a device, with its hub and its hold", events.Device("2-1"), []string{"device:2-1", "hub:H2", "room:attic"}},
		{"the whole site", events.Site(), []string{"circuit:C1", "device:1-1", "device:1-2", "device:1-3", "device:2-1", "hub:H2", "room:attic"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			require.Equal(t, tt.whom, about(between.Changes(s.History(), at("09:50"), at("10:30"), between.About(tt.about))))
		})
	}
}

// A device that moved away belongs to where it was, and to where it is.
func TestWhoLeftAFloorIsOnItStill(t *testing.T) {
	s := shed()
	s.Lead.Say("10:00", events.DeviceListed{Device: "1-1", Is: events.Driver, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Floor: "2", Room: "attic", Circuit: "C1"})
	for _, floor := range []events.FloorID{"1", "2"} {
		require.Contains(t, about(between.Changes(s.History(), at("09:50"), at("11:00"), between.About(events.Floor(floor)))), "device:1-1")
	}
}

func TestWhatCameAndWent(t *testing.T) {
	s := shed()
	off := s.Lead.Say("10:00", events.PowerOff{Of: events.Circuit("C1")})
	on := s.Lead.Say("10:20", events.PowerOn{Of: events.Circuit("C1")})
	s.Lead.Say("10:30", events.HoldPlaced{Of: lamp2, Why: "wet"})
	s.Lead.Say("10:40", events.HoldLifted{Of: lamp2})
	s.Lead.Say("10:50", events.HubLost{Hub: "H1", Why: "no answer"})
	s.Lead.Say("10:55", events.HubReady{Hub: "H1"})
	fault := s.Lead.Say("11:00", events.FaultFound{Of: lamp3, Symptom: "dark", Severity: events.Major})
	s.Lead.Say("11:10", events.FaultCleared{Fault: fault.Ref()})
	s.Lead.Say("11:20", events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 20})
	s.Lead.Say("11:25", events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 15})

	all := between.Passing(s.History(), at("09:50"), at("12:00"), between.About{})
	var said []string
	for _, p := range all {
		said = append(said, p.Words)
	}
	require.Equal(t, []string{
		"circuit C1: power off from 2026-03-02 10:00 to 10:20; 3 devices had another way home meanwhile, or none",
		"1-2: held from 2026-03-02 10:30 to 10:40",
		"H1: lost from 2026-03-02 10:50 to 10:55; 3 devices had another way home meanwhile, or none",
		"1-3: fault open, dark from 2026-03-02 11:00 to 11:10",
		"H1: on mesh 20 from 2026-03-02 11:20 to 11:25",
		"H1: conflict from 2026-03-02 11:20 to 11:25: H1 went to mesh channel 20 after devices were paired; until a push they know the old one",
	}, said)
	require.Equal(t, off.Ref(), all[0].Began.Ref())
	require.Equal(t, on.Ref(), all[0].Ended.Ref())
	require.Equal(t, []events.Tag{"1-1", "1-2", "1-3"}, all[0].Touched)

	require.Empty(t, between.Passing(s.History(), at("10:10"), at("10:15"), between.About{}), "it was off at both")
	require.Len(t, between.Passing(s.History(), at("12:00"), at("09:50"), between.About{}), 6, "the same read backwards")
	require.Len(t, between.Passing(s.History(), at("09:50"), at("10:25"), between.About(lamp3)), 1, "its way home went with C1")
}

// Off before, on for a while, off again: that passed too.
func TestPowerThatWasOnForAWhile(t *testing.T) {
	s := shed()
	s.Lead.Say("09:30", events.PowerOff{Of: events.Circuit("C2")})
	s.Lead.Say("10:00", events.PowerOn{Of: events.Circuit("C2")})
	s.Lead.Say("10:10", events.PowerOff{Of: events.Circuit("C2")})
	all := between.Passing(s.History(), at("09:50"), at("11:00"), between.About{})
	require.Len(t, all, 1)
	require.Contains(t, all[0].Words, "circuit C2: power on from 2026-03-02 10:00 to 10:10")
}

// From one channel to the next and the next, and back: away once.
// TestElevenDaysAreNoHour: read on the day on which the power came back.
func TestElevenDaysAreNoHour(t *testing.T) {
	s := shed()
	s.Lead.Say("2026-06-20T10:00:00Z", events.PowerOff{Of: events.Circuit("C1")})
	s.Lead.Say("2026-07-01T11:00:00Z", events.PowerOn{Of: events.Circuit("C1")})
	all := between.Passing(s.History(), at("09:50"), projection.Moment{}, between.About{})
	require.Len(t, all, 1)
	require.Contains(t, all[0].Words, "power off from 2026-06-20 10:00 to 2026-07-01 11:00")
}

func TestAwayIsAwayUntilItIsBack(t *testing.T) {
	s := shed()
	for i, channel := range []int{20, 25, 15} {
		s.Lead.SayAt(tale.T("10:00")+events.Instant(i*600_000), events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: channel})
	}
	all := slices.DeleteFunc(between.Passing(s.History(), at("09:50"), at("11:00"), between.About{}), func(p between.Passage) bool { return p.What != between.Channel })
	require.Len(t, all, 1)
	require.Equal(t, "H1: on mesh 20 from 2026-03-02 10:00 to 10:20", all[0].Words)
}
