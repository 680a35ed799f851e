package member_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/settle"
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
