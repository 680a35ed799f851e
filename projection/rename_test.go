package projection_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
)

func TestRenamesCarryEverything(t *testing.T) {
	s := job()
	s.Lead.Say("08:20", events.HubLoaded{Hub: "H1", Program: "r2", Lists: []events.Tag{"1-1"}})
	pairing := s.Lead.Say("09:00", paired("1-1", "H1"))
	s.Lead.Say("09:01", events.HoldPlaced{Of: events.Device("1-1"), Why: "wet"})
	s.Lead.Say("09:02", events.FaultFound{Of: events.Device("1-1"), Symptom: "flickers", Severity: events.Minor})
	s.Lead.Say("09:03", events.CheckDone{Of: events.Device("1-1"), Test: events.TestAnswer, Pass: true})
	s.Lead.Say("09:04", events.LinkMeasured{A: "1-1", B: "H1", RSSI: events.Some(-60)})
	s.Lead.Say("09:05", events.PowerOff{Of: events.Circuit("C1"), Dark: []events.Tag{"1-1"}})
	s.Lead.Say("09:06", events.PushDone{Hub: "H1", Program: "r2", Missed: []events.Tag{"1-1"}})
	s.Lead.Say("09:07", events.PowerOff{Of: events.Device("1-1")})
	s.Lead.Say("09:30", events.DeviceRenamed{From: "1-1", To: "2-1"})
	s.Lead.Say("09:31", events.DeviceRenamed{From: "2-1", To: "3-1"})

	site := s.Now()
	_, old := site.Device("1-1")
	require.False(t, old)
	d := device(t, site, "3-1")
	require.Equal(t, []events.Tag{"1-1", "2-1"}, d.Was)
	requireCause(t, pairing, &d.Paired.Cause)
	require.Equal(t, events.Tag("3-1"), d.Paired.Device)
	for _, flag := range []projection.Flag{projection.FlagHold, projection.FlagFault, projection.FlagDark, projection.FlagMissed} {
		require.True(t, d.Has(flag), flag)
	}
	h := hub(t, site, "H1")
	require.Equal(t, events.Tag("3-1"), h.Pairings[0].Device)
	require.True(t, h.Holding("3-1"))
	require.False(t, h.Holding("1-1"))
	require.Equal(t, []events.Tag{"3-1"}, h.Pushes[0].Missed)
	require.Equal(t, events.Device("3-1"), h.Power[1].Of)
	require.Equal(t, events.Device("3-1"), site.Holds[0].Of)
	require.Equal(t, events.Device("3-1"), site.Faults[0].Of)
	require.Equal(t, events.Device("3-1"), site.Checks[0].Of)
	require.Equal(t, events.Device("3-1"), d.Checked.Of)
	require.Equal(t, events.Tag("3-1"), site.Links[0].A)
	require.Equal(t, events.Tag("H1"), site.Links[0].B)
	require.Equal(t, []events.Tag{"3-1"}, site.Circuits[0].Learned)
	require.True(t, site.Holds[0].Touches(d))
}

func TestEntriesThatStillUseTheOldTag(t *testing.T) {
	s := job()
	s.Lead.Say("09:00", events.DeviceRenamed{From: "1-1", To: "2-1"})
	s.Lead.Say("09:01", events.HubLoaded{Hub: "H1", Program: "r2", Lists: []events.Tag{"1-1"}})
	s.Lead.Say("09:02", paired("1-1", "H1"))
	s.Lead.Say("09:03", events.HoldPlaced{Of: events.Device("1-1"), Why: "wet"})
	s.Lead.Say("09:04", events.FaultFound{Of: events.Device("1-1"), Symptom: "dark", Severity: events.Major})
	s.Lead.Say("09:05", events.CheckDone{Of: events.Device("1-1"), Test: events.TestAnswer})
	s.Lead.Say("09:06", events.NoteAdded{Of: events.Device("1-1"), Text: "x"})
	home(s.Lead, "09:07", "x1", s.Lead)
	s.Lead.Say("09:08", events.PushDone{Hub: "H1", Program: "r2", Tried: []events.Tag{"1-1"}})

	site := s.Now()
	require.Empty(t, site.Anomalies)
	d := device(t, site, "2-1")
	require.Equal(t, projection.Pushed, d.State)
	require.True(t, d.Has(projection.FlagHold) && d.Has(projection.FlagFault))
	require.NotNil(t, d.Checked)

	s.Lead.Say("10:00", events.HoldLifted{Of: events.Device("1-1")})
	require.Empty(t, s.Now().Holds)
}

func TestAnOldTagGivenToANewPosition(t *testing.T) {
	s := job()
	s.Lead.Say("08:30", paired("1-1", "H1"))
	s.Lead.Say("09:00", events.DeviceRenamed{From: "1-1", To: "2-1"})
	s.Lead.Say("09:01", lamp("1-1", "H1"))
	second := s.Lead.Say("09:30", paired("1-1", "H1"))
	site := s.Now()
	requireCause(t, second, &device(t, site, "1-1").Paired.Cause)
	require.Equal(t, []events.Tag{"2-1", "1-1"}, []events.Tag{hub(t, site, "H1").Pairings[0].Device, hub(t, site, "H1").Pairings[1].Device})
	require.NotEqual(t, second.Ref(), device(t, site, "2-1").Paired.Ref())
}
