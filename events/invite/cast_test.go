package invite

import (
	"bytes"
	"crypto/ed25519"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

func keyOf(n byte) ed25519.PrivateKey {
	return ed25519.NewKeyFromSeed(bytes.Repeat([]byte{n}, ed25519.SeedSize))
}

func public(key ed25519.PrivateKey) events.Key {
	return events.KeyOf(key.Public().(ed25519.PublicKey))
}

// dice are random bytes that are the same every time.
func dice(n byte) *bytes.Reader { return bytes.NewReader(bytes.Repeat([]byte{n}, 64)) }

// The cast: a site, its first lead Ana, and what she offers Ben.
const june = events.Instant(1_780_000_000_000)

var (
	anaKey, anaBus = keyOf(10), keyOf(11)
	benKey, benBus = keyOf(20), keyOf(21)
)

func ana(t testing.TB) (Root, events.MemberJoined) {
	r := rootFrom(t, 1)
	return r, r.Lead("Ana", "", public(anaKey), public(anaBus))
}

func offer(role events.Role) Offer {
	return Offer{
		SiteName: "Harbour House", Zone: "Europe/Vienna", Role: role, Expires: june,
		Meet: []Meeting{{Addr: "192.168.1.20:4222", Key: public(anaBus)}},
	}
}

// byAna is a token that Ana made.
func byAna(t testing.TB, o Offer) Token {
	r, lead := ana(t)
	token, err := NewToken(dice(7), anaKey, r.Key(), lead, o)
	require.NoError(t, err)
	return token
}

// carlasJoin is the join of a second lead, whom the root invited.
func carlasJoin(t testing.TB, key ed25519.PrivateKey) events.MemberJoined {
	token, err := rootFrom(t, 1).NewToken(dice(8), offer(events.Lead))
	require.NoError(t, err)
	return token.Join("Carla", "carla@harbour.example", public(key), public(keyOf(31)))
}

// bensJoin is the join of a tech, whom Ana invited.
func bensJoin(t testing.TB) events.MemberJoined {
	return byAna(t, offer(events.Tech)).Join("Ben", "", public(benKey), public(benBus))
}

// resigned is a token changed by somebody who holds the issuer's key, or thinks
// that another key will do.
func resigned(t Token, key ed25519.PrivateKey, change func(*Token)) Token {
	change(&t)
	t.Grant.Signature = events.Sign(key, t.Grant.Statement(t.Site))
	t.signature = events.Sign(key, t.statement())
	return t
}
