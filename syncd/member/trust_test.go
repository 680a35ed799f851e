package member_test

import (
	"bytes"
	"crypto/ed25519"
	"iter"
	"testing"

	"github.com/oklog/ulid/v2"
	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/bundle"
	"pairwalk/events/seal"
	"pairwalk/projection"
)

// A bundle may bring feeds of somebody who never joined; anybody can make those.
// They are left out and counted, so that members hold the same whoever handed them
// what.
func TestABundlesStrangersAreLeftOut(t *testing.T) {
	_, ada, ben := pairOf(t)
	before := ada.status(projection.Moment{})
	key := ed25519.NewKeyFromSeed(bytes.Repeat([]byte{7}, ed25519.SeedSize))
	feed := events.NewFeedID(events.KeyOf(key.Public().(ed25519.PublicKey)), [8]byte{1})
	v, err := seal.Seal(key, &events.Event{
		Header: events.Header{Site: ada.Info().ID, Feed: feed, Seq: 1}, ID: ulid.MustParse("01KJPWD6M0WA0KTHEF00R2NDT1"),
		HLC: events.HLC{L: 1}, Wall: ben.Stamp().Wall, Payload: events.NoteAdded{Of: events.Site(), Text: "a stranger was here"},
	})
	require.NoError(t, err)
	var b bytes.Buffer
	_, err = bundle.Write(&b, key, bundle.Manifest{
		Site: ada.Info().ID, Name: "x", Practice: true, Maker: feed, MakerName: "nobody", Made: ben.Stamp(),
		Heads: map[events.FeedID]events.Head{feed: v.Head()},
	}, iter.Seq2[seal.Verified, error](func(yield func(seal.Verified, error) bool) { yield(v, nil) }), nil)
	require.NoError(t, err)

	got, err := ada.BundleIn(t.Context(), &b)
	require.NoError(t, err)
	require.Equal(t, 1, got.Strange)
	require.Zero(t, got.Fresh)
	require.Contains(t, got.Words(), "1 left out")
	require.Equal(t, before, ada.status(projection.Moment{}))
	ada.reopen()
	require.Equal(t, before, ada.status(projection.Moment{}))
}

// An installation whose own join was damaged asks for it like anybody, and goes on.
func TestOnesOwnJoinIsMended(t *testing.T) {
	_, ada, ben := pairOf(t)
	ben.log(events.NoteAdded{Of: events.Site(), Text: "here"})
	ada.takes(ben.bundle())
	file := ben.feedFile()
	b, err := ben.fs.Read(file)
	require.NoError(t, err)
	require.NoError(t, ben.Close())
	at := bytes.Index(b, []byte(`"kind":"member.joined"`))
	b[at+9] ^= 1
	ben.fs.Put(file, b)
	m, err := ben.home().Open("")
	require.NoError(t, err)
	ben.Member = m
	require.NotEmpty(t, ben.Problems())
	require.Equal(t, 1, len(ben.Have().Holes))

	ben.log(events.NoteAdded{Of: events.Site(), Text: "still here"})
	ben.meets(ada)
	require.Empty(t, ben.Have().Holes)
	require.True(t, ben.Have().Same(ada.Have()), "what it said meanwhile went out")
	require.Equal(t, ada.status(projection.Moment{}), ben.status(projection.Moment{}))
}
