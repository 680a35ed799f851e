package callback_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/callback"
	"pairwalk/projection/tale"
)

func TestWhoActedOnWhatTheyKnew(t *testing.T) {
	for _, told := range []bool{false, true} {
		b := build(t, layout{unheard: true})
		b.bo.Say("10:15", events.DevicePaired{Device: "3-1", Hub: "H1", Serial: "SN-e"})
		if told {
			b.Lead.Hear(b.bo)
		}
		b.say("10:16", events.RecordsExported{Export: "x2", Heads: tale.Cut(b.Lead, b.bo)}, events.RecordsMerged{Export: "x2"})
		b.say("10:20", events.PushDone{Hub: "H1", Program: "r1"})
		b.Lead.Hear(b.bo)
		b.say("11:02", events.NoteAdded{Of: events.Site(), Text: "met"})
		c := first(t, b.asks(lamp), callback.ByEarlyPush)
		if told {
			require.Empty(t, c.Acted)
			continue
		}
		require.Len(t, c.Acted, 1)
		require.Contains(t, c.Acted[0], "lead logged \"pushed r1 to H1\" at 10:20, when nothing on their device told of \"paired 3-1 to H1")
		require.Contains(t, c.Acted[0], "at 10:15; they are first known to have heard of it at 11:02")
	}
}

func TestASignatureInIgnoranceOfTheCutIsSaidToBeSo(t *testing.T) {
	b := build(t, layout{unsigned: true})
	b.bo.Say("09:50", off("C5"))
	b.say("10:00", events.WorkSigned{Of: events.Site(), Scope: "commissioned", Signer: "Ann", As: "lead"})
	c := first(t, b.asks(lamp), callback.ByPower)
	require.Len(t, c.Acted, 1)
	require.Contains(t, c.Acted[0], "Ann signed")
	require.Contains(t, c.Acted[0], "nothing shows that they have heard of it since")
}

func TestAskNamesRoomsAndCircuitsOnTheWayHome(t *testing.T) {
	b := build(t, layout{})
	ask := strings.Join(b.asks(lamp).Ask, "\n")
	require.Regexp(t, `Are the lights of room 3\.\d+ \(circuit C[1-4]\) on\?`, ask)
	require.Contains(t, ask, "wall control 3-9 in room 3.12")
	require.Contains(t, ask, "labelled to stay on")
	b.say("11:00", off("C3"))
	b.say("11:10", off("C4"))
	require.Equal(t, "Are the lights of room 3.11 (circuit C4) on?", b.asks(lamp).Ask[0])
	bare := strings.Join(build(t, layout{bare: true}).asks(lamp).Ask, "\n")
	require.Contains(t, bare, "Is the next room dark as well?")
	require.NotContains(t, bare, "circuit C3", "no path is invented")
}

func TestEmergencyLightingCarriesItsCaution(t *testing.T) {
	b := build(t, layout{})
	d, _ := b.Now().Device("3-1")
	row := *d.DeviceListed
	row.Emergency = true
	b.say("10:30", row)
	b.say("11:00", off("C5"))
	c := first(t, b.asks(lamp), callback.ByPower)
	require.Contains(t, c.Cautions[0], "Emergency and egress lighting")
	require.Contains(t, strings.Join(c.Cautions, " "), "Prove absence of voltage")
	require.Contains(t, c.Record, "pairwalk log power-on circuit:C5")
}

func TestCommandLinesAreQuoted(t *testing.T) {
	b := build(t, layout{})
	b.say("10:30", events.DeviceRenamed{From: "3-1", To: "lamp by the $door"})
	b.say("11:00", events.PowerOff{Of: events.Device("lamp by the $door")})
	c := first(t, b.asks(lamp), callback.ByPower)
	require.Contains(t, c.Record, "pairwalk log power-on 'lamp by the $door'")
}

func TestANoteAboutItIsEvidence(t *testing.T) {
	b := build(t, layout{})
	b.say("10:50", events.NoteAdded{Of: events.Circuit("C5"), Text: "before, and about something else"})
	b.say("11:00", off("C5"))
	note := b.say("11:01", events.NoteAdded{Of: events.Circuit("C5"), Text: "electrician wants it off overnight"})
	c := first(t, b.asks(lamp), callback.ByPower)
	require.Len(t, c.For, 2)
	require.Equal(t, note.Ref(), c.For[1].Event)
}

func TestAskingChangesNothing(t *testing.T) {
	b := build(t, layout{})
	b.say("11:00", off("C3"))
	b.say("11:10", off("C4"))
	h := b.History()
	n := h.Len()
	want := h.At(projection.Moment{}).Entries
	for range 2 {
		require.Equal(t, callback.ByLastPath, callback.Explain(h, callback.Question{About: lamp}).Causes[0].Kind)
	}
	require.Equal(t, n, h.Len())
	require.Equal(t, want, h.At(projection.Moment{}).Entries)
}
