package callback_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/callback"
	"pairwalk/projection/tale"
)

// asked is all that is asked on the telephone, in one string.
func asked(e callback.Explanation) string { return strings.Join(e.Ask, "\n") }

// TestLightThatStaysOnIsNotAskedAfterBreakers: nor is light of the wrong level.
func TestLightThatStaysOnIsNotAskedAfterBreakers(t *testing.T) {
	b := build(t, layout{noB2: true})
	b.say("10:50", off("C5"))
	b.say("11:00", events.CheckDone{Of: room, Test: events.TestVacancy, Reading: "off after 44 min"})
	for _, s := range []callback.Symptom{callback.AlwaysOn, callback.WrongLevel} {
		e := b.asks(room, symptom(s))
		require.Contains(t, first(t, e, callback.ByFailedCheck).Words, "explains "+string(s)+" well")
		require.Equal(t, "The vacancy test of room 3.12 failed at 11:00: off after 44 min. Is it the same now?", e.Ask[0])
		require.NotContains(t, asked(e), "breaker")
		require.NotContains(t, asked(e), "dark as well")
		none(t, e, callback.BySingle)
	}
	e := build(t, layout{noB2: true}).asks(room, symptom(callback.AlwaysOn))
	require.NotContains(t, e.Words, "would explain it;")
	require.True(t, e.Nothing)
	require.Contains(t, e.Ask[0], "Does it stay on at every hour")
	require.Contains(t, asked(build(t, layout{}).asks(lamp, symptom(callback.NoAnswer))), "breaker")
}

func TestWhatHardlyExplainsItIsNotSaidTo(t *testing.T) {
	b := build(t, layout{})
	b.say("11:00", off("C5"))
	e := b.asks(lamp, symptom(callback.AlwaysOn))
	b.say("11:01", events.PowerOff{Of: lamp})
	require.NotContains(t, asked(b.asks(lamp, symptom(callback.AlwaysOn))), "Does 3-1, in room 3.12, answer?")
	require.Contains(t, asked(b.asks(lamp, symptom(callback.NoAnswer))), "Does 3-1, in room 3.12, answer?")
	b.say("11:02", events.PowerOn{Of: lamp})
	b.say("11:03", off("C5"))
	require.True(t, e.Open)
	require.Contains(t, e.Words, "nothing that would explain it well. What comes nearest: circuit C5 is off since 11:00")
	require.False(t, b.asks(lamp, symptom(callback.NoAnswer)).Open)
	require.Contains(t, b.asks(lamp, symptom(callback.NoAnswer)).Words, "Likeliest: circuit C5")
}

// TestAFaultIsWhatSomebodySaw: the complaint in other words is no cause of it,
// unless it says what is wrong.
func TestAFaultIsWhatSomebodySaw(t *testing.T) {
	b := build(t, layout{})
	found := b.say("11:00", events.FaultFound{Of: lamp, Symptom: "still dark", Severity: events.Major})
	e := b.asks(lamp, symptom(callback.NoAnswer))
	c := first(t, e, callback.ByOpenFault)
	require.Contains(t, c.Words, "still dark (what somebody saw, and not why). (It hardly explains no-answer;")
	require.True(t, e.Open)
	require.Empty(t, c.Against)
	require.Equal(t, "Is it still so: \"still dark\"? Did anybody come to mend it?", e.Ask[0])
	heard := b.say("11:10", events.DeviceHeard{Device: "3-1", Hub: "H1"})
	require.Equal(t, []events.Ref{heard.Ref()}, evidenceOf(first(t, b.asks(lamp, symptom(callback.NoAnswer)), callback.ByOpenFault).Against))
	require.Empty(t, first(t, b.asks(lamp, symptom(callback.WrongLevel)), callback.ByOpenFault).Against, "light of the wrong level is heard all the same")
	b.say("11:20", events.FaultAssigned{Fault: found.Ref(), Trade: "electrical", Action: "driver is dead, change it"})
	c = first(t, b.asks(lamp, symptom(callback.WrongLevel)), callback.ByOpenFault)
	require.Contains(t, c.Words, "(for electrical: driver is dead, change it). (It may well be behind wrong-level;")
}

