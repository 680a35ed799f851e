package callback_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/callback"
)

// planted is a cause planted on a working site, and how it is put right.
type planted struct {
	name    string
	kind    callback.CauseKind
	subject events.Subject
	about   events.Subject // 3-1 unless given
	symptom callback.Symptom
	layout  layout
	plant   func(b *building) *events.Event // at 11:00; the entry that did it
	cure    func(b *building, e *events.Event)
	single  bool // the layout leaves a single point, with or without the cause
}

func withdrawn(b *building, e *events.Event) {
	b.say("12:00", events.EventVoided{Event: e.Ref(), Why: events.DidNotHappen})
}

func pushedAgain(b *building, _ *events.Event) {
	b.say("12:30", events.PushDone{Hub: "H1", Program: "r1"}, events.DeviceHeard{Device: "3-1", Hub: "H1"})
}

var plants = []planted{
	{name: "its breaker is off", kind: callback.ByPower, subject: events.Circuit("C5"),
		plant: func(b *building) *events.Event { return b.say("11:00", events.PowerOff{Of: events.Circuit("C5")}) },
		cure:  func(b *building, _ *events.Event) { b.say("12:00", events.PowerOn{Of: events.Circuit("C5")}) }},
	{name: "its own supply is off", kind: callback.ByPower, subject: events.Device("3-1"),
		plant: func(b *building) *events.Event { return b.say("11:00", events.PowerOff{Of: events.Device("3-1")}) },
		cure:  func(b *building, _ *events.Event) { b.say("12:00", events.PowerOn{Of: events.Device("3-1")}) }},
	{name: "the breaker of the hub is off", kind: callback.ByHubPower, subject: events.Circuit("C0"),
		plant: func(b *building) *events.Event { return b.say("11:00", events.PowerOff{Of: events.Circuit("C0")}) },
		cure:  func(b *building, _ *events.Event) { b.say("12:00", events.PowerOn{Of: events.Circuit("C0")}) }},
	{name: "the hub is lost", kind: callback.ByHubLost, subject: events.Hub("H1"),
		plant: func(b *building) *events.Event {
			return b.say("11:00", events.HubLost{Hub: "H1", Why: "does not answer"})
		},
		cure: func(b *building, _ *events.Event) { b.say("12:00", events.HubReady{Hub: "H1"}) }},
	{name: "a breaker two doors away took both routers", kind: callback.ByPathCircuit, subject: events.Circuit("C3"), layout: layout{oneB: true}, single: true,
		plant: func(b *building) *events.Event { return b.say("11:00", events.PowerOff{Of: events.Circuit("C3")}) },
		cure:  func(b *building, _ *events.Event) { b.say("12:00", events.PowerOn{Of: events.Circuit("C3")}) }},
	{name: "a router on the way was unpaired", kind: callback.ByPathRouter, subject: events.Device("b1"), layout: layout{noB2: true}, single: true,
		plant: func(b *building) *events.Event {
			return b.say("11:00", events.DeviceUnpaired{Device: "b1", Why: "reset by the cleaners"})
		},
		cure: withdrawn},
	{name: "a router on the way was replaced and not paired", kind: callback.ByPathRouter, subject: events.Device("b1"), layout: layout{noB2: true}, single: true,
		plant: func(b *building) *events.Event {
			return b.say("11:00", events.DeviceReplaced{Device: "b1", New: "SN-99", Why: "flickers"})
		},
		cure: func(b *building, _ *events.Event) {
			b.say("12:00", events.DevicePaired{Device: "b1", Hub: "H1", Serial: "SN-99"})
		}},
	{name: "a router on the way was struck", kind: callback.ByPathRouter, subject: events.Device("b1"), layout: layout{noB2: true}, single: true,
		plant: func(b *building) *events.Event {
			return b.say("11:00", events.DeviceStruck{Device: "b1", Why: "ceiling taken down"})
		},
		cure: withdrawn},
	{name: "a router on the way went to another hub", kind: callback.ByPathRouter, subject: events.Device("b1"), layout: layout{noB2: true}, single: true,
		plant: func(b *building) *events.Event {
			return b.say("11:00", events.DevicePaired{Device: "b1", Hub: "H2", Serial: "SN-c"})
		},
		cure: withdrawn},
	{name: "the second of two ways went", kind: callback.ByLastPath, subject: events.Circuit("C4"),
		plant: func(b *building) *events.Event {
			b.say("10:30", events.PowerOff{Of: events.Circuit("C3")})
			return b.say("11:00", events.PowerOff{Of: events.Circuit("C4")})
		},
		cure: func(b *building, _ *events.Event) {
			b.say("12:00", events.PowerOn{Of: events.Circuit("C4")}, events.PowerOn{Of: events.Circuit("C3")})
		}},
	{name: "the hub changed channel", kind: callback.ByNewChannel, subject: events.Hub("H1"),
		plant: func(b *building) *events.Event {
			return b.say("11:00", events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 25})
		},
		cure: pushedAgain},
	{name: "pushed before it had settled", kind: callback.ByEarlyPush, subject: events.Hub("H1"), layout: layout{unheard: true},
		plant: func(b *building) *events.Event {
			b.say("10:50", events.DevicePaired{Device: "3-1", Hub: "H1", Serial: "SN-e"})
			b.home("10:51", "x2")
			return b.say("10:55", events.PushDone{Hub: "H1", Program: "r1"})
		},
		cure: func(b *building, e *events.Event) {
			pushedAgain(b, e)
		}},
	{name: "missed the last push", kind: callback.ByMissed, subject: events.Hub("H1"), symptom: callback.WrongLevel,
		plant: func(b *building) *events.Event {
			return b.say("11:00", events.PushDone{Hub: "H1", Program: "r1", Missed: []events.Tag{"3-1"}})
		},
		cure: pushedAgain},
	{name: "unpaired, and refused since", kind: callback.ByUnpaired, subject: events.Device("3-1"),
		plant: func(b *building) *events.Event {
			return b.say("11:00", events.DeviceUnpaired{Device: "3-1", Why: "reset"})
		},
		cure: withdrawn},
	{name: "replaced and never paired", kind: callback.ByReplaced, subject: events.Device("3-1"),
		plant: func(b *building) *events.Event {
			return b.say("11:00", events.DeviceReplaced{Device: "3-1", New: "SN-98", Why: "dead"})
		},
		cure: func(b *building, e *events.Event) {
			b.say("12:00", events.DevicePaired{Device: "3-1", Hub: "H1", Serial: "SN-98"})
			b.home("12:05", "x3")
			pushedAgain(b, e)
		}},
	{name: "replaced, paired, and never pushed", kind: callback.ByReplaced, subject: events.Device("3-1"), symptom: callback.AlwaysOn,
		plant: func(b *building) *events.Event {
			e := b.say("11:00", events.DeviceReplaced{Device: "3-1", New: "SN-98", Why: "dead"})
			b.say("11:05", events.DevicePaired{Device: "3-1", Hub: "H1", Serial: "SN-98"})
			return e
		},
		cure: func(b *building, e *events.Event) {
			b.home("12:05", "x3")
			pushedAgain(b, e)
		}},
	{name: "struck from the schedule", kind: callback.ByStruck, subject: events.Device("3-1"),
		plant: func(b *building) *events.Event {
			return b.say("11:00", events.DeviceStruck{Device: "3-1", Why: "not wanted"})
		},
		cure: withdrawn},
	{name: "one serial on two positions", kind: callback.BySerial, subject: events.Device("3-1"),
		plant: func(b *building) *events.Event {
			return b.say("11:00", events.DeviceFitted{Device: "9-1", Serial: "SN-e", Source: events.Typed})
		},
		cure: withdrawn},
	{name: "not listed by the new program", kind: callback.ByNotListed, subject: events.Hub("H1"), symptom: callback.AlwaysOn,
		plant: func(b *building) *events.Event {
			return b.say("11:00", events.HubLoaded{Hub: "H1", Program: "r2", Lists: []events.Tag{"3-2"}})
		},
		cure: withdrawn},
	{name: "a newer program was loaded, and not pushed", kind: callback.ByOldProgram, subject: events.Hub("H1"), symptom: callback.WrongLevel,
		plant: func(b *building) *events.Event {
			return b.say("11:00", events.HubLoaded{Hub: "H1", Program: "r2", All: true})
		},
		cure: func(b *building, _ *events.Event) {
			b.say("12:00", events.PushDone{Hub: "H1", Program: "r2"})
		}},
	{name: "the last push came to nothing", kind: callback.ByPushFailed, subject: events.Hub("H1"), symptom: callback.WrongLevel,
		plant: func(b *building) *events.Event {
			return b.say("11:00", events.PushFailed{Hub: "H1", Why: "timed out"})
		},
		cure: pushedAgain},
	{name: "pushed with stale records", kind: callback.ByNotMerged, subject: events.Hub("H1"), symptom: callback.WrongLevel,
		plant: func(b *building) *events.Event {
			b.say("10:40", events.DevicePaired{Device: "3-1", Hub: "H1", Serial: "SN-e"})
			return b.say("11:00", events.PushDone{Hub: "H1", Program: "r1"})
		},
		cure: func(b *building, e *events.Event) {
			b.home("12:05", "x3")
			pushedAgain(b, e)
		}},
	{name: "paired anew and never pushed", kind: callback.ByNotPushed, subject: events.Hub("H1"), symptom: callback.AlwaysOn,
		plant: func(b *building) *events.Event {
			return b.say("11:00", events.DevicePaired{Device: "3-1", Hub: "H1", Serial: "SN-e"})
		},
		cure: func(b *building, e *events.Event) {
			b.home("12:05", "x3")
			pushedAgain(b, e)
		}},
	{name: "never heard since it was pushed", kind: callback.ByNeverHeard, subject: events.Hub("H1"),
		plant: func(b *building) *events.Event {
			b.say("10:20", events.DevicePaired{Device: "3-1", Hub: "H1", Serial: "SN-e"})
			b.home("10:25", "x2")
			return b.say("11:00", events.PushDone{Hub: "H1", Program: "r1"})
		},
		cure: func(b *building, _ *events.Event) { b.say("12:00", events.DeviceHeard{Device: "3-1", Hub: "H1"}) }},
	{name: "a link on the way got weak", kind: callback.ByWeakLink, subject: events.Device("b1"), symptom: callback.Intermittent, layout: layout{noB2: true}, single: true,
		plant: func(b *building) *events.Event {
			b.say("10:10", events.LinkMeasured{A: "b1", B: "a1", RSSI: events.Some(-60)}, events.LinkMeasured{A: "b1", B: "a2", RSSI: events.Some(-93)})
			return b.say("11:00", events.LinkMeasured{A: "b1", B: "a1", RSSI: events.Some(-92)})
		},
		cure: func(b *building, _ *events.Event) {
			b.say("12:00", events.LinkMeasured{A: "b1", B: "a1", RSSI: events.Some(-60)})
		}},
	{name: "a test of the room failed", kind: callback.ByFailedCheck, subject: events.Room("3.12"), symptom: callback.AlwaysOn,
		plant: func(b *building) *events.Event {
			return b.say("11:00", events.CheckDone{Of: events.Room("3.12"), Test: events.TestVacancy, Reading: "25 min", Limit: "20 min"})
		},
		cure: func(b *building, _ *events.Event) {
			b.say("12:00", events.CheckDone{Of: events.Room("3.12"), Test: events.TestVacancy, Pass: true})
		}},
	{name: "a fault is open", kind: callback.ByOpenFault, subject: events.Device("3-1"),
		plant: func(b *building) *events.Event {
			return b.say("11:00", events.FaultFound{Of: events.Device("3-1"), Symptom: "driver hums", Severity: events.Major})
		},
		cure: func(b *building, e *events.Event) {
			b.say("12:00", events.FaultCleared{Fault: e.Ref(), Action: "driver changed"})
		}},
	{name: "the circuit is on hold", kind: callback.ByHeld, subject: events.Circuit("C5"),
		plant: func(b *building) *events.Event {
			return b.say("11:00", events.HoldPlaced{Of: events.Circuit("C5"), Why: "rewiring", Who: "electrician"})
		},
		cure: func(b *building, _ *events.Event) { b.say("12:00", events.HoldLifted{Of: events.Circuit("C5")}) }},
	{name: "paired to another hub", kind: callback.ByOtherHub, subject: events.Device("3-1"), symptom: callback.WrongLevel,
		plant: func(b *building) *events.Event {
			b.say("10:30", events.HubLoaded{Hub: "H2", Program: "q1", All: true}, events.HubReady{Hub: "H2"})
			e := b.say("10:40", events.DevicePaired{Device: "3-1", Hub: "H2", Serial: "SN-e"})
			b.home("10:45", "x2")
			b.say("11:00", events.PushDone{Hub: "H2", Program: "q1"}, events.CheckDone{Of: events.Device("3-1"), Test: events.TestAnswer, Pass: true})
			return e
		},
		cure: func(b *building, e *events.Event) {
			b.say("12:00", events.DevicePaired{Device: "3-1", Hub: "H1", Serial: "SN-e"})
			b.home("12:05", "x3")
			pushedAgain(b, e)
		}},
	{name: "it was found farther away", kind: callback.ByMoved, subject: events.Device("3-1"), symptom: callback.Intermittent,
		plant: func(b *building) *events.Event {
			return b.say("11:00", events.DevicePlaced{Device: "3-1", Place: spot(46, 2).Value})
		},
		cure: withdrawn},
	{name: "a metal wall came between", kind: callback.ByMoved, subject: events.Floor("3"), symptom: callback.Intermittent,
		plant: func(b *building) *events.Event {
			return b.say("11:00", events.WallListed{Wall: "w1", Floor: "3", Material: "concrete", Thickness: 200, Line: []events.XY{{X: 28000, Y: -20000}, {X: 28000, Y: 30000}}})
		},
		cure: withdrawn},
	{name: "its power comes and goes", kind: callback.ByCuts, subject: events.Circuit("C5"), symptom: callback.Intermittent,
		plant: func(b *building) *events.Event {
			e := b.say("10:30", events.PowerOff{Of: events.Circuit("C5")})
			b.say("10:40", events.PowerOn{Of: events.Circuit("C5")})
			return e
		},
		cure: func(b *building, e *events.Event) { withdrawn(b, e) }},
}

