package between_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/between"
	"pairwalk/projection/tale"
)

var (
	lamp1, lamp2, lamp3 = events.Device("1-1"), events.Device("1-2"), events.Device("1-3")
	hub1                = events.Hub("H1")
)

func TestNothingDiffersFromItself(t *testing.T) {
	require.Empty(t, differing(shed(), "10:00", "10:00"))
	require.Empty(t, differing(shed(), "10:00", "11:00"), "nothing happened")
}

func TestHowFarADeviceCame(t *testing.T) {
	s := shed()
	pushed := s.Lead.Say("10:00", events.PushDone{Hub: "H1", Program: "r1", Missed: []events.Tag{"1-3"}})
	heard := s.Lead.Say("10:05", events.DeviceHeard{Device: "1-1", Hub: "H1"})
	all := differing(s, "09:30", "10:30")
	told(t, only(t, all, lamp1, between.State), "settled", "pushed", pushed)
	told(t, only(t, all, lamp1, between.Program), "no program", "r1", pushed)
	told(t, only(t, all, lamp1, between.Heard), "never heard", "2026-03-02 10:05:00", heard)
	told(t, only(t, all, lamp3, between.Missed), "missed none", "missed the push 2026-03-02 10:00:00", pushed)
}

func TestWhatOnlyTimeDid(t *testing.T) {
	c := only(t, differing(shed(), "09:05", "09:30"), lamp2, between.State)
	require.Equal(t, [2]string{"paired", "settled"}, [2]string{c.Before, c.After})
	require.Equal(t, "by time alone: its settle time was over at 2026-03-02 09:10", c.Why)

	month := projection.At(tale.T("10:00") + 40*24*3_600_000)
	s := shed()
	s.Lead.Say("09:30", events.DeviceHeard{Device: "1-1", Hub: "H1"})
	path := only(t, between.Changes(s.History(), at("10:00"), month, between.About{}), lamp1, between.Path)
	told(t, path, "yes (observed), 1 hop: 1-1 → H1, with no second path beside it", "yes (predicted), 1 hop: 1-1 → H1, with no second path beside it", nil)
}

// TestAgeingIsNotPutUnderWhatCameBack: the breaker went off and on again, and the
// way home is the same but for being heard too long ago to count.
func TestAgeingIsNotPutUnderWhatCameBack(t *testing.T) {
	s := shed()
	for _, tag := range []events.Tag{"1-1", "1-2", "1-3"} {
		s.Lead.Say("09:30", events.DeviceHeard{Device: tag, Hub: "H1"})
	}
	s.Lead.Say("2026-06-20T10:00:00Z", events.PowerOff{Of: events.Circuit("C1")})
	s.Lead.Say("2026-07-01T11:00:00Z", events.PowerOn{Of: events.Circuit("C1")})
	all := between.Changes(s.History(), at("10:00"), projection.Moment{}, between.About{})
	for _, lamp := range []events.Subject{lamp1, lamp2, lamp3} {
		path := only(t, all, lamp, between.Path)
		require.Contains(t, path.Before, "(observed)")
		told(t, path, path.Before, strings.Replace(path.Before, "observed", "predicted", 1), nil)
	}
}

func TestPairedAnewIsNamedThoughTheStateIsTheSame(t *testing.T) {
	s := shed()
	s.Lead.Say("10:00", events.DeviceUnpaired{Device: "1-1", Why: "reset"})
	again := s.Lead.Say("10:10", events.DevicePaired{Device: "1-1", Hub: "H1", Serial: "S1"})
	told(t, only(t, differing(s, "09:30", "11:00"), lamp1, between.State), "settled 2026-03-02 09:00", "settled again 2026-03-02 10:10", again)

	off := s.Lead.Say("11:30", events.DeviceUnpaired{Device: "1-1", Why: "reset"})
	told(t, only(t, differing(s, "11:00", "12:00"), lamp1, between.State), "settled", "fitted", off)
}

