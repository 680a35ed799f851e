package projection_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
)

// home takes everything said so far to the office, as export id, and has it
// merged a minute later, for the whole site.
func home(who *tale.Teller, clock, id string, feeds ...*tale.Teller) (export, merge *events.Event) {
	export = who.Say(clock, events.RecordsExported{Export: id, Heads: tale.Cut(feeds...)})
	merge = who.Say(clock, events.RecordsMerged{Export: id})
	return export, merge
}

func TestTheLadderOfAMeshDevice(t *testing.T) {
	s := job()
	row := s.Lead.Say("08:30", lamp("1-9", "H1"))
	fit := s.Lead.Say("09:00", fitted("1-9", "S1"))
	pairing := s.Lead.Say("09:30", paired("1-9", "H1"))
	home(s.Lead, "09:45", "x1", s.Lead)
	push := s.Lead.Say("10:00", events.PushDone{Hub: "H1", Program: "r1"})

	steps := []struct {
		clock string
		state projection.State
		since *events.Event
		needs []projection.Need
	}{
		{"08:45", projection.Listed, row, []projection.Need{projection.NeedPair}},
		{"09:15", projection.Fitted, fit, []projection.Need{projection.NeedPair}},
		{"09:30", projection.Paired, pairing, []projection.Need{projection.NeedPush}},
		{"09:39:59.999", projection.Paired, pairing, []projection.Need{projection.NeedPush}},
		{"09:40", projection.Settled, pairing, []projection.Need{projection.NeedPush}},
		{"10:00", projection.Pushed, push, []projection.Need{projection.NeedCheck}},
	}
	for _, step := range steps {
		d := device(t, at(s, step.clock), "1-9")
		require.Equal(t, step.state, d.State, step.clock)
		require.Equal(t, step.since.Ref(), d.Since.Ref(), step.clock)
		require.Equal(t, step.needs, d.Needs, step.clock)
	}

	d := device(t, s.Now(), "1-9")
	requireCause(t, row, d.Row)
	requireCause(t, fit, d.Fitted)
	requireCause(t, pairing, &d.Paired.Cause)
	requireCause(t, push, &d.Pushed.Cause)
	require.Equal(t, tale.T("09:40"), d.Settles)
	require.Equal(t, events.Serial("S1"), d.Serial)
	require.Equal(t, events.Mesh, d.Paired.Radio)
	require.True(t, d.IsRouter())
	require.Empty(t, d.Flags)
}

func TestAStarDeviceNeverSettles(t *testing.T) {
	s := job()
	s.Lead.Say("08:30", star("1-9", "H1"))
	s.Lead.Say("09:00", paired("1-9", "H1"))
	require.Equal(t, projection.Paired, device(t, at(s, "12:00"), "1-9").State)
	home(s.Lead, "09:01", "x1", s.Lead)
	s.Lead.Say("09:02", events.PushDone{Hub: "H1", Program: "r1"})
	require.Equal(t, projection.Pushed, device(t, s.Now(), "1-9").State)
	require.False(t, device(t, s.Now(), "1-9").IsRouter())
}

func TestSettlesAtTheLatestReading(t *testing.T) {
	s, bo := duo()
	bo.Skew = 2 * time.Minute
	bo.Compare("09:00", s.Lead, 6*time.Second)
	bo.Say("09:00", paired("1-1", "H1"))
	require.Equal(t, tale.T("09:10:03"), device(t, s.Now(), "1-1").Settles, "δ/2 later")
	bo.Say("09:30", paired("1-2", "H1"), tale.When("09:12", "09:22"))
	require.Equal(t, tale.T("09:30:03.720"), device(t, s.Now(), "1-2").Settles, "the end of the typed interval, on site time, with what the clocks may have drifted")

	s.Lead.Say("10:00", settings("settle_minutes", "20"))
	require.Equal(t, tale.T("09:20:03"), device(t, s.Now(), "1-1").Settles)
}

