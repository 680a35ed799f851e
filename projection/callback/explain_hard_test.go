package callback_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/callback"
	"pairwalk/projection/tale"
)

var (
	lamp   = events.Device("3-1")
	room   = events.Room("3.12")
	noPath = []callback.CauseKind{callback.ByPathCircuit, callback.ByPathRouter, callback.ByLastPath, callback.BySingle, callback.ByWeakLink}
)

func off(c events.CircuitID) events.PowerOff { return events.PowerOff{Of: events.Circuit(c)} }
func on(c events.CircuitID) events.PowerOn   { return events.PowerOn{Of: events.Circuit(c)} }

func fault(t events.Tag) events.FaultFound {
	return events.FaultFound{Of: events.Device(t), Symptom: "hums", Severity: events.Minor}
}

func since(clock string) func(*callback.Question) {
	return func(q *callback.Question) { q.From = events.Some(tale.T(clock)) }
}

func until(clock string) func(*callback.Question) {
	return func(q *callback.Question) { q.To = events.Some(tale.T(clock)) }
}

func knownBy(who *tale.Teller) func(*callback.Question) {
	return func(q *callback.Question) { q.Known.Member = who.Key }
}

// none holds that no cause has one of some kinds.
func none(t *testing.T, e callback.Explanation, not ...callback.CauseKind) {
	t.Helper()
	for _, k := range not {
		require.NotContains(t, kinds(e), k)
	}
}

func TestOfTwoThingsThatHappenedOnlyTheOneThatExplainsItIsNamed(t *testing.T) {
	b := build(t, layout{})
	b.say("11:00", events.PushDone{Hub: "H1", Program: "r1", Missed: []events.Tag{"3-1"}})
	b.say("11:30", off("C9")) // newer, and elsewhere
	b.say("11:40", off("C3")) // one of two ways home: the other one stands
	e := b.asks(lamp)
	first(t, e, callback.ByMissed)
	none(t, e, callback.ByPower, callback.ByLastPath)
	c := perhaps(e, callback.ByPathCircuit)
	require.Equal(t, events.Circuit("C3"), c.Subject)
	require.Contains(t, c.Against[0].Words, "another path stood after that")
	require.Contains(t, c.Counterfactual, "As computed the path stays")
	b.say("11:50", off("C4"))
	e = b.asks(lamp, symptom(callback.NoAnswer))
	first(t, e, callback.ByLastPath)
	require.Contains(t, kinds(e), callback.ByMissed)
	for _, c := range e.Causes {
		require.NotEqual(t, events.Circuit("C9"), c.Subject, "it feeds a router of the hub, and carries nothing for this one")
	}
}

func TestNoiseExplainsNothing(t *testing.T) {
	b := build(t, layout{})
	b.say("10:20", off("C5"))
	b.say("10:25", on("C5")) // on and off before
	e := b.say("10:30", off("C5"))
	b.say("10:31", events.EventVoided{Event: e.Ref(), Why: events.DidNotHappen})
	b.say("10:40", off("C9"), events.HubLost{Hub: "H2", Why: "elsewhere"})
	b.say("10:45", fault("9-1"))
	s := b.Stranger("mallory")
	s.Hear(b.Lead)
	s.Say("10:50", off("C5"))
	b.Lead.Hear(s)
	b.say("10:55", events.NoteAdded{Of: events.Site(), Text: "rain"})
	ex := b.asks(lamp)
	require.True(t, ex.Nothing, "%v", kinds(ex))
	require.Contains(t, ex.Words, "The log knows of nothing that would explain it")
	require.Contains(t, ex.Words, "First on site")
	require.NotEmpty(t, ex.Ask)
	require.Equal(t, tags("3-1"), ex.Left)
}

func tags(list ...events.Tag) []events.Tag { return list }

func TestWhoHasNotHeardOfItIsToldNothing(t *testing.T) {
	b := build(t, layout{})
	cut := b.bo.Say("11:00", off("C5"))
	b.say("11:05", events.NoteAdded{Of: events.Site(), Text: "still here"})
	require.True(t, b.asks(lamp, knownBy(b.Lead)).Nothing)
	first(t, b.asks(lamp), callback.ByPower)
	first(t, b.asks(lamp, knownBy(b.bo)), callback.ByPower)
	b.Lead.Hear(b.bo)
	b.say("11:10", events.NoteAdded{Of: events.Site(), Text: "met bo"})
	c := first(t, b.asks(lamp, knownBy(b.Lead)), callback.ByPower)
	require.Contains(t, c.Events, cut.Ref())
	require.Equal(t, "bo", c.For[0].By)
}

