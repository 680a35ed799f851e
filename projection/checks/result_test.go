package checks_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/checks"
	"pairwalk/projection/tale"
)

// commissioned is the office with everything paired at 09:00 and pushed at 09:20.
func commissioned() *tale.Story {
	s := office()
	for _, tag := range []events.Tag{"3-1", "3-2", "3-3"} {
		s.Lead.Say("09:00", events.DevicePaired{Device: tag, Hub: "H1"})
	}
	push(s, "09:20")
	return s
}

// push brings the records home and pushes.
func push(s *tale.Story, clock string) {
	s.Lead.Say(clock, events.RecordsExported{Export: "at " + clock, Heads: s.Now().Heads})
	s.Lead.Say(clock, events.RecordsMerged{Export: "at " + clock})
	s.Lead.Say(clock, events.PushDone{Hub: "H1", Program: "r1"})
}

func state(t *testing.T, s *tale.Story, of events.Subject, kind events.TestKind) checks.State {
	t.Helper()
	return find(t, checks.Of(s.Now()), of, kind).State
}

func TestAFailedTestIsRepeatedUntilItPasses(t *testing.T) {
	s := commissioned()
	require.Empty(t, find(t, checks.Of(s.Now()), room, events.TestOccupancy).Waits)
	failed := s.Lead.Say("10:00", events.CheckDone{Of: room, Test: events.TestOccupancy, Reading: "stays on", Instrument: "stopwatch", Limit: "20 min", Note: "aimed at the door"})
	o := find(t, checks.Of(s.Now()), room, events.TestOccupancy)
	require.Equal(t, checks.Failed, o.State)
	require.True(t, o.Owed())
	r := o.Results[0]
	require.Equal(t, []string{"stays on", "stopwatch", "20 min", "aimed at the door", "lead"}, []string{r.Reading, r.Instrument, r.Limit, r.Note, r.By})
	require.Equal(t, failed.Ref(), r.Done.Ref())
	require.Equal(t, events.Ref{}, r.Repeats)

	again := s.Lead.Say("10:30", occupancy(room, false))
	s.Lead.Say("11:00", occupancy(room, true))
	o = find(t, checks.Of(s.Now()), room, events.TestOccupancy)
	require.Equal(t, checks.Passed, o.State)
	require.False(t, o.Owed())
	require.Equal(t, []events.Ref{{}, failed.Ref(), again.Ref()}, []events.Ref{o.Results[0].Repeats, o.Results[1].Repeats, o.Results[2].Repeats})
}

// A device's results are told of the device, and of its room among those of the room:
// what comes between them there is between them there alone.
func TestWhatRepeatsAFailureIsToldForEachTestByItself(t *testing.T) {
	s := commissioned()
	own := func(clock string, pass bool) events.Ref {
		return s.Lead.Say(clock, occupancy(events.Device("3-1"), pass)).Ref()
	}
	repeats := func(of events.Subject) []events.Ref {
		var out []events.Ref
		for _, r := range find(t, checks.Of(s.Now()), of, events.TestOccupancy).Results {
			out = append(out, r.Repeats)
		}
		return out
	}
	failed := own("10:00", false)
	s.Lead.Say("10:10", occupancy(room, true))
	own("10:20", true)
	require.Equal(t, []events.Ref{{}, failed, {}}, repeats(room), "the last follows what passed")
}

func TestADevicesAnswersAreInOrderOfTime(t *testing.T) {
	s := commissioned()
	s.Lead.Say("09:30", events.DeviceHeard{Device: "3-1", Hub: "H1"})
	s.Lead.Say("09:40", events.CheckDone{Of: events.Device("3-1"), Test: events.TestAnswer})
	require.Equal(t, checks.Failed, state(t, s, events.Device("3-1"), events.TestAnswer))
}

func TestATestOfWhatWasTouchedSinceIsStale(t *testing.T) {
	for name, touch := range map[string]events.Payload{
		"3-3 was pushed since":           events.PushDone{Hub: "H1", Program: "r1"},
		"3-1 was paired since":           events.DevicePaired{Device: "3-1", Hub: "H1"},
		"3-1 was reset or removed since": events.DeviceUnpaired{Device: "3-1", Why: "reset"},
		"3-3 was replaced since":         events.DeviceReplaced{Device: "3-3", Old: "S1", New: "S2", Why: "burnt"},
	} {
		t.Run(name, func(t *testing.T) {
			s := commissioned()
			s.Lead.Say("10:00", occupancy(room, true))
			require.Equal(t, checks.Passed, state(t, s, room, events.TestOccupancy))
			s.Lead.Say("11:00", touch)
			o := find(t, checks.Of(s.Now()), room, events.TestOccupancy)
			require.Equal(t, checks.Stale, o.State)
			require.True(t, o.Owed())
			if name != "3-3 was pushed since" {
				require.Equal(t, name, o.Results[0].Stale)
			} else {
				require.Contains(t, o.Results[0].Stale, "was pushed since")
			}
			push(s, "11:30")
			s.Lead.Say("12:00", occupancy(room, true))
			require.Equal(t, checks.Passed, state(t, s, room, events.TestOccupancy))
		})
	}
}