func TestReplacedUnitsAndOtherHubs(t *testing.T) {
	s := shed()
	s.Lead.Say("09:40", events.HubListed{Hub: "H2"})
	swap := s.Lead.Say("10:00", events.DeviceReplaced{Device: "1-1", Old: "S1", New: "S9", Why: "broken"})
	moved := s.Lead.Say("10:10", events.DevicePaired{Device: "1-1", Hub: "H2", Serial: "S9"})
	all := differing(s, "09:50", "11:00")
	told(t, only(t, all, lamp1, between.OnHub), "H1", "H2", moved)
	told(t, only(t, all, lamp1, between.Serial), "S1", "S9", swap)
	require.NotContains(t, about(all), "hub:H2", "it was there before")
	told(t, only(t, differing(s, "09:50", "10:05"), lamp1, between.Serial), "S1", "S9", swap)
}

func TestHubsChannelProgramAndReadiness(t *testing.T) {
	s := shed()
	s.Lead.Say("09:20", events.PushDone{Hub: "H1", Program: "r1"})
	channel := s.Lead.Say("10:00", events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 20})
	loaded := s.Lead.Say("10:01", events.HubLoaded{Hub: "H1", Program: "r2", All: true})
	lost := s.Lead.Say("10:02", events.HubLost{Hub: "H1", Why: "no answer"})
	all := differing(s, "09:50", "11:00")
	told(t, only(t, all, hub1, between.Channel), "mesh 15", "mesh 20", channel)
	told(t, only(t, all, hub1, between.Program), "r1", "r2", loaded)
	told(t, only(t, all, hub1, between.Ready), "ready", "lost: no answer", lost)
	told(t, only(t, all, lamp1, between.Mark), "", "its hub's channel changed since it was pushed", channel)

	s.Lead.Say("11:30", events.HubReady{Hub: "H1"})
	push := s.Lead.Say("12:00", events.PushDone{Hub: "H1", Program: "r2"})
	told(t, only(t, differing(s, "11:00", "12:30"), lamp1, between.Channel), "15", "20", push)
}

// A breaker goes off, and what is on another circuit loses its way home.
func TestAPathLostByABreakerElsewhere(t *testing.T) {
	s := shed()
	s.Lead.Say("09:50", events.NoteAdded{Of: lamp3, Text: "dusty"})
	off := s.Lead.Say("10:00", events.PowerOff{Of: events.Circuit("C1")})
	s.Lead.Say("10:10", events.DeviceHeard{Device: "1-9", Hub: "H9"})
	all := differing(s, "09:40", "11:00")
	told(t, only(t, all, events.Circuit("C1"), between.Power), "on", "off", off)
	told(t, only(t, all, lamp1, between.Power), "on", "dark", off)
	path := only(t, all, lamp3, between.Path)
	require.Equal(t, "yes (predicted), 3 hops: 1-3 → 1-2 → 1-1 → H1, with no second path beside it", path.Before)
	require.Contains(t, path.After, "unknown")
	require.Equal(t, off.Ref(), path.Cause.Ref())
	require.Equal(t, "by an entry about circuit C1", path.Why)

	on := s.Lead.Say("11:30", events.PowerOn{Of: events.Circuit("C1")})
	back := differing(s, "11:00", "12:00")
	told(t, only(t, back, lamp1, between.Power), "dark", "on", on)
	require.Equal(t, on.Ref(), only(t, back, lamp3, between.Path).Cause.Ref())

	require.NotContains(t, about(differing(s, "09:55", "12:00")), "circuit:C1", "off and on again is no difference")
}

func TestPathsOfOneEntryAreFoundAmongMany(t *testing.T) {
	s := shed()
	for i := range 20 {
		s.Lead.SayAt(tale.T("10:00")+events.Instant(i*60_000), events.PowerOff{Of: events.Circuit("C9")})
		s.Lead.SayAt(tale.T("10:00")+events.Instant(i*60_000+30_000), events.PowerOn{Of: events.Circuit("C9")})
		if i == 12 {
			s.Lead.SayAt(tale.T("10:00")+events.Instant(i*60_000+40_000), events.DeviceUnpaired{Device: "1-1", Why: "reset"})
		}
	}
	all := differing(s, "09:40", "11:00")
	cut := only(t, all, lamp1, between.State).Cause
	require.Equal(t, events.Kind("device.unpaired"), cut.Event.Kind())
	for _, of := range []events.Subject{lamp1, lamp2, lamp3} {
		require.Equal(t, cut.Ref(), only(t, all, of, between.Path).Cause.Ref(), of)
	}
}