func TestALateEntryCountsAtItsTimeAndIsLoggedSinceHandover(t *testing.T) {
	b := build(t, layout{})
	b.say("10:10", on("C9"), off("C9"), on("C9"))
	before := b.asks(lamp)
	cut := b.Lead.Say("12:00", off("C5"), tale.When("09:50", "09:52"))
	e := b.asks(lamp)
	c := first(t, e, callback.ByPower)
	require.Equal(t, cut.Ref(), c.Events[0])
	require.Equal(t, tale.T("09:51"), c.For[0].At)
	require.Contains(t, c.Words, "happened before the time asked about")
	require.Equal(t, before.Silence.Entries+1, e.Silence.Entries)
	require.Equal(t, cut.Ref(), e.Silence.Newest.Ref())
	e = b.asks(lamp, since("09:45"))
	require.Contains(t, first(t, e, callback.ByPower).Words, "happened in the time asked about")
	require.NotContains(t, kinds(b.asks(lamp, until("09:49"))), callback.ByPower, "it had not happened yet")
}

func TestARenamedDeviceIsFoundByEitherName(t *testing.T) {
	b := build(t, layout{})
	b.say("11:00", events.PowerOff{Of: events.Circuit("C77"), Dark: tags("3-1")})
	b.say("11:30", events.DeviceRenamed{From: "3-1", To: "3-1x"})
	for _, name := range []events.Tag{"3-1", "3-1x"} {
		c := first(t, b.asks(events.Device(name)), callback.ByPower)
		require.Equal(t, tags("3-1x"), c.Devices)
		require.Equal(t, events.Circuit("C77"), c.Subject)
	}
	require.Equal(t, tags("3-1"), first(t, b.asks(lamp, until("11:10")), callback.ByPower).Devices, "as it was called then")
	b.say("11:40", events.DeviceListed{Device: "3-1", Is: events.Driver, Hub: "H1", Radio: events.Mesh, Power: events.Mains})
	none(t, b.asks(lamp), callback.ByPower) // another position has the name now
}

func TestOnABareListNoPathIsBlamed(t *testing.T) {
	b := build(t, layout{bare: true, oneB: true})
	require.True(t, b.asks(room).Nothing)
	b.say("11:00", off("C3"), off("C1"), events.DeviceUnpaired{Device: "a2", Why: "reset"})
	e := b.asks(room)
	none(t, e, noPath...)
	require.True(t, e.Nothing, "%v", kinds(e))
	b.say("11:30", off("C0"))
	first(t, b.asks(room), callback.ByHubPower) // that is on the schedule, and no path
	b.say("11:31", on("C0"))
	b.say("11:40", off("C5"))
	e = b.asks(lamp)
	first(t, e, callback.ByPower)
	none(t, e, noPath...)
}

func TestTheLastOfTwoWaysRanksBeforeTheFirst(t *testing.T) {
	b := build(t, layout{})
	one := b.say("10:30", off("C3"))
	require.Equal(t, []callback.CauseKind{callback.ByPathCircuit, callback.BySingle}, slices.Compact(kinds(b.asks(lamp))), "one way stands, with no second one beside it")
	other := b.say("11:00", off("C4"))
	e := b.asks(lamp)
	c := first(t, e, callback.ByLastPath)
	require.Equal(t, other.Ref(), c.Events[0])
	require.Contains(t, c.Events, one.Ref())
	require.Contains(t, c.Counterfactual, "through b2", "what would carry it again")
	require.Equal(t, callback.ByPathCircuit, e.Causes[1].Kind)
	require.Equal(t, events.Circuit("C3"), e.Causes[1].Subject)
	require.Contains(t, e.Causes[1].Against[0].Words, "another path stood after that")
	require.Contains(t, e.Causes[1].Against[0].Words, "through b2")
	require.Greater(t, c.Weight, e.Causes[1].Weight)
}