func TestWhatIsComputedIsNobodysWord(t *testing.T) {
	b := build(t, layout{})
	b.say("11:00", off("C3"))
	against := perhaps(b.asks(lamp), callback.ByPathCircuit).Against[0]
	require.Contains(t, against.Words, "as computed, another path stood after that")
	require.Empty(t, against.By)
}

func TestWhatIsNotKnownIsNoBetter(t *testing.T) {
	b := build(t, layout{bare: true, unheard: true})
	b.say("10:30", events.DevicePaired{Device: "3-1", Hub: "H1", Serial: "SN-e"})
	b.say("11:00", events.HubLost{Hub: "H1", Why: "does not answer"})
	c := perhaps(b.asks(lamp), callback.ByHubLost)
	require.NotContains(t, c.Words, "better")
	require.Contains(t, c.Counterfactual, "Whether 3-1 would reach its hub without it is not known")
	require.NotContains(t, c.Counterfactual, "would reach its hub:")
	b = build(t, layout{})
	b.say("11:00", events.HubLost{Hub: "H1", Why: "does not answer"})
	require.Contains(t, first(t, b.asks(lamp), callback.ByHubLost).Words, "without it things would be better")
}

// TestNothingInTheTimeAskedAboutIsNotNothingSince: an entry of June is one since
// handover, whatever was asked of April.
func TestNothingInTheTimeAskedAboutIsNotNothingSince(t *testing.T) {
	b := build(t, layout{})
	b.say("2026-06-01T10:00:00Z", events.NoteAdded{Of: room, Text: "quiet"})
	april := func(q *callback.Question) {
		q.From, q.To = events.Some(tale.T("2026-03-03T00:00:00Z")), events.Some(tale.T("2026-05-01T00:00:00Z"))
		q.Now = tale.T("2026-06-04T10:00:00Z")
	}
	e := b.asks(lamp, april)
	require.Contains(t, e.Head, "1 entry logged since handover: 94 days")
	require.Contains(t, e.Head, "None of that is of the time asked about.")
	require.Equal(t, 1, e.Silence.Entries)
	require.Zero(t, e.Silence.Within)
	require.NotContains(t, b.asks(lamp).Head, "time asked about", "nobody asked of one")
	require.Contains(t, b.asks(lamp, until("09:50")).Head, "Not handed over by 2026-03-02 09:50")
}

// TestTheEvidenceForASinglePointLiesOnThePath: b2 is on the circuit too, and on
// another way; 9-1 is on it, and on none.
func TestTheEvidenceForASinglePointLiesOnThePath(t *testing.T) {
	b := build(t, layout{noB2: true})
	d, _ := b.Now().Device("9-1")
	row := *d.DeviceListed
	row.Circuit = "C3"
	b.say("10:30", row)
	c := perhaps(b.asks(lamp, symptom(callback.Intermittent)), callback.BySingle)
	require.Equal(t, events.Circuit("C3"), c.Subject)
	require.Len(t, c.For, 1)
	require.Contains(t, c.For[0].Words, "b1")
	require.NotContains(t, c.Words, "alone")
}

func TestItsOwnCircuitIsAskedAfter(t *testing.T) {
	b := build(t, layout{})
	require.Contains(t, b.asks(lamp).Ask[0], "Is the breaker labelled C5, which feeds 3-1, on? Only look", "no other room is on it")
	b.say("11:00", events.DeviceListed{Device: "3-7", Is: events.WiredRemote, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Room: "3.13", Circuit: "C5"})
	require.Equal(t, "Does the light in room 3.13, on the same circuit C5, work?", b.asks(lamp).Ask[0])
}

// TestWhatIsBackIsToldOf: the way home was off for days, and the device was heard
// since.
func TestWhatIsBackIsToldOf(t *testing.T) {
	b := build(t, layout{oneB: true})
	b.say("2026-06-20T10:00:00Z", off("C3"))
	b.say("2026-07-01T11:00:00Z", on("C3"))
	b.say("2026-07-01T11:30:00Z", events.DeviceHeard{Device: "3-1", Hub: "H1"})
	for _, s := range []callback.Symptom{callback.NoAnswer, callback.WrongLevel, ""} {
		e := b.asks(lamp, symptom(s), func(q *callback.Question) { q.Now = tale.T("2026-07-02T09:00:00Z") })
		require.True(t, e.Open)
		require.Contains(t, e.Words, "Circuit C3 was off from 2026-06-20 10:00 to 2026-07-01 11:00, and took power or the way home of 3-1 until then.")
		require.Contains(t, e.Words, "3-1 was last heard 2026-07-01 11:30.")
		require.NotContains(t, e.Words, "nothing that happened")
	}
}

