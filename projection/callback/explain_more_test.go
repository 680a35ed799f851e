package callback_test

import (
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/callback"
	"pairwalk/projection/tale"
)

// TestEachJudgeKeepsToItsOwn holds the finer points of the judges: what else they
// name, and what they let pass.
func TestEachJudgeKeepsToItsOwn(t *testing.T) {
	other := events.Device("3-2")
	for _, tt := range []struct {
		name    string
		layout  layout
		symptom callback.Symptom
		told    func(b *building)
		want    []callback.CauseKind // named, in their rank
	}{
		{"a device that was lit by itself has power, whatever its breaker", layout{}, "", func(b *building) {
			b.say("11:00", off("C5"))
			b.say("11:10", events.PowerOn{Of: lamp})
		}, nil},
		{"the hub was taken off the schedule", layout{}, "", func(b *building) {
			b.say("11:00", events.HubStruck{Hub: "H1", Why: "another hub does it"})
		}, []callback.CauseKind{callback.ByHubLost}},
		{"a hub elsewhere is lost", layout{}, "", func(b *building) {
			b.say("11:00", events.HubLost{Hub: "H2", Why: "dark"})
		}, nil},
		{"a program that did not list it was pushed, and one that does is loaded", layout{}, callback.AlwaysOn, func(b *building) {
			b.say("11:00", events.HubLoaded{Hub: "H1", Program: "r2", Lists: tags("3-2")})
			b.say("11:05", events.PushDone{Hub: "H1", Program: "r2"})
			b.say("11:10", events.HubLoaded{Hub: "H1", Program: "r1", All: true})
		}, []callback.CauseKind{callback.ByNotListed}},
		{"… and then that one was pushed", layout{}, callback.AlwaysOn, func(b *building) {
			b.say("11:00", events.HubLoaded{Hub: "H1", Program: "r2", Lists: tags("3-2")})
			b.say("11:05", events.PushDone{Hub: "H1", Program: "r2"})
			b.say("11:10", events.HubLoaded{Hub: "H1", Program: "r1", All: true})
			b.say("11:15", events.PushDone{Hub: "H1", Program: "r1"})
		}, nil},
		{"paired anew, and a program that did not list it was pushed", layout{}, callback.AlwaysOn, func(b *building) {
			b.say("10:20", events.DevicePaired{Device: "3-1", Hub: "H1", Serial: "SN-e"})
			b.home("10:30", "x2")
			b.say("11:00", events.HubLoaded{Hub: "H1", Program: "r2", Lists: tags("3-2")})
			b.say("11:05", events.PushDone{Hub: "H1", Program: "r2"})
		}, []callback.CauseKind{callback.ByNotListed}},
		{"refused, and never paired since", layout{}, "", func(b *building) {
			b.say("11:00", events.DeviceUnpaired{Device: "3-1", Why: "reset"})
			b.say("11:10", events.DeviceRefused{Device: "3-1", Why: events.NoAnswer})
		}, []callback.CauseKind{callback.ByUnpaired, callback.ByMissed}},
		{"skipped, and never paired since", layout{}, "", func(b *building) {
			b.say("11:00", events.DeviceUnpaired{Device: "3-1", Why: "reset"})
			b.say("11:10", events.DeviceSkipped{Device: "3-1", Why: events.NoAccess})
		}, []callback.CauseKind{callback.ByUnpaired, callback.ByMissed}},
		{"found to be two units", layout{}, "", func(b *building) {
			b.say("11:00", events.DeviceFitted{Device: "3-1", Serial: "SN-other", Source: events.Scanned})
		}, []callback.CauseKind{callback.BySerial}},
		{"never heard, but passed its test", layout{}, "", func(b *building) {
			b.say("10:20", events.DevicePaired{Device: "3-1", Hub: "H1", Serial: "SN-e"})
			b.home("10:30", "x2")
			b.say("11:00", events.PushDone{Hub: "H1", Program: "r1"}, events.CheckDone{Of: lamp, Test: events.TestAnswer, Pass: true})
		}, nil},
		{"a test failed before it was paired anew", layout{}, "", func(b *building) {
			b.say("10:05", events.CheckDone{Of: lamp, Test: events.TestAnswer})
			b.say("10:20", events.DevicePaired{Device: "3-1", Hub: "H1", Serial: "SN-e"})
			b.home("10:30", "x2")
			b.say("11:00", events.PushDone{Hub: "H1", Program: "r1"}, events.DeviceHeard{Device: "3-1", Hub: "H1"})
		}, nil},
		{"another device's trouble", layout{}, "", func(b *building) {
			b.say("11:00", fault("3-2"), events.PowerOff{Of: other}, events.CheckDone{Of: other, Test: events.TestAnswer}, events.HoldPlaced{Of: other, Why: "work"},
				events.PushDone{Hub: "H1", Program: "r1", Tried: tags("3-2"), Missed: tags("3-2")}, events.DeviceReplaced{Device: "3-2", New: "SN-77", Why: "dead"})
		}, nil},
		{"another device was pushed early", layout{}, "", func(b *building) {
			b.say("10:50", events.DevicePaired{Device: "3-2", Hub: "H1", Serial: "SN-f"})
			b.home("10:51", "x2")
			b.say("10:55", events.PushDone{Hub: "H1", Program: "r1"})
		}, nil},
		{"another device's serial is in doubt", layout{}, "", func(b *building) {
			b.say("11:00", events.DeviceFitted{Device: "3-2", Serial: "SN-a", Source: events.Typed})
		}, nil},
		{"the same program was loaded again", layout{}, callback.WrongLevel, func(b *building) {
			b.say("11:00", events.HubLoaded{Hub: "H1", Program: "r1", All: true})
		}, nil},
		{"a weak link that is on no way home of it", layout{noB2: true}, callback.Intermittent, func(b *building) {
			b.say("10:10", events.LinkMeasured{A: "9-1", B: "H1", RSSI: events.Some(-50)})
			b.say("11:00", events.LinkMeasured{A: "9-1", B: "H1", RSSI: events.Some(-94)})
		}, []callback.CauseKind{callback.BySingle, callback.BySingle}},
		{"a link measured again, as strong as before", layout{noB2: true}, callback.Intermittent, func(b *building) {
			b.say("10:10", events.LinkMeasured{A: "b1", B: "a1", RSSI: events.Some(-60)})
			b.say("11:00", events.LinkMeasured{A: "b1", B: "a1", RSSI: events.Some(-61)})
		}, []callback.CauseKind{callback.BySingle, callback.BySingle}},
		{"dark, and a router went as well", layout{noB2: true}, "", func(b *building) {
			b.say("11:00", off("C5"), off("C3"))
		}, []callback.CauseKind{callback.ByPower}},
		{"struck, and a router went as well", layout{noB2: true}, "", func(b *building) {
			b.say("11:00", events.DeviceStruck{Device: "3-1", Why: "gone"}, off("C3"))
		}, []callback.CauseKind{callback.ByStruck}},
		{"found two metres aside, which costs its way home nothing", layout{}, callback.Intermittent, func(b *building) {
			b.say("11:00", events.DevicePlaced{Device: "3-1", Place: spot(33, 4).Value})
		}, []callback.CauseKind{callback.ByMoved}},
		{"a wall that its way home does not cross", layout{}, callback.Intermittent, func(b *building) {
			b.say("11:00", events.WallListed{Wall: "w1", Floor: "3", Material: "metal", Thickness: 2, Line: []events.XY{{X: 60_000, Y: 0}, {X: 60_000, Y: 9000}}})
		}, nil},
		{"a lamp on the circuit of the hub makes that no single point", layout{}, callback.Intermittent, func(b *building) {
			d, _ := b.Now().Device("9-1")
			row := *d.DeviceListed
			row.Circuit = "C0"
			b.say("11:00", row)
		}, nil},
		{"a place put right by a hand's breadth", layout{}, callback.Intermittent, func(b *building) {
			b.say("11:00", events.DevicePlaced{Device: "3-1", Place: events.Point{X: 33_200, Y: 2000, Z: 2700}})
		}, nil},
		{"a place known before it was last heard", layout{}, callback.Intermittent, func(b *building) {
			b.say("11:00", events.DevicePlaced{Device: "3-1", Place: spot(34, 8).Value})
			b.say("11:10", events.DeviceHeard{Device: "3-1", Hub: "H1"})
		}, nil},
		{"another device was found elsewhere, which carries nothing", layout{}, callback.Intermittent, func(b *building) {
			b.say("11:00", events.DevicePlaced{Device: "9-1", Place: spot(0, 14).Value})
		}, nil},
		{"a wall on another floor", layout{}, callback.Intermittent, func(b *building) {
			b.say("11:00", events.WallListed{Wall: "w1", Floor: "4", Material: "metal", Thickness: 2, Line: []events.XY{{X: 28000, Y: -20000}, {X: 28000, Y: 30000}}})
		}, nil},
		{"cuts elsewhere", layout{}, callback.Intermittent, func(b *building) {
			b.say("10:50", off("C9"), on("C9"))
		}, nil},
		{"cuts before the time asked about", layout{}, callback.Intermittent, func(b *building) {
			b.Lead.Say("10:05", off("C5"), tale.When("09:45", "09:45"))
			b.Lead.Say("10:05", on("C5"), tale.When("09:50", "09:50"))
		}, nil},
		{"power that came and went, and a steady complaint", layout{}, callback.NoAnswer, func(b *building) {
			b.say("10:50", off("C5"))
			b.say("10:55", on("C5"))
		}, nil},
		{"the way home came and went", layout{oneB: true}, callback.Intermittent, func(b *building) {
			b.say("10:50", off("C3"))
			b.say("10:55", on("C3"))
		}, []callback.CauseKind{callback.ByCuts, callback.BySingle}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := build(t, tt.layout)
			tt.told(b)
			require.Equal(t, tt.want, kinds(b.asks(lamp, symptom(tt.symptom))))
		})
	}
}

