package depot

import (
	"crypto/ed25519"
	"crypto/hkdf"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base32"
	"errors"
	"fmt"
	"io"
	"strings"

	"pairwalk/events"
)

const (
	secretPrefix = "pairwalk-relay-secret1-"
	secretBytes  = 32
)

// ErrSecret means that a text is no relay's secret.
var ErrSecret = errors.New("this is not a relay's secret: it begins with " + secretPrefix + "; make one with: pairwalk relay credentials DIR")

var secretText = base32.NewEncoding("abcdefghijklmnopqrstuvwxyz234567").WithPadding(base32.NoPadding)

// Secret is all that makes one relay the instance it is: from it follow its keys
// on every site. Two processes with one secret are one member that argues with
// itself, so each relay has its own.
type Secret struct{ seed [secretBytes]byte }

// NewSecret draws a secret.
func NewSecret(random io.Reader) (Secret, error) {
	var s Secret
	if _, err := io.ReadFull(random, s.seed[:]); err != nil {
		return Secret{}, fmt.Errorf("draw relay's secret: %w", err)
	}
	return s, nil
}

// ParseSecret reads what Text writes.
func ParseSecret(text string) (Secret, error) {
	var s Secret
	body, ok := strings.CutPrefix(strings.TrimSpace(text), secretPrefix)
	b, err := secretText.DecodeString(body)
	if !ok || err != nil || len(b) != secretBytes || secretText.EncodeToString(b) != body {
		return Secret{}, ErrSecret
	}
	copy(s.seed[:], b)
	return s, nil
}

// Text is the secret as a file keeps it. Whoever has it is this relay.
func (s Secret) Text() string { return secretPrefix + secretText.EncodeToString(s.seed[:]) }

// String keeps the secret to itself.
func (s Secret) String() string { return "relay " + s.Instance() }

// GoString keeps the secret to itself.
func (s Secret) GoString() string { return s.String() }

// Instance is a name for this relay in the cluster. It tells nothing of the secret.
func (s Secret) Instance() string { return secretText.EncodeToString(s.derive("instance", "")[:16]) }

// feedKey signs what the relay says on a site.
func (s Secret) feedKey(site events.SiteID) ed25519.PrivateKey {
	return ed25519.NewKeyFromSeed(s.derive("feed", string(site)))
}

// busKey is what the relay is known by to those who meet it for a site.
func (s Secret) busKey(site events.SiteID) ed25519.PrivateKey {
	return ed25519.NewKeyFromSeed(s.derive("bus", string(site)))
}

// stamp is a check value over a seat, which nobody without the secret can make.
func (s Secret) stamp(seat []byte) []byte {
	h := hmac.New(sha256.New, s.derive("seat", ""))
	h.Write(seat)
	return h.Sum(nil)
}

// derive draws 32 bytes for one use and site. Uses are words without a space, so
// no two pairs of use and site are written alike.
func (s Secret) derive(use, site string) []byte {
	b, err := hkdf.Key(sha256.New, s.seed[:], nil, "pairwalk relay v1 "+use+" "+site, 32)
	if err != nil { // only where more is asked than SHA-256 can give
		panic(err)
	}
	return b
}
