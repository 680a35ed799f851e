package checks_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/checks"
)

func TestWhatWasOwedWhenSomebodySigned(t *testing.T) {
	s := commissioned()
	s.Lead.Say("09:30", events.DeviceHeard{Device: "3-1", Hub: "H1"})
	s.Lead.Say("09:30", events.DeviceHeard{Device: "3-2", Hub: "H1"})
	s.Lead.Say("09:30", events.DeviceHeard{Device: "3-3", Hub: "H1"})
	s.Lead.Say("10:00", occupancy(room, true))
	fault := s.Lead.Say("10:05", events.FaultFound{Of: events.Device("3-3"), Symptom: "hums", Severity: events.Minor})
	for _, of := range []events.Subject{events.Site(), events.Floor("3"), room, events.Hub("H1"), events.Floor("4")} {
		s.Lead.Say("11:00", events.WorkSigned{Of: of, Scope: "commissioned", Signer: "Ann", As: "commissioning lead"})
	}
	s.Lead.Say("12:00", events.CheckDone{Of: room, Test: events.TestManual, Pass: true})
	s.Lead.Say("12:01", events.FaultCleared{Fault: fault.Ref()})
	s.Lead.Say("12:30", events.WorkSigned{Of: events.Site(), Scope: "handed over", Signer: "Cy", As: "owner"})

	b := checks.At(s.History(), projection.Moment{})
	require.Zero(t, b.Owed)
	require.Len(t, b.Signed, 6)
	for _, x := range b.Signed[:4] {
		require.Equal(t, events.Some(1), x.Owed, "%s", x.Of)
		require.Equal(t, events.TestManual, x.Left[0].Test)
		require.Equal(t, fault.Ref(), x.Open[0].Found.Ref())
		require.Equal(t, "lead", x.By)
	}
	require.Equal(t, events.Some(0), b.Signed[4].Owed, "nothing is on that floor")
	require.Empty(t, b.Signed[4].Open)
	require.Equal(t, events.Some(0), b.Signed[5].Owed)
	require.Empty(t, b.Signed[5].Open)

	require.False(t, checks.Of(s.Now()).Signed[0].Owed.Known, "the facts of one moment do not tell another's")
}
