package seal_test

import (
	"crypto/ed25519"
	"crypto/sha512"
	"encoding/base64"
	"math/big"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// order is L, the order of Ed25519's base point: RFC 8032 §5.1.
var order, _ = new(big.Int).SetString("7237005577332262213973186563042994240857116359379907606001950938285454250989", 10)

// A key's owner can sign the same bytes in many ways. All of them open, and the
// event's hash and reference are the same: else its owner, or who colludes with
// them, could show each member another chain.
func TestTheHashDoesNotDependOnTheSignature(t *testing.T) {
	v := chain(t, 1)[0]
	again := forged(v.Signed(), base64Of(signAnotherWay(benKey, "pairwalk event v1\n"+string(v.Signed()))))
	require.NotEqual(t, string(v.Line()), string(again))
	opened, err := seal.Open(again)
	require.NoError(t, err)
	require.Equal(t, v.Hash(), opened.Hash())
	require.Equal(t, v.Ref(), opened.Ref())
}

// Nobody but the owner can make a second signature of a first: S + L is refused,
// as RFC 8032 §5.1.7 requires.
func TestASignaturePlusTheOrderIsRefused(t *testing.T) {
	v := chain(t, 1)[0]
	line := v.Line()
	raw, err := events.ParseSignature(string(line[len(line)-90 : len(line)-2]))
	require.NoError(t, err)
	s := littleEndian(raw[32:])
	for range 3 {
		s.Add(s, order)
		if s.BitLen() > 256 {
			break
		}
		_, err = seal.Open(forged(v.Signed(), base64Of(append(slices.Clone(raw[:32]), bytesOf(s)...))))
		require.ErrorIs(t, err, seal.ErrSignature)
	}
}

// signAnotherWay signs with a nonce that RFC 8032 would not choose: R is the
// public half of some other key, whose secret half serves as r.
func signAnotherWay(key ed25519.PrivateKey, message string) []byte {
	nonce := fixedKey(77)
	public, r := key.Public().(ed25519.PublicKey), nonce.Public().(ed25519.PublicKey)
	k := sha512.Sum512(slices.Concat(r, public, []byte(message)))
	s := new(big.Int).Mul(littleEndian(k[:]), scalar(key))
	s.Add(s, scalar(nonce)).Mod(s, order)
	return append(slices.Clone(r), bytesOf(s)...)
}

// scalar is the clamped secret scalar of a key: RFC 8032 §5.1.5.
func scalar(key ed25519.PrivateKey) *big.Int {
	h := sha512.Sum512(key.Seed())
	h[0] &= 248
	h[31] &= 127
	h[31] |= 64
	return littleEndian(h[:32])
}

func littleEndian(b []byte) *big.Int {
	b = slices.Clone(b)
	slices.Reverse(b)
	return new(big.Int).SetBytes(b)
}

func bytesOf(n *big.Int) []byte {
	b := n.FillBytes(make([]byte, 32))
	slices.Reverse(b)
	return b
}

func base64Of(b []byte) events.Signature {
	return events.Signature(base64.StdEncoding.EncodeToString(b))
}
