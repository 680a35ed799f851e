package seal_test

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base64"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// The line is put together here by hand, from the package doc.
func TestTheExactBytesOfALine(t *testing.T) {
	e := benSays(1, events.Hash{}, events.HubReady{Hub: "H2"})
	v, err := seal.Seal(benKey, e)
	require.NoError(t, err)

	signed := header(1, 1, "") + `,"id":"01KJPWD6M0WA0KTHEF00R2NDT1","hlc":[1772442000000,1],"wall":[1772442000000,0],"kind":"hub.ready","body":{"hub":"H2"}`
	signature := ed25519.Sign(benKey, []byte("pairwalk event v1\n"+signed))
	line := signed + `,"sig":"` + base64.StdEncoding.EncodeToString(signature) + `"}`

	require.Equal(t, line, string(v.Line()))
	require.Equal(t, signed, string(v.Signed()))
	require.Equal(t, events.Hash(sha256.Sum256([]byte(signed))), v.Hash())
	require.Equal(t, events.NextHeader(site, benFeed, events.Head{}), v.Header())
	require.Equal(t, benFeed, v.Feed())
	require.Equal(t, events.Seq(1), v.Seq())
	require.Equal(t, events.Hash{}, v.Prev())
	require.Equal(t, events.Head{Seq: 1, Hash: v.Hash()}, v.Head())
	require.Equal(t, events.Ref{Feed: benFeed, Seq: 1, Hash: v.Hash().Short()}, v.Ref())

	e.Hash = v.Hash()
	require.Equal(t, *e, v.Event())
	opened, err := seal.Open([]byte(line))
	require.NoError(t, err)
	require.Equal(t, v, opened)
}

// A signature over the bare bytes, or over those of another purpose, is none.
func TestTheDomainIsPartOfWhatIsSigned(t *testing.T) {
	v := chain(t, 1)[0]
	for _, domain := range []string{"", "pairwalk event v1", "pairwalk event v2\n", "pairwalk invite v1\n", "pairwalk bundle v1\n"} {
		_, err := seal.Open(forged(v.Signed(), events.Sign(benKey, []byte(domain+string(v.Signed())))))
		require.ErrorIs(t, err, seal.ErrSignature, "%q", domain)
	}
}

// What looks like a tail within the text of an event is not the tail.
func TestTheTailIsCutByItsLength(t *testing.T) {
	fake := `","sig":"` + strings.Repeat("A", 88) + `"}`
	v, err := seal.Seal(benKey, benSays(1, events.Hash{}, events.NoteAdded{Of: events.Site(), Text: fake}))
	require.NoError(t, err)
	opened, err := seal.Open(v.Line())
	require.NoError(t, err)
	require.Equal(t, events.NoteAdded{Of: events.Site(), Text: fake}, opened.Event().Payload)
	require.Len(t, v.Line(), len(v.Signed())+8+88+2)
}

func TestWhatCannotBeSealed(t *testing.T) {
	t.Run("another member's event", func(t *testing.T) {
		_, err := seal.Seal(fixedKey(9), benSays(1, events.Hash{}, events.HubReady{Hub: "H2"}))
		require.ErrorIs(t, err, seal.ErrWrongKey)
	})
	t.Run("an event that breaks a rule of shape", func(t *testing.T) {
		_, err := seal.Seal(benKey, benSays(1, events.Hash{}, events.HubReady{}))
		require.ErrorContains(t, err, "hub")
	})
	t.Run("an event that is not understood", func(t *testing.T) {
		_, err := seal.Seal(benKey, benSays(1, events.Hash{}, events.Opaque{Of: "hub.purrs"}))
		require.Error(t, err)
	})
	t.Run("an event of more than 64 KiB", func(t *testing.T) {
		_, err := seal.Seal(benKey, benSays(1, events.Hash{}, pushOf(t, 64<<10+1)))
		require.ErrorIs(t, err, seal.ErrTooLong)
	})
}

func TestTheLongestLine(t *testing.T) {
	v, err := seal.Seal(benKey, benSays(1, events.Hash{}, pushOf(t, 64<<10)))
	require.NoError(t, err)
	require.Len(t, v.Line(), seal.MaxLine)
	_, err = seal.Open(v.Line())
	require.NoError(t, err)
}

// pushOf is a push so large that its line, as Ben's first, has n bytes.
func pushOf(t *testing.T, n int) events.Payload {
	t.Helper()
	const each = len(`"2-100",`)
	p := events.PushDone{Hub: "H2", Program: "r7"}
	for range (n - 700) / each {
		p.Tried = append(p.Tried, "2-100")
	}
	p.Missed = []events.Tag{"m"}
	signed, err := benSays(1, events.Hash{}, p).Encode()
	require.NoError(t, err)
	for short := n - len(signed) - 98; short > 0; { // a tag of s letters adds s+3 bytes
		s := min(short-3, 60)
		if rest := short - s - 3; rest > 0 && rest < 4 {
			s -= 4
		}
		p.Missed = append(p.Missed, events.Tag(strings.Repeat("m", s)))
		short -= s + 3
	}
	return p
}

func TestFollows(t *testing.T) {
	run := chain(t, 3)
	require.True(t, run[1].Follows(run[0]))
	require.False(t, run[2].Follows(run[0]), "a gap")
	require.False(t, run[0].Follows(run[1]), "backwards")
	require.False(t, run[0].Follows(run[0]), "itself")

	other, err := seal.Seal(benKey, benSays(1, events.Hash{}, events.HubReady{Hub: "H9"}))
	require.NoError(t, err)
	require.False(t, run[1].Follows(other), "another branch")

	elsewhere := benSays(2, run[0].Hash(), events.HubReady{Hub: "H2"})
	elsewhere.Site = events.SiteOf(benKey.Public().(ed25519.PublicKey))
	moved, err := seal.Seal(benKey, elsewhere)
	require.NoError(t, err)
	require.False(t, moved.Follows(run[0]), "another site")

	feed := benSays(2, run[0].Hash(), events.HubReady{Hub: "H2"})
	feed.Feed = feedOf(benKey, 2)
	second, err := seal.Seal(benKey, feed)
	require.NoError(t, err)
	require.False(t, second.Follows(run[0]), "another feed of the same key")
}