// A lamp was moved out of reach, between cuts that changed nothing for long.
func TestAPathLostByAMove(t *testing.T) {
	s := shed()
	cut := func(clock string) {
		s.Lead.Say(clock, events.PowerOff{Of: events.Circuit("C9")})
		s.Lead.Say(clock+":30", events.PowerOn{Of: events.Circuit("C9")})
	}
	cut("10:00")
	cut("10:01")
	moved := s.Lead.Say("10:02", events.DevicePlaced{Device: "1-1", Place: events.Point{X: 900_000, Z: 2700}})
	cut("10:03")
	cut("10:04")
	all := differing(s, "09:40", "11:00")
	for _, of := range []events.Subject{lamp1, lamp2, lamp3} {
		require.Equal(t, moved.Ref(), only(t, all, of, between.Path).Cause.Ref(), of)
	}
}

// A breaker that was found off twice went off before the first.
func TestTheFirstWordDidIt(t *testing.T) {
	s := shed()
	off := s.Lead.Say("10:00", events.PowerOff{Of: events.Circuit("C1")})
	s.Lead.Say("10:30", events.PowerOff{Of: events.Circuit("C1")})
	all := differing(s, "09:40", "11:00")
	told(t, only(t, all, events.Circuit("C1"), between.Power), "on", "off", off)
	told(t, only(t, all, lamp1, between.Power), "on", "dark", off)
}

// The last entry about a lamp itself came after what took its way home.
func TestAPathLostBeforeTheLastWordAboutTheLamp(t *testing.T) {
	s := shed()
	off := s.Lead.Say("10:00", events.PowerOff{Of: events.Circuit("C1")})
	s.Lead.Say("10:10", events.DeviceFitted{Device: "1-3", Serial: "S3"})
	require.Equal(t, off.Ref(), only(t, differing(s, "09:40", "11:00"), lamp3, between.Path).Cause.Ref())
}

// A lamp that is paired elsewhere is on another net, and carries others there.
func TestAPathThatLeadsToAnotherHub(t *testing.T) {
	s := shed()
	place := func(x int64) events.Maybe[events.Point] { return events.Some(events.Point{X: x * 1000, Z: 2700}) }
	s.Lead.Say("09:30", events.HubListed{Hub: "H2", Floor: "1", Place: place(30)})
	s.Lead.Say("09:31", events.HubReady{Hub: "H2"})
	s.Lead.Say("09:32", events.DeviceListed{Device: "1-4", Is: events.Driver, Hub: "H2", Radio: events.Mesh, Power: events.Mains, Floor: "1", Place: place(60)})
	s.Lead.Say("09:33", events.DevicePaired{Device: "1-4", Hub: "H2"})
	for _, clock := range []string{"10:00", "10:01", "10:02"} {
		s.Lead.Say(clock, events.PowerOff{Of: events.Circuit("C9")})
		s.Lead.Say(clock+":30", events.PowerOn{Of: events.Circuit("C9")})
	}
	moved := s.Lead.Say("10:03", events.DevicePaired{Device: "1-3", Hub: "H2", Serial: "S3"})
	s.Lead.Say("10:04", events.PowerOff{Of: events.Circuit("C9")})
	all := differing(s, "09:40", "11:00")
	require.Contains(t, only(t, all, lamp3, between.Path).After, "1-3 → H2")
	for _, of := range []events.Subject{lamp3, events.Device("1-4")} {
		require.Equal(t, moved.Ref(), only(t, all, of, between.Path).Cause.Ref(), of)
	}
}

