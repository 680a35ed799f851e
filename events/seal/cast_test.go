package seal_test

import (
	"crypto/ed25519"
	"fmt"
	"strings"
	"testing"

	"github.com/oklog/ulid/v2"
	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/seal"
)

var (
	benKey  = fixedKey(3)
	site    = events.SiteOf(fixedKey(1).Public().(ed25519.PublicKey))
	benFeed = feedOf(benKey, 1)
)

func fixedKey(n byte) ed25519.PrivateKey {
	return ed25519.NewKeyFromSeed([]byte(strings.Repeat(string(rune(n)), ed25519.SeedSize)))
}

func feedOf(key ed25519.PrivateKey, n byte) events.FeedID {
	return events.NewFeedID(events.KeyOf(key.Public().(ed25519.PublicKey)), [8]byte{n})
}

// benSays is an event of Ben's feed, by clocks that all stand at nine.
func benSays(seq events.Seq, prev events.Hash, p events.Payload) *events.Event {
	const nine = 1_772_442_000_000 // 2026-03-02 09:00 UTC
	return &events.Event{
		Header:  events.NextHeader(site, benFeed, events.Head{Seq: seq - 1, Hash: prev}),
		ID:      ulid.MustParse("01KJPWD6M0WA0KTHEF00R2NDT1"),
		HLC:     events.HLC{L: nine, C: int64(seq)},
		Wall:    events.Wall{At: nine},
		Payload: p,
	}
}

// chain seals n events of Ben's feed, each after the one before.
func chain(t testing.TB, n int) []seal.Verified {
	t.Helper()
	var run []seal.Verified
	var prev events.Hash
	for i := range n {
		p := events.DevicePaired{Device: events.Tag(fmt.Sprintf("2-%d", 101+i)), Hub: "H2"}
		v, err := seal.Seal(benKey, benSays(events.Seq(i+1), prev, p))
		require.NoError(t, err)
		run, prev = append(run, v), v.Hash()
	}
	return run
}

func linesOf(run []seal.Verified) [][]byte {
	lines := make([][]byte, len(run))
	for i, v := range run {
		lines[i] = []byte(string(v.Line()))
	}
	return lines
}

// forged ends signed with that signature, as a relay could.
func forged(signed []byte, s events.Signature) []byte {
	return []byte(string(signed) + `,"sig":"` + string(s) + `"}`)
}

// signedAs signs bytes as Seal would, were they an event.
func signedAs(key ed25519.PrivateKey, signed string) []byte {
	return forged([]byte(signed), events.Sign(key, []byte("pairwalk event v1\n"+signed)))
}

// header begins a line of Ben's feed in that version, up to its prev.
func header(version, seq int, prev string) string {
	return fmt.Sprintf(`{"v":%d,"site":"%s","feed":"%s","seq":%d,"prev":"%s"`, version, site, benFeed, seq, prev)
}
