package callback_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/callback"
	"pairwalk/projection/tale"
)

// anyPayload draws something that may happen on the building.
func anyPayload(t *rapid.T) events.Payload {
	tag := rapid.SampledFrom([]events.Tag{"a1", "a2", "b1", "b2", "3-1", "3-2", "9-1"}).Draw(t, "tag")
	circuit := rapid.SampledFrom([]events.CircuitID{"C0", "C1", "C2", "C3", "C4", "C5", "C9"}).Draw(t, "circuit")
	hub := rapid.SampledFrom([]events.HubID{"H1", "H2"}).Draw(t, "hub")
	all := []events.Payload{
		off(circuit), on(circuit), off(circuit),
		events.PowerOff{Of: events.Device(tag)}, events.PowerOn{Of: events.Device(tag)},
		events.PowerOff{Of: events.Circuit("C88"), Dark: tags(tag)},
		events.DevicePaired{Device: tag, Hub: hub, Serial: events.Serial("SN-" + string(tag))},
		events.DeviceUnpaired{Device: tag, Why: "reset"},
		events.DeviceReplaced{Device: tag, New: "SN-9" + events.Serial(tag), Why: "dead"},
		events.DeviceStruck{Device: tag, Why: "gone"},
		events.DeviceRefused{Device: tag, Why: events.NoAnswer},
		events.DeviceSkipped{Device: tag, Why: events.NoAccess},
		events.DeviceHeard{Device: tag, Hub: hub},
		events.DeviceFitted{Device: tag, Serial: "SN-a", Source: events.Typed},
		events.DeviceRenamed{From: tag, To: tag + "x"},
		events.DevicePlaced{Device: tag, Place: spot(40, 40).Value},
		events.LinkMeasured{A: tag, B: "H1", RSSI: events.Some(rapid.IntRange(-95, -40).Draw(t, "rssi"))},
		events.WallListed{Wall: "w", Floor: "3", Material: "metal", Thickness: 2, Line: []events.XY{{X: 18000, Y: -9000}, {X: 18000, Y: 9000}}},
		events.HubLost{Hub: hub, Why: "dark"}, events.HubReady{Hub: hub},
		events.HubChannel{Hub: hub, Radio: events.Mesh, Channel: rapid.IntRange(11, 26).Draw(t, "channel")},
		events.HubLoaded{Hub: hub, Program: "r2", Lists: tags(tag)},
		events.PushDone{Hub: hub, Program: "r1", Missed: tags(tag)}, events.PushFailed{Hub: hub, Why: "timed out"},
		fault(tag), events.CheckDone{Of: events.Device(tag), Test: events.TestAnswer, Pass: rapid.Bool().Draw(t, "pass")},
		events.HoldPlaced{Of: events.Circuit(circuit), Why: "work"}, events.HoldLifted{Of: events.Circuit(circuit)},
		events.WorkSigned{Of: events.Site(), Scope: "all", Signer: "Ann", As: "lead"},
		events.NoteAdded{Of: events.Circuit(circuit), Text: "seen"},
	}
	return rapid.SampledFrom(all).Draw(t, "payload")
}

// anyStory lets two people log things, hear each other, and withdraw some.
func anyStory(t *rapid.T, b *building) {
	clock := tale.T("11:00")
	var said []*events.Event
	for range rapid.IntRange(1, 14).Draw(t, "entries") {
		clock = clock.Add(time.Duration(rapid.IntRange(0, 20).Draw(t, "minutes")) * time.Minute)
		who, other := b.Lead, b.bo
		if rapid.Bool().Draw(t, "bo speaks") {
			who, other = b.bo, b.Lead
		}
		if rapid.Bool().Draw(t, "hears") {
			who.Hear(other)
		}
		if len(said) > 0 && rapid.IntRange(0, 4).Draw(t, "void") == 0 {
			who.SayAt(clock, events.EventVoided{Event: rapid.SampledFrom(said).Draw(t, "which").Ref(), Why: events.DidNotHappen})
			continue
		}
		said = append(said, who.SayAt(clock, anyPayload(t)))
	}
}