// The second of two ways home goes, and nobody loses their path yet.
func TestTheSecondOfTwoWaysHome(t *testing.T) {
	s := shed()
	s.Lead.Say("09:30", events.DeviceListed{Device: "1-9", Is: events.Driver, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Floor: "1", Circuit: "C3", Place: events.Some(events.Point{X: 15_000, Y: 2000, Z: 2700})})
	s.Lead.Say("09:31", events.DevicePaired{Device: "1-9", Hub: "H1"})
	off := s.Lead.Say("10:00", events.PowerOff{Of: events.Circuit("C3")})
	path := only(t, differing(s, "09:40", "11:00"), lamp2, between.Path)
	told(t, path, "yes (predicted), 2 hops: 1-2 → 1-1 → H1", "yes (predicted), 2 hops: 1-2 → 1-1 → H1, with no second path beside it", off)
}

func TestUnpairedAfterItsLabelWasReadAgain(t *testing.T) {
	s := shed()
	s.Lead.Say("10:00", events.DeviceFitted{Device: "1-1", Serial: "S1"})
	off := s.Lead.Say("10:10", events.DeviceUnpaired{Device: "1-1", Why: "reset"})
	told(t, only(t, differing(s, "09:50", "10:30"), lamp1, between.State), "settled", "fitted", off)
}

// Off, on, and off for good: the last cut did it, although the first named the lamp.
func TestTheLastOfSeveralCutsDidIt(t *testing.T) {
	s := shed()
	s.Lead.Say("10:00", events.PowerOff{Of: events.Circuit("C1"), Dark: []events.Tag{"1-3"}})
	s.Lead.Say("10:10", events.PowerOn{Of: events.Circuit("C1")})
	last := s.Lead.Say("10:20", events.PowerOff{Of: events.Circuit("C1")})
	for i := range 100 {
		s.Lead.SayAt(tale.T("10:30")+events.Instant(i*1000), events.NoteAdded{Of: lamp1, Text: "dusty"})
	}
	all := differing(s, "09:40", "11:00")
	for _, of := range []events.Subject{lamp1, lamp2, lamp3} {
		require.Equal(t, last.Ref(), only(t, all, of, between.Path).Cause.Ref(), of)
	}
	require.Equal(t, last.Ref(), only(t, all, lamp3, between.Power).Cause.Ref())
}

func TestHoldsAndFaults(t *testing.T) {
	s := shed()
	held := s.Lead.Say("10:00", events.HoldPlaced{Of: events.Room("hall"), Why: "wet", Who: "painter"})
	found := s.Lead.Say("10:01", events.FaultFound{Of: lamp2, Symptom: "flickers", Severity: events.Minor})
	all := differing(s, "09:50", "10:30")
	told(t, only(t, all, events.Room("hall"), between.Hold), "no hold", "held: wet (painter)", held)
	told(t, only(t, all, lamp2, between.Fault), "no fault", "open: flickers (minor)", found)

	lifted := s.Lead.Say("11:00", events.HoldLifted{Of: events.Room("hall")})
	given := s.Lead.Say("11:01", events.FaultAssigned{Fault: found.Ref(), Owner: "Ben"})
	all = differing(s, "10:30", "11:30")
	told(t, only(t, all, events.Room("hall"), between.Hold), "held: wet (painter)", "no hold", lifted)
	told(t, only(t, all, lamp2, between.Fault), "open: flickers (minor)", "open: flickers (minor), with Ben", given)

	cleared := s.Lead.Say("12:00", events.FaultCleared{Fault: found.Ref(), Action: "new driver"})
	again := s.Lead.Say("13:00", events.FaultReopened{Fault: found.Ref(), Why: "again"})
	require.Equal(t, cleared.Ref(), only(t, differing(s, "11:30", "12:30"), lamp2, between.Fault).Cause.Ref())
	told(t, only(t, differing(s, "12:30", "13:30"), lamp2, between.Fault), "cleared: flickers, with Ben, to do: new driver", "open again: flickers (minor), with Ben, to do: new driver", again)
}

