package invite

import (
	"crypto/ed25519"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/tyler-smith/go-bip39"

	"pairwalk/events"
)

// ErrOtherRoot says that a recovery sheet is another site's.
var ErrOtherRoot = errors.New("these words are not this site's: take the sheet of this site, and check each word against it")

const (
	entropyBytes = 16
	rootDomain   = "pairwalk root v1\n"
)

// Root is a site's root key, secret half included. Make one with [NewRoot] or
// [RootFromSheet], use it, and let go of it. It prints as the site it is for.
type Root struct {
	entropy [entropyBytes]byte
	key     ed25519.PrivateKey
}

// NewRoot draws a root key from rand, which must be fit for secrets.
func NewRoot(rand io.Reader) (Root, error) {
	var entropy [entropyBytes]byte
	if _, err := io.ReadFull(rand, entropy[:]); err != nil {
		return Root{}, fmt.Errorf("draw root key: %w", err)
	}
	return rootOf(entropy), nil
}

func rootOf(entropy [entropyBytes]byte) Root {
	return Root{entropy: entropy, key: keyFrom(rootDomain, entropy[:])}
}

// keyFrom stretches a secret into a key of its own domain.
func keyFrom(domain string, secret []byte) ed25519.PrivateKey {
	seed := sha256.Sum256(append([]byte(domain), secret...))
	return ed25519.NewKeyFromSeed(seed[:])
}

// Key is the root public key.
func (r Root) Key() events.Key { return events.KeyOf(r.key.Public().(ed25519.PublicKey)) }

// Site is the id of the site that hangs on this root.
func (r Root) Site() events.SiteID { return events.SiteOf(r.key.Public().(ed25519.PublicKey)) }

// For is nil if r is the root of site, else [ErrOtherRoot].
func (r Root) For(site events.SiteID) error {
	if r.Site() != site {
		return ErrOtherRoot
	}
	return nil
}

// Words are the twelve words that stand for the root.
func (r Root) Words() []string {
	text, err := bip39.NewMnemonic(r.entropy[:])
	if err != nil { // 16 bytes are a size it takes
		panic(err)
	}
	return strings.Fields(text)
}

// String names the site, so that no log or error ever shows the secret.
func (r Root) String() string { return "root of site " + string(r.Site()) }

// GoString is String.
func (r Root) GoString() string { return r.String() }

// Lead is the join of a lead certified by the root itself, for the lead to say
// in a feed of its own. Feed and bus are the lead's two public keys.
func (r Root) Lead(name, contact string, feed, bus events.Key) events.MemberJoined {
	p := events.MemberJoined{Name: name, Contact: contact, Role: events.Lead, Key: feed, Bus: bus, Root: r.Key()}
	p.Proof = events.Sign(r.key, p.Statement(r.Site()))
	return p
}

// Revoke adds the root's proof to the end of a lead's say.
func (r Root) Revoke(p events.MemberRevoked) events.MemberRevoked {
	p.Proof = events.Sign(r.key, p.Statement(r.Site()))
	return p
}