func TestPushedIsListedMergedAndNotMissed(t *testing.T) {
	tests := map[string]struct {
		happens func(s *tale.Story)
		pushed  bool
		flag    projection.Flag
	}{
		"all in order": {func(s *tale.Story) {
			s.Lead.Say("09:00", paired("1-1", "H1"))
			home(s.Lead, "09:20", "x1", s.Lead)
			s.Lead.Say("09:30", events.PushDone{Hub: "H1", Program: "r1"})
		}, true, ""},
		"missed": {func(s *tale.Story) {
			s.Lead.Say("09:00", paired("1-1", "H1"))
			home(s.Lead, "09:20", "x1", s.Lead)
			s.Lead.Say("09:30", events.PushDone{Hub: "H1", Program: "r1", Missed: []events.Tag{"1-1"}})
		}, false, projection.FlagMissed},
		"not tried": {func(s *tale.Story) {
			s.Lead.Say("09:00", paired("1-1", "H1"))
			home(s.Lead, "09:20", "x1", s.Lead)
			s.Lead.Say("09:30", events.PushDone{Hub: "H1", Program: "r1", Tried: []events.Tag{"1-2"}})
		}, false, ""},
		"tried by tags": {func(s *tale.Story) {
			s.Lead.Say("09:00", paired("1-1", "H1"))
			home(s.Lead, "09:20", "x1", s.Lead)
			s.Lead.Say("09:30", events.PushDone{Hub: "H1", Program: "r1", Tried: []events.Tag{"1-1"}})
		}, true, ""},
		"tried only by a tag nobody knows": {func(s *tale.Story) {
			s.Lead.Say("09:00", paired("1-1", "H1"))
			home(s.Lead, "09:20", "x1", s.Lead)
			s.Lead.Say("09:30", events.PushDone{Hub: "H1", Program: "r1", Tried: []events.Tag{"9-9"}})
		}, false, ""},
		"not listed by that program": {func(s *tale.Story) {
			s.Lead.Say("08:30", events.HubLoaded{Hub: "H1", Program: "r2", Lists: []events.Tag{"1-2"}})
			s.Lead.Say("09:00", paired("1-1", "H1"))
			home(s.Lead, "09:20", "x1", s.Lead)
			s.Lead.Say("09:30", events.PushDone{Hub: "H1", Program: "r2"})
		}, false, projection.FlagNotListed},
		"never exported": {func(s *tale.Story) {
			s.Lead.Say("09:00", paired("1-1", "H1"))
			s.Lead.Say("09:30", events.PushDone{Hub: "H1", Program: "r1"})
		}, false, projection.FlagNotMerged},
		"exported and not merged": {func(s *tale.Story) {
			s.Lead.Say("09:00", paired("1-1", "H1"))
			s.Lead.Say("09:20", events.RecordsExported{Export: "x1", Heads: tale.Cut(s.Lead)})
			s.Lead.Say("09:30", events.PushDone{Hub: "H1", Program: "r1"})
		}, false, projection.FlagNotMerged},
		"exported before it was paired": {func(s *tale.Story) {
			export := tale.Cut(s.Lead)
			s.Lead.Say("09:00", paired("1-1", "H1"))
			s.Lead.Say("09:20", events.RecordsExported{Export: "x1", Heads: export})
			s.Lead.Say("09:21", events.RecordsMerged{Export: "x1"})
			s.Lead.Say("09:30", events.PushDone{Hub: "H1", Program: "r1"})
		}, false, projection.FlagNotMerged},
		"merged after the push": {func(s *tale.Story) {
			s.Lead.Say("09:00", paired("1-1", "H1"))
			s.Lead.Say("09:20", events.RecordsExported{Export: "x1", Heads: tale.Cut(s.Lead)})
			s.Lead.Say("09:30", events.PushDone{Hub: "H1", Program: "r1"})
			s.Lead.Say("09:40", events.RecordsMerged{Export: "x1"})
		}, false, projection.FlagNotMerged},
		"merged for its hub": {func(s *tale.Story) {
			s.Lead.Say("09:00", paired("1-1", "H1"))
			s.Lead.Say("09:20", events.RecordsExported{Export: "x1", Heads: tale.Cut(s.Lead)})
			s.Lead.Say("09:21", events.RecordsMerged{Export: "x1", Hub: "H1"})
			s.Lead.Say("09:30", events.PushDone{Hub: "H1", Program: "r1"})
		}, true, ""},
		"merged for another hub": {func(s *tale.Story) {
			s.Lead.Say("08:30", events.HubListed{Hub: "H2"})
			s.Lead.Say("09:00", paired("1-1", "H1"))
			s.Lead.Say("09:20", events.RecordsExported{Export: "x1", Heads: tale.Cut(s.Lead)})
			s.Lead.Say("09:21", events.RecordsMerged{Export: "x1", Hub: "H2"})
			s.Lead.Say("09:30", events.PushDone{Hub: "H1", Program: "r1"})
		}, false, projection.FlagNotMerged},
		"covered by the second export": {func(s *tale.Story) {
			home(s.Lead, "08:40", "x1", s.Lead)
			s.Lead.Say("09:00", paired("1-1", "H1"))
			home(s.Lead, "09:20", "x2", s.Lead)
			s.Lead.Say("09:30", events.PushDone{Hub: "H1", Program: "r1"})
		}, true, ""},
		"an older export merged last": {func(s *tale.Story) {
			s.Lead.Say("08:40", events.RecordsExported{Export: "x1", Heads: tale.Cut(s.Lead)})
			s.Lead.Say("09:00", paired("1-1", "H1"))
			home(s.Lead, "09:20", "x2", s.Lead)
			s.Lead.Say("09:25", events.RecordsMerged{Export: "x1"})
			s.Lead.Say("09:30", events.PushDone{Hub: "H1", Program: "r1"})
		}, true, ""},
		"a push of another hub": {func(s *tale.Story) {
			s.Lead.Say("08:30", events.HubListed{Hub: "H2"})
			s.Lead.Say("08:31", events.HubLoaded{Hub: "H2", Program: "r1", All: true})
			s.Lead.Say("09:00", paired("1-1", "H1"))
			home(s.Lead, "09:20", "x1", s.Lead)
			s.Lead.Say("09:30", events.PushDone{Hub: "H2", Program: "r1"})
		}, false, ""},
		"a push that failed": {func(s *tale.Story) {
			s.Lead.Say("09:00", paired("1-1", "H1"))
			home(s.Lead, "09:20", "x1", s.Lead)
			s.Lead.Say("09:30", events.PushFailed{Hub: "H1", Why: "no answer"})
		}, false, ""},
		"paired again after the push": {func(s *tale.Story) {
			s.Lead.Say("09:00", paired("1-1", "H1"))
			home(s.Lead, "09:20", "x1", s.Lead)
			s.Lead.Say("09:30", events.PushDone{Hub: "H1", Program: "r1"})
			s.Lead.Say("09:40", events.DeviceUnpaired{Device: "1-1", Why: "reset"})
			s.Lead.Say("09:50", paired("1-1", "H1"))
		}, false, ""},
	}
	flags := []projection.Flag{projection.FlagMissed, projection.FlagNotListed, projection.FlagNotMerged}
	for name, row := range tests {
		t.Run(name, func(t *testing.T) {
			s := job()
			row.happens(s)
			d := device(t, s.Now(), "1-1")
			require.Equal(t, row.pushed, d.State == projection.Pushed)
			require.Equal(t, row.pushed, d.Pushed != nil)
			require.Equal(t, !row.pushed, d.Wants(projection.NeedPush))
			for _, flag := range flags {
				require.Equal(t, flag == row.flag, d.Has(flag), flag)
			}
		})
	}
}

