package callback_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/callback"
)

// TestRank holds the parts of a weight against each other, as the package explains
// them: what is older is logged first.
func TestRank(t *testing.T) {
	for _, tt := range []struct {
		name    string
		layout  layout
		symptom callback.Symptom
		told    func(b *building)
		want    []callback.CauseKind
	}{
		{"what shows trouble more directly comes before what is newer", layout{}, "", func(b *building) {
			b.say("10:30", events.HubLoaded{Hub: "H1", Program: "r2", Lists: tags("3-2")})
			b.say("11:00", events.CheckDone{Of: lamp, Test: events.TestAnswer})
		}, []callback.CauseKind{callback.ByNotListed, callback.ByFailedCheck}},
		{"what is better with it left out comes before what shows a little more", layout{}, "", func(b *building) {
			b.say("10:30", events.DeviceStruck{Device: "3-1", Why: "gone"})
			b.say("11:00", events.HubLoaded{Hub: "H1", Program: "r2", Lists: tags("3-2")})
		}, []callback.CauseKind{callback.ByStruck, callback.ByNotListed}},
		{"what is from this week comes before what is from spring", layout{}, "", func(b *building) {
			b.say("10:30", events.DeviceFitted{Device: "9-1", Serial: "SN-e", Source: events.Typed})
			b.say("2026-06-01T10:00:00Z", events.PushDone{Hub: "H1", Program: "r1", Missed: tags("3-1")})
		}, []callback.CauseKind{callback.ByMissed, callback.BySerial}},
		{"what hardly explains it comes before a single point, which is no event", layout{noB2: true}, callback.Intermittent, func(b *building) {
			b.say("11:00", events.HubLoaded{Hub: "H1", Program: "r2", Lists: tags("3-2")})
		}, []callback.CauseKind{callback.ByNotListed, callback.BySingle, callback.BySingle}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := build(t, tt.layout)
			tt.told(b)
			require.Equal(t, tt.want, kinds(b.asks(lamp, symptom(tt.symptom))))
		})
	}
}

func TestOfEqualsTheNewestComesFirst(t *testing.T) {
	b := build(t, layout{})
	b.say("10:30", fault("3-1"))
	newer := b.say("11:00", fault("3-1"))
	require.Equal(t, newer.Ref(), b.asks(lamp).Causes[0].Events[0])
}

// TestThePastIsTheOneTheyKnew: what happened before a cut is asked of what the
// member knew, not of what is known here.
func TestThePastIsTheOneTheyKnew(t *testing.T) {
	b := build(t, layout{noB2: true})
	b.say("10:30", off("C1"))
	b.say("10:40", off("C2"))
	b.bo.Say("11:00", off("C3"))
	require.Contains(t, first(t, b.asks(lamp, knownBy(b.bo)), callback.ByPathCircuit).Words, "got worse when it happened")
}

func TestTheRoomItselfIsNotAskedAfter(t *testing.T) {
	b := build(t, layout{})
	b.say("11:00", off("C5"))
	e := b.asks(lamp)
	require.Equal(t, "Is the breaker labelled C5 on? Only look, don't switch it: somebody may be working on it.", e.Ask[0])
	require.NotContains(t, strings.Join(e.Ask, "\n"), "lights of room 3.12")
}
