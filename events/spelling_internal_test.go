package events

import (
	"bytes"
	"encoding/base64"
	"encoding/hex"
	"strings"
	"testing"

	"github.com/oklog/ulid/v2"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// nearly draws a text of about so many characters, most of them of an alphabet.
func nearly(t *rapid.T, alphabet string, n int) string {
	letters := rapid.OneOf(rapid.SampledFrom([]byte(alphabet)), rapid.SampledFrom([]byte(alphabet)), rapid.SampledFrom([]byte("\n\r=-_Az189\x00\xff")))
	if rapid.Bool().Draw(t, "clean") {
		letters = rapid.SampledFrom([]byte(alphabet))
	}
	return string(rapid.SliceOfN(letters, max(0, n-1), n+1).Draw(t, "text"))
}

// A spelling is right if decoding and encoding brings it back.
func TestSpellings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.SampledFrom([]int{1, 2, 3, 4, 5, 8, 32}).Draw(t, "bytes")
		s := nearly(t, "abcdefghijklmnopqrstuvwxyz234567", base32Text.EncodedLen(n))
		b, err := base32Text.DecodeString(s)
		require.Equal(t, err == nil && len(b) == n && base32Text.EncodeToString(b) == s, isBase32(s, n), "%q", s)

		n = rapid.SampledFrom([]int{4, 8, 32}).Draw(t, "bytes of a hash")
		s = nearly(t, "0123456789abcdef", 2*n)
		got := make([]byte, n)
		b, err = hex.DecodeString(s)
		right := err == nil && len(b) == n && strings.ToLower(s) == s
		require.Equal(t, right, readHex(got, s), "%q", s)
		if right {
			require.Equal(t, b, got)
		}

		s = nearly(t, "0123456789ABCDEFGHJKMNPQRSTVWXYZ", ulid.EncodedSize)
		id, err := ulid.ParseStrict(s)
		var read ulid.ULID
		right = err == nil && id.String() == s
		require.Equal(t, right, readULID(&read, []byte(s)), "%q", s)
		if right {
			require.Equal(t, id, read)
		}

		s = nearly(t, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/", SignatureChars-2) + "=="
		b, err = base64.StdEncoding.DecodeString(s)
		require.Equal(t, err == nil && len(b) == 64 && base64.StdEncoding.EncodeToString(b) == s, SpellsSignature([]byte(s)), "%q", s)
	})
}

// Any byte in any place of hexadecimal digits is taken for what it is.
func TestHexDigits(t *testing.T) {
	for _, right := range []string{"00000000", "ffffffff", "89abcdef"} {
		for at := range right {
			for c := range 256 {
				b := []byte(right)
				b[at] = byte(c)
				want, err := hex.DecodeString(string(b))
				right := err == nil && bytes.Equal(bytes.ToLower(b), b)
				var got [4]byte
				require.Equal(t, right, readHex(got[:], b), "%q", b)
				if right {
					require.Equal(t, want, got[:], "%q", b)
				}
			}
		}
	}
}

// All that is taken for a plain name without a further look is one.
func TestPlainNames(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.OneOf(rapid.StringMatching(`[ -~]{0,8}`), rapid.StringMatching(`[ -~]{60,70}`), rapid.String()).Draw(t, "text")
		if inASCII(s, nameMax) {
			require.NotEmpty(t, s)
			require.Equal(t, strings.TrimSpace(s), s)
			require.NoError(t, plain(s, nameMax, false))
		}
	})
}

// A number reads the same the quick way as the other.
func TestPlainNumbers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringMatching(`-?[0-9]{0,18}[,x]?`).Draw(t, "text")
		quick := walk{buf: []byte(s), reading: true}
		n, ok := quick.plainInt()
		if !ok {
			require.Zero(t, quick.pos)
			return
		}
		m, err := parseInt(s[:quick.pos], -maxInt, maxInt)
		require.NoError(t, err)
		require.Equal(t, m, n)
		require.True(t, quick.pos == len(s) || s[quick.pos] > '9' || s[quick.pos] < '0', "it reads to the end")
	})
}