func TestTheFirstExportStandsWhereAFeedForks(t *testing.T) {
	s, bo := duo()
	twin := bo.Branch()
	bo.Say("09:00", paired("1-1", "H1"))
	twin.Say("09:00", paired("1-2", "H1"))
	home(s.Lead, "09:20", "x1", bo)
	home(s.Lead, "09:25", "x2", twin)
	s.Lead.Say("09:30", events.PushDone{Hub: "H1", Program: "r1"})
	site := s.Now()
	require.Equal(t, projection.Pushed, device(t, site, "1-1").State)
	require.True(t, device(t, site, "1-2").Has(projection.FlagNotMerged))
}

func TestAnExportOfAnotherBranchCoversNothing(t *testing.T) {
	s, bo := duo()
	twin := bo.Branch()
	bo.Say("09:00", paired("1-1", "H1"))
	twin.Say("09:00", paired("1-2", "H1"))
	s.Lead.Say("09:20", events.RecordsExported{Export: "x1", Heads: tale.Cut(bo)})
	s.Lead.Say("09:21", events.RecordsMerged{Export: "x1"})
	s.Lead.Say("09:30", events.PushDone{Hub: "H1", Program: "r1"})
	site := s.Now()
	require.Equal(t, projection.Pushed, device(t, site, "1-1").State)
	require.True(t, device(t, site, "1-2").Has(projection.FlagNotMerged))
	require.True(t, site.Exports[0].Covers(device(t, site, "1-1").Paired.Ref()))
	require.False(t, site.Exports[0].Covers(device(t, site, "1-2").Paired.Ref()))
}