func TestListedStruckRenamedAndPlaced(t *testing.T) {
	s := shed()
	more := s.Lead.Say("10:00", events.DeviceListed{Device: "1-4", Is: events.Sensor, Hub: "H1", Radio: events.Mesh, Power: events.Battery})
	gone := s.Lead.Say("10:01", events.DeviceStruck{Device: "1-2", Why: "not built"})
	name := s.Lead.Say("10:02", events.DeviceRenamed{From: "1-3", To: "1-33"})
	moved := s.Lead.Say("10:03", events.DevicePlaced{Device: "1-1", Place: events.Point{X: 14_000, Z: 2700}})
	row := s.Lead.Say("10:04", events.RoomListed{Room: "hall", Floor: "1"})
	all := differing(s, "09:50", "11:00")
	told(t, only(t, all, events.Device("1-4"), between.Listed), "not there", "listed", more)
	told(t, only(t, all, lamp2, between.Listed), "listed", "struck", gone)
	told(t, only(t, all, events.Device("1-33"), between.Renamed), "1-3", "1-33", name)
	told(t, only(t, all, lamp1, between.Placed), "15.00, 0.00, 2.70 m", "14.00, 0.00, 2.70 m", moved)
	told(t, only(t, all, events.Room("hall"), between.Listed), "not there", "listed", row)
	require.NotContains(t, about(all), "device:1-3", "one subject, by today's name")
}

func TestATagGivenToAnotherPosition(t *testing.T) {
	s := shed()
	s.Lead.Say("10:00", events.DeviceRenamed{From: "1-3", To: "1-33"})
	fresh := s.Lead.Say("10:10", events.DeviceListed{Device: "1-3", Is: events.Sensor, Hub: "H1", Radio: events.Mesh, Power: events.Battery})
	all := differing(s, "09:50", "11:00")
	told(t, only(t, all, lamp3, between.Listed), "not there", "listed", fresh)
	require.Equal(t, "1-3", only(t, all, events.Device("1-33"), between.Renamed).Before)
}

func TestARowThatWasAmended(t *testing.T) {
	s := shed()
	amended := s.Lead.Say("10:00", events.DeviceListed{Device: "1-1", Is: events.Driver, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Floor: "1", Room: "hall", Circuit: "C7", Place: events.Some(events.Point{X: 15_000, Z: 2700})})
	c := only(t, differing(s, "09:50", "11:00"), lamp1, between.Listed)
	told(t, c, "circuit C1", "circuit C7", amended)
}

func TestWhatWasCheckedMeasuredNotedAndSigned(t *testing.T) {
	s := shed()
	check := s.Lead.Say("10:00", events.CheckDone{Of: lamp1, Test: events.TestAnswer, Pass: true, Reading: "yes"})
	link := s.Lead.Say("10:01", events.LinkMeasured{A: "1-1", B: "1-2", RSSI: events.Some(-60)})
	note := s.Lead.Say("10:02", events.NoteAdded{Of: lamp2, Text: "dusty"})
	sign := s.Lead.Say("10:03", events.WorkSigned{Of: events.Site(), Scope: "all", Signer: "Ann", As: "lead"})
	plan := s.Lead.Say("10:04", events.TestPlanned{Room: "hall", Test: events.TestOccupancy})
	all := differing(s, "09:50", "11:00")
	told(t, only(t, all, lamp1, between.Check), "not done", "answer passed: yes", check)
	require.Equal(t, link.Ref(), only(t, all, lamp1, between.Measured).Cause.Ref())
	told(t, only(t, all, lamp2, between.Noted), "", "dusty", note)
	told(t, only(t, all, events.Site(), between.Signed), "", "all, signed by Ann as lead", sign)
	require.Equal(t, plan.Ref(), only(t, all, events.Room("hall"), between.Planned).Cause.Ref())
}

func TestBackwardsReadsBackwards(t *testing.T) {
	s := shed()
	off := s.Lead.Say("10:00", events.PowerOff{Of: events.Circuit("C1")})
	back := differing(s, "11:00", "09:50")
	told(t, only(t, back, events.Circuit("C1"), between.Power), "off", "on", off)
	require.Contains(t, only(t, back, events.Circuit("C1"), between.Power).Words, "off → on")
	require.Len(t, back, len(differing(s, "09:50", "11:00")))
}
