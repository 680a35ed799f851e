package member_test

import (
	"bytes"
	"crypto/ed25519"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/bundle"
	"pairwalk/events/seal"
	"pairwalk/projection"
)

// TestAnEntryTellsWhatItsAuthorHadHeard: the heads taken in since the last entry,
// once; and all of them at every 256th, for readers who lost some lines.
func TestAnEntryTellsWhatItsAuthorHadHeard(t *testing.T) {
	_, ada, ben := pairOf(t)
	note := func(d *device) events.Event { return d.log(events.NoteAdded{Of: events.Site(), Text: "x"})[0] }
	note(ben)

	said := note(ada)
	ben.takes(ada.bundle())
	told := note(ben)
	require.Equal(t, []events.Ref{said.Ref()}, told.Seen)
	require.Empty(t, note(ben).Seen, "told once")

	newer := note(ada)
	require.Empty(t, note(ben).Seen, "not heard yet")
	ben.takes(ada.bundle())
	ben.reopen()
	require.Equal(t, []events.Ref{newer.Ref()}, note(ben).Seen, "what was told is known after opening again")
	ben.reopen()

	last := note(ben)
	require.Empty(t, last.Seen)
	for last.Seq < 256 {
		last = note(ben)
		require.Empty(t, last.Seen)
	}
	require.Equal(t, []events.Ref{newer.Ref()}, note(ben).Seen, "entry 257 names every head again")
}

// TestHavingHeardIsNoConflict: pairing a device again in full knowledge of the
// first entry is odd, and no double pairing.
func TestHavingHeardIsNoConflict(t *testing.T) {
	_, ada, ben := pairOf(t)
	ada.log(events.DevicePaired{Device: "1-001", Hub: "H1", Serial: "S1"})
	ben.takes(ada.bundle())
	ben.log(events.DevicePaired{Device: "1-001", Hub: "H1", Serial: "S1"})
	ada.takes(ben.bundle())
	require.Empty(t, ada.Now().Conflicts)
	require.NotEmpty(t, ada.Now().Anomalies)
}

// TestAFilesStrangerIsLeftOut: anybody can make a feed with the site's id on it. Its
// lines are counted and left out, so that members hold the same whoever handed them
// what, and nobody's entries name it.
func TestAFilesStrangerIsLeftOut(t *testing.T) {
	_, ada, _ := pairOf(t)
	secret := ed25519.NewKeyFromSeed(bytes.Repeat([]byte{9}, ed25519.SeedSize))
	feed := events.NewFeedID(events.KeyOf(secret.Public().(ed25519.PublicKey)), [8]byte{1})
	e := events.Event{Header: events.NextHeader(ada.Info().ID, feed, events.Head{}), Payload: events.FeedStarted{Why: events.NewFeed}}
	line, err := seal.Seal(secret, &e)
	require.NoError(t, err)
	var file bytes.Buffer
	_, err = bundle.Write(&file, secret, bundle.Manifest{
		Site: e.Site, Name: "Kiln Lane Works", Practice: true, Maker: e.Feed, MakerName: "nobody",
		Made:  ada.stamp(),
		Heads: map[events.FeedID]events.Head{e.Feed: line.Head()},
	}, func(yield func(seal.Verified, error) bool) { yield(line, nil) }, nil)
	require.NoError(t, err)

	before := ada.status(projection.Moment{})
	got := ada.takes(file.Bytes())
	require.Zero(t, got.Fresh)
	require.Equal(t, 1, got.Strange)
	require.Contains(t, got.Words(), "1 left out")
	require.Equal(t, before, ada.status(projection.Moment{}))
	said := ada.log(events.NoteAdded{Of: events.Site(), Text: "x"})[0]
	require.NotContains(t, said.Seen, line.Ref())
	require.Empty(t, got.Admitted)
}
