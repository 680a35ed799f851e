package member_test

import (
	"bytes"
	"io"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/settle"
	"pairwalk/syncd/member"
)

// TestABundleSaysHowFreshItsMakerIs: a bundle that holds our entry was made after
// it, so everything its maker had said until then is here. Their clock proves
// nothing about ours. What was heard so is known after opening again.
func TestABundleSaysHowFreshItsMakerIs(t *testing.T) {
	x, ada, ben := pairOf(t)
	ada.log(events.HubLoaded{Hub: "H1", Program: "r1", All: true}, events.HubReady{Hub: "H1"},
		events.HubAssigned{Hub: "H1", Member: ben.Key()}, events.DevicePaired{Device: "1-001", Hub: "H1", Serial: "S1"})
	x.pass(20 * time.Minute)
	asks := func() int {
		js, err := ada.Settle("H1")
		require.NoError(t, err)
		return len(js[0].Ask)
	}
	require.Equal(t, 1, asks())

	ben.skew = time.Hour
	ada.takes(ben.bundle())
	require.Equal(t, 1, asks(), "made before our last entry, for all we can prove")

	ada.log(events.NoteAdded{Of: events.Site(), Text: "just now"})
	ben.takes(ada.bundle())
	ada.takes(ben.bundle())
	require.Zero(t, asks())
	ada.reopen()
	require.Zero(t, asks())

	x.pass(2 * time.Minute)
	require.Equal(t, 1, asks(), "and not for long")
	js, err := ada.Settle("H1")
	require.NoError(t, err)
	require.NotEqual(t, settle.Ready, js[0].Verdict)
}

// TestABundleFromBeforeWeCameSaysNothingOfItsMaker: it was made at no time that
// our clock knows of.
func TestABundleFromBeforeWeCameSaysNothingOfItsMaker(t *testing.T) {
	x, ada, _ := pairOf(t)
	ada.log(events.HubAssigned{Hub: "H1", Member: ada.Key()}, events.DevicePaired{Device: "1-001", Hub: "H1", Serial: "S1"})
	file := ada.bundle()
	cy := x.joinsNow("cy", events.Tech)
	cy.takes(file)
	js, err := cy.Settle("H1")
	require.NoError(t, err)
	require.Equal(t, ada.Key(), js[0].Ask[0].Member)
	require.False(t, js[0].Ask[0].Since.Known)
}

func TestALogInAFileIsOnlyRead(t *testing.T) {
	x, ada, ben := pairOf(t)
	nobody := member.World{Now: x.lead.stamp, Rand: x.rand, MadeUp: true}
	ada.log(events.HubReady{Hub: "H1"}, events.DevicePaired{Device: "1-001", Hub: "H1", Serial: "S1"})
	ben.takes(ada.bundle())
	m, err := member.Reading(t.Context(), bytes.NewReader(ada.bundle()), nobody)
	require.NoError(t, err)
	require.Equal(t, ada.Status(projection.Moment{}), m.Status(projection.Moment{}))
	known := projection.Moment{Known: projection.Known{Member: ben.Key()}}
	require.Equal(t, ada.Status(known), m.Status(known))
	_, err = m.Record(t.Context(), member.Entry{Payload: events.NoteAdded{Of: events.Site(), Text: "I was here"}})
	require.ErrorIs(t, err, member.ErrReading)
	_, err = m.BundleOut(t.Context(), io.Discard)
	require.ErrorIs(t, err, member.ErrReading)
	require.NoError(t, m.Close())
	_, err = member.Reading(t.Context(), bytes.NewReader(ada.bundle()[1:]), nobody)
	require.Error(t, err)
}
