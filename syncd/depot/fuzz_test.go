package depot

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
)

// What the cluster holds as a chunk gives lines that prove themselves, of that feed
// alone, and a hole only where a line proves it; what is whole writes back as it was.
func FuzzOpenChunk(f *testing.F) {
	lines := journaltest.NewAuthor(1).Notes(4)
	other := journaltest.NewAuthor(2).Notes(1)
	site, feed := lines[0].Header().Site, lines[0].Feed()
	holed := chunk{feed: feed, lines: lines[2:], hole: events.Head{Seq: 2, Hash: lines[2].Prev()}}
	for _, c := range []chunk{{feed: feed, lines: lines}, {feed: feed, lines: lines[1:3]}, holed, {feed: feed, lines: other}} {
		f.Add(c.bytes())
	}
	f.Add(holed.bytes()[:len(holed.bytes())-9])
	f.Add(append(journal.HoleLine(events.Head{Seq: 9}), '\n'))
	f.Add([]byte("\n"))
	f.Fuzz(func(t *testing.T, payload []byte) {
		c, err := openChunk(site, feed, payload)
		for i, v := range c.lines {
			require.Equal(t, feed, v.Feed())
			require.Equal(t, site, v.Header().Site)
			if i > 0 {
				require.Equal(t, c.lines[i-1].Hash(), v.Prev())
			}
		}
		if c.hole.Seq > 0 {
			require.Equal(t, c.hole.Hash, c.lines[0].Prev())
		}
		if err == nil {
			require.True(t, bytes.Equal(payload, c.bytes()), "%q", payload)
		}
	})
}

// A relay's secret is read as it is written, and in no other spelling.
func FuzzParseSecret(f *testing.F) {
	s, err := NewSecret(bytes.NewReader(bytes.Repeat([]byte{7}, 64)))
	require.NoError(f, err)
	f.Add(s.Text())
	f.Add(s.Text()[:20])
	f.Add(secretPrefix)
	f.Fuzz(func(t *testing.T, text string) {
		if got, err := ParseSecret(text); err == nil {
			require.Equal(t, string(bytes.TrimSpace([]byte(text))), got.Text())
		}
	})
}