func TestOneOfSeveralInARowDoesNotBringItBack(t *testing.T) {
	b := build(t, layout{noB2: true})
	b.say("10:40", off("C1"))
	b.say("10:50", off("C2"))
	b.say("11:00", off("C3"))
	e := b.asks(lamp)
	c := first(t, e, callback.ByLastPath)
	require.Equal(t, events.Circuit("C2"), c.Subject, "that one cut it off, after C1")
	require.Contains(t, c.Counterfactual, "Put back by itself it would not help")
	require.Equal(t, events.Circuit("C3"), e.Causes[1].Subject, "b1 went after, and is needed")
	require.Equal(t, events.Circuit("C1"), e.Causes[2].Subject, "a1 or a2, one of them will do")
	require.NotEmpty(t, e.Causes[2].Against)
}

func TestACauseOfTheWholeRoomRanksFirst(t *testing.T) {
	b := build(t, layout{})
	b.say("11:00", off("C5"))
	b.say("11:30", fault("3-2"))
	e := b.asks(room)
	c := first(t, e, callback.ByPower)
	require.Equal(t, tags("3-1", "3-2", "3-3"), c.Devices)
	require.Contains(t, c.Words, "concerns 3 of the 4 devices asked about")
	require.Equal(t, callback.ByOpenFault, e.Causes[1].Kind)
	require.Equal(t, tags("3-9"), e.Left)
	require.Contains(t, e.Words, "Nothing is known that would explain 3-9")
	require.Greater(t, perhaps(b.asks(lamp), callback.ByPower).Weight, 0)
}

func perhaps(e callback.Explanation, k callback.CauseKind) callback.Cause {
	for _, c := range e.Causes {
		if c.Kind == k {
			return c
		}
	}
	return callback.Cause{}
}

func TestWhatASubjectStandsFor(t *testing.T) {
	b := build(t, layout{})
	for _, tt := range []struct {
		about events.Subject
		want  []events.Tag
	}{
		{room, tags("3-1", "3-2", "3-3", "3-9")},
		{events.Circuit("C5"), tags("3-1", "3-2", "3-3")},
		{events.Floor("3"), tags("3-1", "3-2", "3-3", "3-9", "9-1", "a1", "a2", "b1", "b2")},
		{events.Hub("H1"), tags("3-1", "3-2", "3-3", "3-9", "9-1", "a1", "a2", "b1", "b2")},
		{lamp, tags("3-1")},
		{events.Device("7-7"), tags()},
	} {
		require.ElementsMatch(t, tt.want, b.asks(tt.about).Devices, tt.about)
	}
	e := b.asks(events.Device("7-7"))
	require.True(t, e.Nothing)
	require.Contains(t, e.Words, "No device of 7-7 is known here")
	b.say("11:00", events.PowerOff{Of: events.Circuit("C6"), Dark: tags("9-1")})
	require.Equal(t, tags("9-1"), b.asks(events.Circuit("C6")).Devices, "learned")
}

func TestHavingBeenHeardSinceSpeaksAgainst(t *testing.T) {
	b := build(t, layout{})
	b.say("10:30", events.CheckDone{Of: lamp, Test: events.TestAnswer})
	b.say("11:00", off("C5"))
	first(t, b.asks(lamp, symptom(callback.NoAnswer)), callback.ByPower)
	heard := b.say("11:30", events.DeviceHeard{Device: "3-2", Hub: "H1"})
	c := perhaps(b.asks(lamp, symptom(callback.NoAnswer)), callback.ByPower)
	require.Equal(t, []events.Ref{heard.Ref()}, evidenceOf(c.Against), "another on that circuit was heard")
	b.say("11:31", events.DeviceHeard{Device: "3-1", Hub: "H1"})
	e := b.asks(lamp, symptom(callback.NoAnswer))
	first(t, e, callback.ByFailedCheck)
	require.Len(t, e.Causes[1].Against, 2)
	require.Equal(t, c.Weight-800, e.Causes[1].Weight, "each counts")
}

func TestTheTimeAskedAboutWeighs(t *testing.T) {
	b := build(t, layout{})
	b.say("10:30", fault("3-1"))
	b.say("11:00", events.FaultFound{Of: room, Symptom: "smells", Severity: events.Minor})
	require.Equal(t, room, first(t, b.asks(lamp, since("10:45")), callback.ByOpenFault).Subject)
	require.Contains(t, b.asks(lamp, since("10:45")).Causes[1].Words, "before the time asked about")
	e := b.asks(lamp, until("10:45"))
	require.Len(t, e.Causes, 1)
	b.say("12:00", off("C5"))
	b.say("12:30", on("C5"))
	first(t, b.asks(lamp, since("10:00"), until("12:10")), callback.ByPower) // it was off then
	none(t, b.asks(lamp), callback.ByPower)
}