func TestARouterFoundElsewhereIsNamedWhereItCarried(t *testing.T) {
	b := build(t, layout{noB2: true})
	moved := b.say("11:00", events.DevicePlaced{Device: "b1", Place: spot(24, -60).Value})
	c := first(t, b.asks(lamp, symptom(callback.Intermittent)), callback.ByMoved)
	require.Equal(t, events.Device("b1"), c.Subject)
	require.Equal(t, moved.Ref(), c.Events[0])
}

func TestWhatIsScheduledAndNeverPairedIsNamed(t *testing.T) {
	b := build(t, layout{})
	row := b.say("10:30", events.DeviceListed{Device: "3-4", Is: events.Driver, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Room: "3.12"},
		events.DeviceListed{Device: "3-5", Is: events.WiredRemote, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Room: "3.12"})
	require.NotNil(t, row)
	b.say("10:40", off("C0"), off("C5")) // which take nothing from what was never paired
	require.NotContains(t, kinds(b.asks(events.Device("3-4"))), callback.ByHubPower)
	b.say("10:50", on("C0"), on("C5"))
	e := b.asks(room)
	c := first(t, e, callback.ByNotPaired)
	require.Equal(t, tags("3-4"), c.Devices, "a wired remote never pairs")
}

func TestPairedByTwoInIgnoranceIsDoubt(t *testing.T) {
	b := build(t, layout{})
	one := b.bo.Say("11:00", events.DevicePaired{Device: "3-1", Hub: "H1", Serial: "SN-e"})
	two := b.say("11:10", events.DevicePaired{Device: "3-1", Hub: "H1", Serial: "SN-e"})
	e := b.asks(lamp)
	var found bool
	for _, c := range e.Causes {
		if c.Kind == callback.BySerial {
			found = true
			require.Subset(t, c.Events, []events.Ref{one.Ref(), two.Ref()})
		}
	}
	require.True(t, found, "%v", kinds(e))
}

