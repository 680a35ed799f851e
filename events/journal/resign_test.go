package journal_test

import (
	"crypto/ed25519"
	"crypto/sha512"
	"encoding/base64"
	"fmt"
	"math/big"
	"slices"

	"pairwalk/events/seal"
)

// order is that of Ed25519's base point, 2^252 + 27742317777372353535851937790883648493:
// RFC 8032 §5.1.
func order() *big.Int {
	rest, _ := new(big.Int).SetString("27742317777372353535851937790883648493", 10)
	return rest.Add(rest, new(big.Int).Lsh(big.NewInt(1), 252))
}

// resign is the same event under another signature that is valid as well, such
// as only the key's owner can make: with a nonce that RFC 8032 would not choose.
func (a author) resign(v seal.Verified) seal.Verified {
	message := append([]byte("pairwalk event v1\n"), v.Signed()...)
	nonce := newAuthor(77).Key
	public, r := a.Key.Public().(ed25519.PublicKey), nonce.Public().(ed25519.PublicKey)
	k := sha512.Sum512(slices.Concat(r, public, message))
	s := new(big.Int).Mul(number(k[:]), secret(a.Key))
	s.Add(s, secret(nonce)).Mod(s, order())
	half := s.FillBytes(make([]byte, 32))
	slices.Reverse(half)
	sig := base64.StdEncoding.EncodeToString(append(slices.Clone(r), half...))
	again, err := seal.Open(fmt.Appendf(slices.Clone(v.Signed()), `,"sig":"%s"}`, sig))
	if err != nil {
		panic(fmt.Sprintf("sign in another way: %v", err))
	}
	return again
}

// secret is the scalar of a key, clamped: RFC 8032 §5.1.5.
func secret(key ed25519.PrivateKey) *big.Int {
	h := sha512.Sum512(key.Seed())
	h[0] &= 248
	h[31] &= 127
	h[31] |= 64
	return number(h[:32])
}

// number reads bytes that begin with the least.
func number(b []byte) *big.Int {
	b = slices.Clone(b)
	slices.Reverse(b)
	return new(big.Int).SetBytes(b)
}