func TestAMissedPushAfterOneTaken(t *testing.T) {
	s := job()
	s.Lead.Say("09:00", paired("1-1", "H1"))
	home(s.Lead, "09:20", "x1", s.Lead)
	took := s.Lead.Say("09:30", events.PushDone{Hub: "H1", Program: "r1"})
	missed := s.Lead.Say("10:00", events.PushDone{Hub: "H1", Program: "r1", Missed: []events.Tag{"1-1"}})
	d := device(t, s.Now(), "1-1")
	requireCause(t, took, &d.Pushed.Cause)
	requireCause(t, missed, d.Missed)
	require.True(t, d.Wants(projection.NeedPush))

	s.Lead.Say("10:30", events.PushDone{Hub: "H1", Program: "r1", Tried: []events.Tag{"1-1"}})
	d = device(t, s.Now(), "1-1")
	require.Nil(t, d.Missed)
	require.False(t, d.Wants(projection.NeedPush))

	s.Lead.Say("11:00", events.HubLoaded{Hub: "H1", Program: "r2", All: true})
	require.True(t, device(t, s.Now(), "1-1").Wants(projection.NeedPush), "the hub holds a newer program")
}

func TestWhatEndsWithAPairing(t *testing.T) {
	s := job()
	s.Lead.Say("08:50", events.DeviceRefused{Device: "1-1", Why: events.OutOfReach})
	s.Lead.Say("08:51", events.DeviceSkipped{Device: "1-1", Why: events.NoAccess})
	d := device(t, s.Now(), "1-1")
	require.True(t, d.Has(projection.FlagRefused) && d.Has(projection.FlagSkipped))

	s.Lead.Say("09:00", paired("1-1", "H1"))
	heard := s.Lead.Say("09:05", events.DeviceHeard{Device: "1-1", Hub: "H1"})
	d = device(t, s.Now(), "1-1")
	require.Nil(t, d.Refused)
	require.Nil(t, d.Skipped)
	requireCause(t, heard, d.Heard)

	unpaired := s.Lead.Say("09:10", events.DeviceUnpaired{Device: "1-1", Why: "reset"})
	d = device(t, s.Now(), "1-1")
	require.Nil(t, d.Paired)
	require.Nil(t, d.Heard)
	requireCause(t, unpaired, d.Unpaired)
	require.Equal(t, projection.Listed, d.State)

	again := s.Lead.Say("09:20", events.DevicePaired{Device: "1-1", Hub: "H1", Serial: "S1"})
	replaced := s.Lead.Say("09:30", events.DeviceReplaced{Device: "1-1", Old: "S1", New: "S2", Why: "broken"})
	d = device(t, s.Now(), "1-1")
	require.Nil(t, d.Paired)
	requireCause(t, replaced, d.Replaced)
	requireCause(t, replaced, d.Fitted)
	require.Equal(t, events.Serial("S2"), d.Serial)
	require.Equal(t, projection.Fitted, d.State)
	require.Len(t, hub(t, s.Now(), "H1").Pairings, 2)
	require.Equal(t, again.Ref(), hub(t, s.Now(), "H1").Pairings[1].Ref())
}

func TestFoundInTheField(t *testing.T) {
	s := job()
	skipped := s.Lead.Say("09:00", events.DeviceSkipped{Device: "9-9", Why: events.Damaged})
	d := device(t, s.Now(), "9-9")
	require.True(t, d.Has(projection.FlagFound))
	require.Nil(t, d.Row)
	require.Equal(t, skipped.Ref(), d.Since.Ref())
	require.True(t, d.Wants(projection.NeedPair))

	s.Lead.Say("09:10", paired("9-9", "H1"))
	d = device(t, s.Now(), "9-9")
	require.Equal(t, events.Mesh, d.Paired.Radio, "unknown counts as mesh: that is what a push waits for")

	s.Lead.Say("09:20", star("9-9", "H1"))
	site := s.Now()
	d = device(t, site, "9-9")
	require.False(t, d.Has(projection.FlagFound))
	require.Equal(t, events.Star, d.Paired.Radio, "until the schedule says better")
	require.Equal(t, events.Star, hub(t, site, "H1").Pairings[0].Radio)
}

