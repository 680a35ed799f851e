package bus

import (
	"crypto/ed25519"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"encoding/base64"
	"errors"
	"fmt"
	"math/big"
	"time"

	"github.com/nats-io/nkeys"

	"pairwalk/events"
)

// domain begins everything that a bus key signs for a server, and nothing else
// that any key of ours signs.
const domain = "pairwalk bus v1\n"

// A nonce is raw URL base64 of eleven bytes as nats-server v2.15 makes it; a
// later server may draw a longer one.
const nonceLeast, nonceMost = 15, 64

// statement is what a caller signs to come onto the bus of a server: it is of no
// use at another server, nor for another call.
func statement(server events.Key, nonce []byte) []byte {
	return append([]byte(domain+string(server)+"\n"), nonce...)
}

var errNonce = errors.New("server asked us to sign what is no nonce")

// checkNonce refuses to sign anything but what a server draws at random.
func checkNonce(nonce []byte) error {
	if len(nonce) < nonceLeast || len(nonce) > nonceMost {
		return errNonce
	}
	for _, c := range nonce {
		letter := c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9'
		if !letter && c != '-' && c != '_' {
			return errNonce
		}
	}
	return nil
}

func publicOf(key ed25519.PrivateKey) ed25519.PublicKey { return key.Public().(ed25519.PublicKey) }

// nkeyOf writes a bus key as the public nkey of a NATS user.
func nkeyOf(pub ed25519.PublicKey) (string, error) {
	text, err := nkeys.Encode(nkeys.PrefixByteUser, pub)
	if err != nil {
		return "", fmt.Errorf("write nkey: %w", err)
	}
	return string(text), nil
}

var (
	errNoKey     = errors.New("came without a key")
	errSignature = errors.New("did not prove its key for this call at this server")
)

// proven is the bus key of a caller who signed the statement.
func proven(nkey, sig string, server events.Key, nonce []byte) (events.Key, error) {
	pub, err := nkeys.Decode(nkeys.PrefixByteUser, []byte(nkey))
	if err != nil || len(pub) != ed25519.PublicKeySize || len(nonce) == 0 {
		return "", errNoKey
	}
	raw, err := base64.RawURLEncoding.Strict().DecodeString(sig)
	if err != nil || !ed25519.Verify(pub, statement(server, nonce), raw) {
		return "", errSignature
	}
	return events.KeyOf(pub), nil
}

// certificate is what our server shows. It holds the bus key and nothing of the
// site or the person; it never expires, since clocks in the field are wrong and
// the key is what counts.
func certificate(key ed25519.PrivateKey) (tls.Certificate, error) {
	template := &x509.Certificate{
		SerialNumber: big.NewInt(1),
		NotBefore:    time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC),
		NotAfter:     time.Date(9999, 12, 31, 23, 59, 59, 0, time.UTC), // RFC 5280 §4.1.2.5: no well-defined end
		KeyUsage:     x509.KeyUsageDigitalSignature,
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, publicOf(key), key)
	if err != nil {
		return tls.Certificate{}, fmt.Errorf("make certificate: %w", err)
	}
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key}, nil
}

// keyShown is the key in a server's certificate. TLS has proved that the server
// holds it.
func keyShown(state tls.ConnectionState) (events.Key, error) {
	if len(state.PeerCertificates) == 0 {
		return "", errNotMember
	}
	pub, ok := state.PeerCertificates[0].PublicKey.(ed25519.PublicKey)
	if !ok {
		return "", errNotMember
	}
	return events.KeyOf(pub), nil
}