func TestTheSymptomWeighs(t *testing.T) {
	b := build(t, layout{})
	b.say("11:00", events.HubLoaded{Hub: "H1", Program: "r2", All: true})
	b.say("11:30", off("C5"))
	first(t, b.asks(lamp, symptom(callback.NoAnswer)), callback.ByPower)
	first(t, b.asks(lamp, symptom(callback.WrongLevel)), callback.ByOldProgram)
	c := first(t, b.asks(lamp, symptom(callback.AlwaysOn)), callback.ByOldProgram)
	require.Contains(t, c.Words, "may well be behind always-on")
	require.Contains(t, perhaps(b.asks(lamp, symptom(callback.AlwaysOn)), callback.ByPower).Words, "does not explain always-on")
}

func TestTheHeadSaysWhatWasLoggedSinceHandover(t *testing.T) {
	now := func(q *callback.Question) { q.Now = tale.T("2026-06-28T11:00:00Z") }
	b := build(t, layout{})
	e := b.asks(lamp, now)
	require.Equal(t, 118, e.Silence.Days)
	require.Zero(t, e.Silence.Entries)
	require.Equal(t, "Nothing logged since handover: 118 days (signed 2026-03-02 10:00 by Ann as commissioning lead).", e.Head)
	b.Lead.Compare("10:30", b.bo, 0) // a record, and nothing that happened
	b.say("10:31", events.WorkSigned{Of: events.Floor("3"), Scope: "seen", Signer: "Ann", As: "lead"})
	e = b.asks(lamp, now)
	require.Equal(t, 1, e.Silence.Entries)
	require.Contains(t, e.Head, "1 entry logged since handover: 118 days")
	require.Equal(t, tale.T("10:00"), e.From.Value, "handover is where it begins")
	e = build(t, layout{unsigned: true}).asks(lamp)
	require.Nil(t, e.Silence)
	require.Contains(t, e.Head, "Never handed over")
	require.Equal(t, tale.T("09:40"), e.From.Value, "the last proof is where it begins")
}

func TestASinglePointComesLastAndIsNoEvent(t *testing.T) {
	b := build(t, layout{noB2: true})
	e := b.asks(lamp, symptom(callback.Intermittent))
	require.Equal(t, callback.BySingle, first(t, e, callback.BySingle).Kind)
	require.Contains(t, e.Words, "The log knows of nothing that is wrong now, but every way home of 3-1 that is known goes over circuit C3; if that went unseen")
	require.True(t, e.Open)
	require.False(t, e.Nothing)
	b.say("11:00", events.CheckDone{Of: room, Test: events.TestManual})
	e = b.asks(lamp, symptom(callback.Intermittent))
	first(t, e, callback.ByFailedCheck)
	require.Equal(t, callback.BySingle, e.Causes[len(e.Causes)-1].Kind)
	none(t, build(t, layout{}).asks(lamp), callback.BySingle)
}

func TestTheCounterfactualIsComputed(t *testing.T) {
	b := build(t, layout{oneB: true})
	b.say("11:00", off("C5"))
	c := first(t, b.asks(lamp), callback.ByPower)
	require.Contains(t, c.Counterfactual, "Without it 3-1 would have power")
	b.say("11:05", events.PowerOff{Of: lamp})
	for _, c := range b.asks(lamp).Causes[:2] {
		require.Equal(t, callback.ByPower, c.Kind)
		require.NotContains(t, c.Counterfactual, "would have power", "the other one keeps it dark")
	}
	b.say("11:10", on("C5"), events.PowerOn{Of: lamp})
	b.say("11:20", off("C3"))
	b.say("11:30", off("C3")) // said twice
	c = first(t, b.asks(lamp), callback.ByPathCircuit)
	require.Contains(t, c.Counterfactual, "Had it not gone, 3-1 would have a path:")
	require.Contains(t, c.Counterfactual, "through b1")
	require.Len(t, c.Events, 2, "both entries say it")
}