func anyQuestion(t *rapid.T, b *building) callback.Question {
	q := callback.Question{
		About:   rapid.SampledFrom([]events.Subject{lamp, room, events.Device("b1"), events.Circuit("C5"), events.Hub("H1"), events.Floor("3")}).Draw(t, "about"),
		Symptom: rapid.SampledFrom(append([]callback.Symptom{""}, callback.Symptoms...)).Draw(t, "symptom"),
	}
	if rapid.Bool().Draw(t, "until") {
		q.To = events.Some(tale.T("12:00"))
	}
	if rapid.Bool().Draw(t, "known") {
		q.Known.Member = rapid.SampledFrom([]events.Key{b.Lead.Key, b.bo.Key}).Draw(t, "member")
	}
	return q
}

// TestNoCauseWithoutAnEntryThatStands holds the law of the package, and that an
// answer hangs on the log and not on how it arrived.
func TestNoCauseWithoutAnEntryThatStands(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		b := build(t, layout{bare: rapid.Bool().Draw(r, "bare"), oneB: rapid.Bool().Draw(r, "one circuit")})
		anyStory(r, b)
		q := anyQuestion(r, b)
		e := callback.Explain(b.History(), q)
		holdsTheLaw(r, b, &e)
		evs := b.Events()
		rand.New(rand.NewPCG(rapid.Uint64().Draw(r, "shuffle"), 1)).Shuffle(len(evs), func(i, j int) { evs[i], evs[j] = evs[j], evs[i] })
		h := projection.History{Site: b.Site}
		h.Add(evs...)
		again := callback.Explain(&h, q)
		require.Equal(r, written(&e), written(&again))
	})
}

func holdsTheLaw(t *rapid.T, b *building, e *callback.Explanation) {
	view := map[events.Ref]projection.Told{}
	h := b.History()
	for _, x := range h.Told(projection.Moment{When: e.To, Known: e.Known}) {
		view[x.Ref()] = x
	}
	concerned := map[events.Tag]bool{}
	for i, c := range e.Causes {
		require.NotEmpty(t, c.Events, c.Words)
		require.NotEmpty(t, c.Devices)
		require.Subset(t, e.Devices, c.Devices)
		require.Subset(t, evidenceOf(c.For), c.Events)
		for _, list := range [][]callback.Evidence{c.For, c.Against} {
			for _, x := range list {
				told, in := view[x.Event]
				require.True(t, in, "%s: %s is not in view", c.Words, x.Words)
				require.Empty(t, told.Withdrawn, "%s: %s is withdrawn", c.Words, x.Words)
				require.Empty(t, told.Quarantined)
			}
		}
		require.NotContains(t, fmt.Sprint(c.Words, c.Check, c.Record, c.Counterfactual, e.Ask), "{", "a word is left to fill in")
		for _, line := range c.Record {
			require.True(t, strings.HasPrefix(line, "pairwalk "), line)
		}
		if i > 0 && (c.Kind == callback.BySingle) == (e.Causes[i-1].Kind == callback.BySingle) {
			require.LessOrEqual(t, c.Weight, e.Causes[i-1].Weight)
		}
		for _, d := range c.Devices {
			concerned[d] = true
		}
	}
	for _, d := range e.Devices {
		require.NotEqual(t, concerned[d], contains(e.Left, d), "%s is concerned or left", d)
	}
	require.Equal(t, len(e.Causes) == 0, e.Nothing)
	require.NotEmpty(t, e.Words)
	require.NotEmpty(t, e.Head)
}

func contains(list []events.Tag, t events.Tag) bool {
	for _, x := range list {
		if x == t {
			return true
		}
	}
	return false
}

// written is all of an explanation that anybody sees.
func written(e *callback.Explanation) string {
	var b strings.Builder
	fmt.Fprintln(&b, e.Head, e.Words, e.Ask, e.Devices, e.Left, e.From, e.To, e.Nothing, e.Open, e.Notes)
	for _, c := range e.Causes {
		fmt.Fprintln(&b, c.Kind, c.Subject, c.Devices, c.Words, c.Events, c.For, c.Against, c.Check, c.Cautions, c.Record, c.Counterfactual, c.Acted, c.Weight)
	}
	return b.String()
}
