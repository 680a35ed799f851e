package events_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

// FuzzParseTexts reads any text as each of the names that entries give things:
// what is read is written back as it came, so one thing has one name.
func FuzzParseTexts(f *testing.F) {
	e := benSays(vectors()[0].full)
	feed := e.Feed
	ref := events.Ref{Feed: feed, Seq: 7, Hash: events.HashOf([]byte("x")).Short()}
	for _, seed := range []string{
		string(feed), string(feed.Key()), events.HashOf([]byte("x")).String(), ref.Hash.String(), ref.String(),
		"device:2-101", "site:", "site:x", "member:" + string(feed.Key()), "room:a:b", "hub:", "x:y", ":", "//", string(feed) + "/007/" + ref.Hash.String(),
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if s, err := events.ParseSubject(text); err == nil {
			require.Equal(t, text, s.String())
			require.NotEmpty(t, s.Words())
		}
		if r, err := events.ParseRef(text); err == nil {
			require.Equal(t, text, r.String())
		}
		if h, err := events.ParseHash(text); err == nil {
			require.Equal(t, text, h.String())
		}
		if h, err := events.ParseHash8(text); err == nil {
			require.Equal(t, text, h.String())
		}
		if id, err := events.ParseFeedID(text); err == nil {
			pub, err := id.Key().Public()
			require.NoError(t, err)
			require.Equal(t, id.Key(), events.KeyOf(pub))
			require.Less(t, len(id.Short()), len(id))
		}
		if pub, err := events.Key(text).Public(); err == nil {
			require.Equal(t, text, string(events.KeyOf(pub)))
		}
		if sig, err := events.ParseSignature(text); err == nil {
			require.Len(t, sig, 64)
		}
	})
}

// FuzzParseSettings reads any text as what settings that are lists may say.
func FuzzParseSettings(f *testing.F) {
	for _, seed := range []string{"15,20,25-26", "11-26", "26-11", "", ",", "15-", "-15", "sensor=3,driver=1", "sensor=3,sensor=4", "sensor", " relay = 9 ", "１５"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if channels, err := events.ParseChannels(text); err == nil {
			require.NotEmpty(t, channels)
			require.True(t, slices.IsSorted(channels))
			require.LessOrEqual(t, len(channels), 16)
			require.GreaterOrEqual(t, channels[0], 11)
			require.LessOrEqual(t, channels[len(channels)-1], 26)
		}
		if minutes, err := events.ParseMinutesOf(text); err == nil {
			for kind, n := range minutes {
				require.Contains(t, events.DeviceKinds, kind)
				require.Positive(t, n)
				require.LessOrEqual(t, n, int64(24*60))
			}
		}
	})
}
