package member_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
)

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