func TestNotesSinceHandoverAreShown(t *testing.T) {
	b := build(t, layout{})
	b.Lead.Say("10:05", events.NoteAdded{Of: lamp, Text: "before"}, tale.When("09:50", "09:50"))
	b.say("10:30", events.NoteAdded{Of: lamp, Text: "cleaner says it clicks"}, events.NoteAdded{Of: events.Device("3-2"), Text: "elsewhere"})
	b.say("10:40", events.NoteAdded{Of: room, Text: "smells"})
	var said []string
	for _, n := range b.asks(lamp).Notes {
		said = append(said, n.Words)
	}
	require.Len(t, said, 2)
	require.Contains(t, said[0], "smells")
	require.Contains(t, said[1], "cleaner says it clicks")
	require.Len(t, b.asks(room).Notes, 3)
}

// TestTheAuthorityComesBeforePairing, as a check and as what is written down.
func TestTheAuthorityComesBeforePairing(t *testing.T) {
	b := build(t, layout{})
	b.say("10:30", events.DeviceListed{Device: "3-4", Is: events.Driver, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Room: "3.12", Circuit: "C5", Emergency: true})
	c := perhaps(b.asks(events.Device("3-4")), callback.ByNotPaired)
	require.Contains(t, c.Check[0], "ask the authority having jurisdiction")
	require.Contains(t, c.Check[0], "3-4 is emergency lighting")
	require.True(t, slices.ContainsFunc(c.Check, func(s string) bool { return strings.HasPrefix(s, "once the authority has said so: pair") }))
	for _, line := range c.Record {
		require.NotContains(t, line, "log paired")
		require.NotContains(t, line, "log pushed")
	}
	require.Contains(t, c.Record[0], "log note 3-4")
	b.say("11:00", off("C5"))
	for _, c := range b.asks(events.Device("3-4")).Causes {
		if c.Kind == callback.ByPower {
			require.NotContains(t, c.Check[0], "authority", "to see who switched it off needs nobody's word")
		}
	}
}

// TestWhatTheLogKnowsIsTypedOut: no blank stands for what it could fill in, and
// what is paired again is pushed again.
func TestWhatTheLogKnowsIsTypedOut(t *testing.T) {
	b := build(t, layout{noB2: true})
	b.say("11:00", events.HubLoaded{Hub: "H1", Program: "r2", All: true}, events.CheckDone{Of: lamp, Test: events.TestOccupancy}, events.DeviceUnpaired{Device: "b1", Why: "reset"})
	e := b.asks(lamp)
	require.Contains(t, perhaps(e, callback.ByOldProgram).Record, "pairwalk log pushed H1 --program r2 --tried 3-1")
	require.Contains(t, perhaps(e, callback.ByFailedCheck).Record, "pairwalk log check 3-1 --test occupancy --pass")
	again := perhaps(e, callback.ByPathRouter).Record
	require.Equal(t, []string{"pairwalk log paired b1", "pairwalk settle H1", "pairwalk log pushed H1 --program r2 --tried b1", "pairwalk log heard 3-1"}, again[:4])
}

func TestSeveralHavePowerAndArePaired(t *testing.T) {
	b := build(t, layout{})
	b.say("11:00", events.PushDone{Hub: "H1", Program: "r1", Missed: tags("3-1", "3-2")})
	require.Equal(t, "see whether 3-1 and 3-2 have power, and are paired", perhaps(b.asks(room), callback.ByMissed).Check[0])
}

func TestALongLimitIsNotOfTheHead(t *testing.T) {
	b := build(t, layout{})
	b.say("11:00", events.CheckDone{Of: room, Test: events.TestVacancy, Reading: "off after 44 min", Limit: "off or down within 20 min, setting off_within_min"})
	require.Contains(t, b.asks(lamp).Head, "the newest 11:00: vacancy check of room 3.12 failed: off after 44 min, by lead.")
}