func TestThePlantedCauseRanksFirst(t *testing.T) {
	require.GreaterOrEqual(t, len(plants), 12)
	for _, p := range plants {
		t.Run(p.name, func(t *testing.T) {
			if p.about == (events.Subject{}) {
				p.about = events.Device("3-1")
			}
			b := build(t, p.layout)
			none := b.asks(p.about, symptom(p.symptom))
			require.NotContains(t, kinds(none), p.kind, "before it is planted")
			if !p.single && !p.layout.unheard {
				require.True(t, none.Nothing, "before it is planted: %v %s", kinds(none), none.Words)
			}
			planted := p.plant(b)
			c := first(t, b.asks(p.about, symptom(p.symptom)), p.kind)
			require.Equal(t, p.subject, c.Subject)
			require.Contains(t, c.Events, planted.Ref())
			require.Contains(t, evidenceOf(c.For), planted.Ref())
			require.Equal(t, []events.Tag{"3-1"}, c.Devices)
			require.NotEmpty(t, c.Check)
			require.NotEmpty(t, c.Cautions)
			require.NotEmpty(t, c.Record)
			p.cure(b, planted)
			after := b.asks(p.about, symptom(p.symptom))
			require.NotContains(t, kinds(after), p.kind, "after it was put right")
			if !p.single {
				require.True(t, after.Nothing, "after it was put right: %v", kinds(after))
			}
		})
	}
}