func TestWhatTurnedTheWayHomeWeighsMore(t *testing.T) {
	b := build(t, layout{noB2: true})
	b.say("10:30", off("C1"))
	cut := b.say("10:40", off("C2")) // from now on it has no way home
	b.say("11:00", off("C3"))        // and from now on a second thing is missing
	e := b.asks(lamp)
	require.Equal(t, cut.Ref(), e.Causes[0].Events[0])
	require.Contains(t, e.Causes[0].Words, "got worse when it happened")
	require.Equal(t, 200+5*(88-84), e.Causes[0].Weight-e.Causes[1].Weight, "for that, and for being the last way")
	require.NotContains(t, e.Causes[1].Words, "got worse when it happened")
}

func TestAPushAfterTheCutByWhoHadNotHeardOfIt(t *testing.T) {
	b := build(t, layout{})
	b.bo.Say("10:40", off("C5"))
	b.say("11:00", events.PushDone{Hub: "H1", Program: "r1", Missed: tags("3-1", "3-2", "3-3")})
	c := first(t, b.asks(lamp), callback.ByPower)
	require.Len(t, c.Acted, 1)
	require.Contains(t, c.Acted[0], "lead logged \"pushed r1 to H1")
	require.Contains(t, c.Acted[0], "told of \"power off at circuit C5\" at 10:40")
}