func TestAPushOfAnotherRoomTouchesNothingHere(t *testing.T) {
	s := commissioned()
	s.Lead.Say("10:00", occupancy(room, true))
	s.Lead.Say("10:30", device("3-8", events.Driver, "3.13"))
	s.Lead.Say("11:00", events.DevicePaired{Device: "3-8", Hub: "H1"})
	s.Lead.Say("11:30", events.PushDone{Hub: "H1", Program: "r1", Tried: []events.Tag{"3-8"}})
	require.Equal(t, checks.Passed, state(t, s, room, events.TestOccupancy))
}

// A check that failed before its unit was replaced is no longer a failure of what
// hangs there now, but the test is owed still.
func TestAFailureIsNotForgottenWhenTheUnitIsReplaced(t *testing.T) {
	s := commissioned()
	s.Lead.Say("10:00", occupancy(room, false))
	s.Lead.Say("10:10", events.DeviceReplaced{Device: "3-1", Old: "S1", New: "S2", Why: "blind"})
	require.Equal(t, checks.Stale, state(t, s, room, events.TestOccupancy))
	require.Equal(t, []events.Tag{"3-1"}, checks.Of(s.Now()).Groups[0].Failed)
}

func TestACheckOfADeviceIsOneOfARoomWithNoOtherSuch(t *testing.T) {
	s := commissioned()
	s.Lead.Say("10:00", occupancy(events.Device("3-1"), true))
	require.Equal(t, checks.Passed, state(t, s, room, events.TestOccupancy))
	require.Equal(t, []events.Tag{"3-1"}, checks.Of(s.Now()).Groups[0].Passed)
}

func TestWhereARoomHasSeveralSensorsEachDrawnOneIsChecked(t *testing.T) {
	s := commissioned()
	s.Lead.Say("09:30", device("3-7", events.Sensor, "3.12"))
	s.Lead.Say("10:00", occupancy(room, true))
	b := checks.Of(s.Now())
	require.Equal(t, checks.Owed, find(t, b, events.Device("3-1"), events.TestOccupancy).State)
	require.Equal(t, checks.Owed, find(t, b, events.Device("3-7"), events.TestOccupancy).State)
	kept := find(t, b, room, events.TestOccupancy)
	require.Equal(t, checks.FromLog, kept.From, "what was done is listed, though it does not tell which sensor saw somebody")
	require.False(t, kept.Owed())

	s.Lead.Say("10:10", occupancy(events.Device("3-1"), true))
	b = checks.Of(s.Now())
	require.Equal(t, checks.Passed, find(t, b, events.Device("3-1"), events.TestOccupancy).State)
	require.Equal(t, checks.Owed, find(t, b, events.Device("3-7"), events.TestOccupancy).State)
}

func TestARoomPassesByItsDevicesToo(t *testing.T) {
	s := commissioned()
	s.Lead.Say("09:30", device("3-6", events.WallControl, "3.12"))
	manual := func(of events.Subject, pass bool) events.CheckDone {
		return events.CheckDone{Of: of, Test: events.TestManual, Pass: pass}
	}
	s.Lead.Say("10:00", manual(events.Device("3-2"), true))
	require.Equal(t, checks.Owed, state(t, s, room, events.TestManual), "one of two")
	s.Lead.Say("10:01", manual(events.Device("3-6"), true))
	require.Equal(t, checks.Passed, state(t, s, room, events.TestManual))
	s.Lead.Say("10:02", manual(events.Device("3-6"), false))
	require.Equal(t, checks.Failed, state(t, s, room, events.TestManual))
	s.Lead.Say("10:03", manual(room, true))
	require.Equal(t, checks.Passed, state(t, s, room, events.TestManual), "the room's check is one of all in it")
}

func TestEveryPairedDeviceIsToAnswer(t *testing.T) {
	s := commissioned()
	require.Equal(t, 5, checks.Of(s.Now()).Owed)
	heard := s.Lead.Say("09:30", events.DeviceHeard{Device: "3-1", Hub: "H1"})
	s.Lead.Say("09:31", events.CheckDone{Of: events.Device("3-2"), Test: events.TestAnswer, Pass: true})
	b := checks.Of(s.Now())
	require.Equal(t, 3, b.Owed)
	a := find(t, b, events.Device("3-1"), events.TestAnswer)
	require.Equal(t, heard.Ref(), a.Results[0].Done.Ref())
	require.Equal(t, checks.Passed, find(t, b, events.Device("3-2"), events.TestAnswer).State)
	require.Equal(t, checks.Owed, find(t, b, events.Device("3-3"), events.TestAnswer).State)

	s.Lead.Say("10:00", events.DevicePaired{Device: "3-1", Hub: "H1"})
	require.Equal(t, checks.Owed, state(t, s, events.Device("3-1"), events.TestAnswer), "heard before it was paired anew")
}

