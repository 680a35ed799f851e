package events_test

import (
	"crypto/ed25519"
	"encoding/hex"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

// The vectors of RFC 8032 §7.1 and some longer ones; testdata/ed25519.txt names
// their origin.
func TestSignaturesOfRFC8032(t *testing.T) {
	file, err := os.ReadFile("../testdata/ed25519.txt")
	require.NoError(t, err)
	checked := 0
	for line := range strings.Lines(string(file)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		fields := strings.Split(line, ":")
		private, public, message := unhex(t, fields[0]), unhex(t, fields[1]), unhex(t, fields[2])
		signature := unhex(t, fields[3])[:ed25519.SignatureSize]

		s := events.Sign(private, message)
		raw, err := events.ParseSignature(string(s))
		require.NoError(t, err)
		require.Equal(t, signature, raw)
		require.Len(t, string(s), events.SignatureChars)

		key := events.KeyOf(public)
		require.True(t, s.VerifiedBy(key, message))
		require.False(t, s.VerifiedBy(key, append(message, 0)))
		require.False(t, s.VerifiedBy(ben, message))
		for bit := range 8 * len(signature) {
			changed := append([]byte(nil), signature...)
			changed[bit/8] ^= 1 << (bit % 8)
			require.False(t, ed25519.Verify(public, message, changed))
		}
		checked++
	}
	require.Equal(t, 7, checked)
}

func TestSignatureHasOneSpelling(t *testing.T) {
	s := string(events.Sign(benKey, []byte("x")))
	_, err := events.ParseSignature(s)
	require.NoError(t, err)
	for name, other := range map[string]string{
		"empty":               "",
		"no padding":          strings.TrimRight(s, "="),
		"one = short":         s[:len(s)-1],
		"a line feed inside":  s[:40] + "\n" + s[40:],
		"a line feed instead": s[:40] + "\n" + s[41:],
		"a space at the end":  s + " ",
		"the URL alphabet":    strings.NewReplacer("+", "-", "/", "_", s[:1], "-").Replace(s),
		"trailing bits set":   s[:85] + string(s[85]+1) + "==",
		"65 bytes":            s[:86] + "A=",
		"hex":                 strings.Repeat("0a", 44),
	} {
		t.Run(name, func(t *testing.T) {
			_, err := events.ParseSignature(other)
			require.Error(t, err)
			require.False(t, events.Signature(other).VerifiedBy(ben, []byte("x")))
		})
	}
	require.False(t, events.Signature(s).VerifiedBy("no key", []byte("x")))
	require.False(t, events.Signature(s).VerifiedBy("", []byte("x")))
}

func unhex(t *testing.T, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(s)
	require.NoError(t, err)
	return b
}