func TestWhatIsOffAcrossMidnightIsDated(t *testing.T) {
	b := build(t, layout{})
	b.say("2026-06-23T07:00:00Z", off("C5"))
	b.say("2026-06-28T07:00:00Z", events.NoteAdded{Of: events.Site(), Text: "called"})
	e := b.asks(lamp, func(q *callback.Question) { q.Now = tale.T("2026-06-28T11:00:00Z") })
	require.Contains(t, first(t, e, callback.ByPower).Words, "is off since 2026-06-23 07:00")
	require.Equal(t, 118, e.Silence.Days)
}

// TestAskedMonthsLaterEveryTimeCarriesItsDay: the newest entry is of the day of the
// cut, and whoever is called hears of a time without a day as of today.
func TestAskedMonthsLaterEveryTimeCarriesItsDay(t *testing.T) {
	b := build(t, layout{noB2: true})
	b.say("11:00", off("C3"), events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 24})
	dated := regexp.MustCompile(`[0-9]{2}:[0-9]{2} on [0-9]+ [A-Z][a-z]{2}|2026-[0-9]{2}-[0-9]{2} [0-9]{2}:[0-9]{2}`)
	said := func(now string) string {
		e := b.asks(lamp, func(q *callback.Question) {
			if q.Now = 0; now != "" {
				q.Now = tale.T(now)
			}
		})
		words := append([]string{e.Head, e.Words}, e.Ask...)
		for _, c := range e.Causes {
			words = append(append(append(words, c.Words, c.Counterfactual), c.Check...), c.Acted...)
		}
		return strings.Join(words, "\n")
	}
	for _, now := range []string{"2026-07-01T09:00:00Z", ""} {
		words := said(now)
		require.Contains(t, words, "Circuit C3 is off since 2026-03-02 11:00")
		require.Contains(t, words, "channel 24 at 2026-03-02 11:00")
		require.Contains(t, words, "(signed 2026-03-02 10:00 by Ann")
		require.Contains(t, words, "off since 11:00 on 2 Mar", "as reach says it")
		for _, line := range strings.Split(words, "\n") {
			require.NotRegexp(t, `[0-9]{2}:[0-9]{2}`, dated.ReplaceAllString(line, "then"))
		}
	}
	require.Contains(t, said("2026-03-02T18:00:00Z"), "Circuit C3 is off since 11:00")
}