func TestWhatNothingAskedForIsOwedOnlyWhileItFails(t *testing.T) {
	s := commissioned()
	s.Lead.Say("10:00", events.CheckDone{Of: room, Test: events.TestDaylight})
	d := find(t, checks.Of(s.Now()), room, events.TestDaylight)
	require.Equal(t, checks.FromLog, d.From)
	require.True(t, d.Owed())
	s.Lead.Say("10:10", events.CheckDone{Of: room, Test: events.TestDaylight, Pass: true})
	push(s, "10:20")
	d = find(t, checks.Of(s.Now()), room, events.TestDaylight)
	require.Equal(t, checks.Stale, d.State)
	require.False(t, d.Owed())
}

func TestASensorThatFailedThoughNobodyDrewItIsRepeated(t *testing.T) {
	s := cells(40)
	b := checks.Of(s.Now())
	drawn := b.Groups[0].Drawn
	require.Len(t, drawn, 4)
	var other events.Tag
	for _, tag := range b.Groups[0].Devices {
		if tag != drawn[0] && tag != drawn[1] && tag != drawn[2] && tag != drawn[3] {
			other = tag
		}
	}
	s.Lead.Say("09:00", occupancy(roomOf(other), false))
	b = checks.Of(s.Now())
	require.False(t, b.Groups[0].Widened, "one of five")
	require.True(t, find(t, b, roomOf(other), events.TestOccupancy).Owed())
	require.Equal(t, 5, b.Owed)
	s.Lead.Say("09:10", occupancy(roomOf(other), true))
	require.Equal(t, 4, checks.Of(s.Now()).Owed)
}

func TestAVoidedCheckIsNone(t *testing.T) {
	s := commissioned()
	e := s.Lead.Say("10:00", occupancy(room, false))
	s.Lead.Say("10:05", events.EventVoided{Event: e.Ref(), Why: events.DidNotHappen})
	require.Equal(t, checks.Owed, state(t, s, room, events.TestOccupancy))
	require.Empty(t, checks.Of(s.Now()).Groups[0].Failed)
}

// A check that came late, told with its own time, takes its place by that time.
func TestALateCheckStandsAtItsOwnTime(t *testing.T) {
	s := commissioned()
	s.Lead.Say("11:00", occupancy(room, true))
	s.Lead.Say("12:00", occupancy(room, false), tale.When("10:00", "10:05"))
	o := find(t, checks.Of(s.Now()), room, events.TestOccupancy)
	require.Equal(t, checks.Passed, o.State)
	require.False(t, o.Results[0].Pass)
	require.Equal(t, o.Results[0].Done.Ref(), o.Results[1].Repeats)
}

// Another device of the room took a push: that takes the room's failure its weight,
// and does not make an older check of the sensor good again.
func TestAFailureThatCountsNoMoreDoesNotBringBackAnOlderPass(t *testing.T) {
	s := commissioned()
	s.Lead.Say("10:00", occupancy(events.Device("3-1"), true))
	s.Lead.Say("10:10", occupancy(room, false))
	s.Lead.Say("10:20", events.PushDone{Hub: "H1", Program: "r1", Tried: []events.Tag{"3-3"}})
	require.Equal(t, checks.Stale, state(t, s, room, events.TestOccupancy))
}

func TestWhatATestWaitsFor(t *testing.T) {
	waits := func(s *tale.Story) string { return find(t, checks.Of(s.Now()), room, events.TestManual).Waits }
	s := office()
	for _, tag := range []events.Tag{"3-3", "3-2", "3-1"} {
		require.Equal(t, "3-1 is not paired yet", waits(s))
		s.Lead.Say("09:00", events.DevicePaired{Device: tag, Hub: "H1"})
	}
	require.Equal(t, "3-1 has not taken the hub's program yet", waits(s))
	push(s, "09:20")
	require.Empty(t, waits(s))
	s.Lead.Say("09:30", events.HoldPlaced{Of: events.Device("3-3"), Why: "wet"})
	require.Equal(t, "3-3 is on hold", waits(s))
	s.Lead.Say("09:31", events.HoldLifted{Of: events.Device("3-3")})
	s.Lead.Say("09:32", events.PowerOff{Of: events.Device("3-2")})
	require.Equal(t, "3-2 has no power, says the log", waits(s))
}

func TestAnEmergencyDeviceKeepsTheRoomFromNoTestButItsOwn(t *testing.T) {
	s := office()
	exit := device("3-9", events.Driver, "3.12")
	exit.Emergency = true
	s.Lead.Say("08:10", exit)
	for _, tag := range []events.Tag{"3-1", "3-2", "3-3"} {
		s.Lead.Say("09:00", events.DevicePaired{Device: tag, Hub: "H1"})
	}
	push(s, "09:20")
	b := checks.Of(s.Now())
	require.Empty(t, find(t, b, room, events.TestManual).Waits)
	require.Contains(t, find(t, b, room, events.TestEgress).Waits, "needs the authority's word")
}