func TestFlagsAndNeeds(t *testing.T) {
	s := tale.New()
	s.Lead.Say("08:01", events.HubListed{Hub: "H1"})
	row := lamp("1-1", "H1")
	row.Emergency = true
	s.Lead.Say("08:02", row)
	s.Lead.Say("08:03", events.HubLoaded{Hub: "H1", Program: "r1", Lists: []events.Tag{"1-1"}})
	s.Lead.Say("08:04", events.DeviceListed{Device: "1-5", Is: events.WiredRemote, Hub: "H1", Radio: events.Star, Power: events.Mains})
	s.Lead.Say("09:00", paired("1-1", "H1"))
	site := s.Now()
	d := device(t, site, "1-1")
	require.Equal(t, []projection.Flag{projection.FlagEmergency, projection.FlagNotReady}, d.Flags)
	require.Equal(t, []projection.Need{projection.NeedSerial, projection.NeedPush}, needsOf(d, projection.NeedSerial, projection.NeedPush))
	require.False(t, device(t, site, "1-5").Wants(projection.NeedPair), "a wired remote never pairs")

	s.Lead.Say("09:10", events.HubListed{Hub: "H2"})
	s.Lead.Say("09:11", events.HubReady{Hub: "H2"})
	s.Lead.Say("09:12", lamp("1-2", "H1"))
	s.Lead.Say("09:13", paired("1-2", "H2"))
	require.Equal(t, []projection.Flag{projection.FlagOtherHub}, device(t, s.Now(), "1-2").Flags)

	s.Lead.Say("09:14", lamp("1-3", "H1"))
	s.Lead.Say("09:15", paired("1-3", "H1"))
	require.True(t, device(t, s.Now(), "1-3").Has(projection.FlagNotListed), "its hub's program does not list it")
	s.Lead.Say("09:16", events.HubLoaded{Hub: "H1", Program: "r2", All: true})
	require.False(t, device(t, s.Now(), "1-3").Has(projection.FlagNotListed))

	fault := s.Lead.Say("09:20", events.FaultFound{Of: events.Device("1-1"), Symptom: "flickers", Severity: events.Minor})
	d = device(t, s.Now(), "1-1")
	require.True(t, d.Has(projection.FlagFault))
	require.True(t, d.Wants(projection.NeedMend))
	s.Lead.Say("09:21", events.FaultCleared{Fault: fault.Ref()})
	require.False(t, device(t, s.Now(), "1-1").Has(projection.FlagFault))

	s.Lead.Say("09:30", events.DeviceStruck{Device: "1-1"})
	d = device(t, s.Now(), "1-1")
	require.True(t, d.Has(projection.FlagStruck))
	require.Empty(t, d.Needs, "off the schedule, nothing is to be done")
	require.NotNil(t, d.Paired, "what happened to it stays")
	s.Lead.Say("09:31", lamp("1-1", "H1"))
	require.Nil(t, device(t, s.Now(), "1-1").Struck, "a later row puts it back")
}

// needsOf keeps those of a device's needs that are asked about.
func needsOf(d *projection.Device, about ...projection.Need) []projection.Need {
	var out []projection.Need
	for _, n := range about {
		if d.Wants(n) {
			out = append(out, n)
		}
	}
	return out
}

func TestChecksMeetANeed(t *testing.T) {
	s := job()
	s.Lead.Say("09:00", events.DevicePaired{Device: "1-1", Hub: "H1", Serial: "S1"})
	home(s.Lead, "09:20", "x1", s.Lead)
	s.Lead.Say("09:30", events.PushDone{Hub: "H1", Program: "r1"})
	require.Equal(t, []projection.Need{projection.NeedCheck}, device(t, s.Now(), "1-1").Needs)
	s.Lead.Say("09:40", events.CheckDone{Of: events.Device("1-1"), Test: events.TestAnswer})
	require.Equal(t, []projection.Need{projection.NeedCheck}, device(t, s.Now(), "1-1").Needs, "it failed")
	pass := s.Lead.Say("09:50", events.CheckDone{Of: events.Device("1-1"), Test: events.TestAnswer, Pass: true})
	d := device(t, s.Now(), "1-1")
	require.Empty(t, d.Needs)
	requireCause(t, pass, &d.Checked.Done)
	require.Len(t, s.Now().Checks, 2)
}

func TestBetterPlacesStand(t *testing.T) {
	s := job()
	placed := s.Lead.Say("09:00", events.DevicePlaced{Device: "1-1", Place: events.Point{X: 1000}, Accuracy: 200})
	s.Lead.Say("09:01", lamp("1-1", "H1"))
	s.Lead.Say("09:02", events.DevicePlaced{Device: "H1", Place: events.Point{Y: 2000}})
	site := s.Now()
	d := device(t, site, "1-1")
	require.Equal(t, events.Some(events.Point{X: 1000}), d.Place, "a row with no place takes none away")
	requireCause(t, placed, d.Placed)
	require.EqualValues(t, 200, d.Accuracy)
	require.Equal(t, events.Some(events.Point{Y: 2000}), hub(t, site, "H1").Place)
}