func TestAWithdrawnEntryIsNoEvidence(t *testing.T) {
	b := build(t, layout{})
	b.say("10:50", off("C5"))
	again := b.say("11:00", off("C5"))
	require.Len(t, first(t, b.asks(lamp), callback.ByPower).For, 2)
	b.say("11:10", events.EventVoided{Event: again.Ref(), Why: events.DidNotHappen})
	require.Len(t, first(t, b.asks(lamp), callback.ByPower).For, 1)
	lit := b.say("11:20", on("C5"))
	none(t, b.asks(lamp), callback.ByPower)
	b.say("11:30", events.EventVoided{Event: lit.Ref(), Why: events.DidNotHappen})
	first(t, b.asks(lamp), callback.ByPower) // it was not switched on after all
}

func TestHavingTakenAPushSinceSpeaksAgainst(t *testing.T) {
	b := build(t, layout{})
	b.say("11:00", off("C5"))
	push := b.say("11:30", events.PushDone{Hub: "H1", Program: "r1", Tried: tags("3-1")})
	require.Equal(t, []events.Ref{push.Ref()}, evidenceOf(first(t, b.asks(lamp), callback.ByPower).Against))
}

func TestItsOwnSupplyIsFoundByTheNameItHadThen(t *testing.T) {
	b := build(t, layout{})
	cut := b.say("11:00", events.PowerOff{Of: lamp})
	b.say("11:30", events.DeviceRenamed{From: "3-1", To: "3-1x"})
	require.Equal(t, cut.Ref(), first(t, b.asks(lamp, until("11:10")), callback.ByPower).Events[0])
	require.Equal(t, cut.Ref(), first(t, b.asks(lamp), callback.ByPower).Events[0])
}

func TestWhoHangsOnNothingIsNotSaidTo(t *testing.T) {
	b := build(t, layout{noB2: true})
	require.True(t, b.asks(events.Device("9-1"), symptom(callback.Intermittent)).Nothing)
}

func TestHowARouterWentIsSaid(t *testing.T) {
	b := build(t, layout{noB2: true})
	b.say("11:00", events.DeviceReplaced{Device: "b1", New: "SN-99", Why: "flickers"})
	require.Contains(t, first(t, b.asks(lamp), callback.ByPathRouter).Words, "b1, on the way home of 3-1, was replaced and not paired since, at 11:00")
}

func TestWhatHappenedInTheTimeAskedAboutComesBeforeWhatShowsMore(t *testing.T) {
	b := build(t, layout{})
	b.say("10:30", events.HubLoaded{Hub: "H1", Program: "r2", Lists: tags("3-2")})
	b.say("11:00", events.CheckDone{Of: lamp, Test: events.TestAnswer})
	first(t, b.asks(lamp, since("10:05")), callback.ByNotListed)
	first(t, b.asks(lamp, since("10:45")), callback.ByFailedCheck)
}

func TestWhatConcernsAllComesBeforeWhatFitsOne(t *testing.T) {
	b := build(t, layout{})
	b.say("11:00", events.PushDone{Hub: "H1", Program: "r1", Missed: tags("3-1")}, events.CheckDone{Of: room, Test: events.TestManual})
	first(t, b.asks(lamp, symptom(callback.NoAnswer)), callback.ByMissed)
	first(t, b.asks(room, symptom(callback.NoAnswer)), callback.ByFailedCheck)
}

// TestAWrongClockMovesNoCause: what bo logs stands at the true time once the clocks
// were compared, and so in or out of the time asked about.
func TestAWrongClockMovesNoCause(t *testing.T) {
	b := build(t, layout{})
	b.bo.Skew = 3 * time.Hour
	b.bo.Compare("10:40", b.Lead, 0)
	b.bo.Say("11:00", off("C5"))
	b.Lead.Hear(b.bo)
	b.say("11:20", events.HubLoaded{Hub: "H1", Program: "r2", Lists: tags("3-2")})
	c := first(t, b.asks(lamp, since("10:50"), until("11:10")), callback.ByPower)
	require.Equal(t, tale.T("11:00"), c.For[0].At)
	require.Contains(t, c.Words, "happened in the time asked about")
	none(t, b.asks(lamp, until("10:59")), callback.ByPower)
	require.Equal(t, callback.ByNotListed, b.asks(lamp, since("11:10")).Causes[0].Kind, "the cut came before that")
}
