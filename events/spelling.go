package events

import (
	"encoding/binary"

	"github.com/oklog/ulid/v2"
)

// This file says whether a text is the one spelling of some bytes, without
// decoding it. Lines are full of keys and hashes, and every one of them is looked
// at whenever a log is opened.

// letters has for each byte its value as a base32 letter, or noLetter.
var letters = valuesOf("abcdefghijklmnopqrstuvwxyz234567")

const noLetter = 0xff

// valuesOf has for each byte its place in an alphabet, or noLetter.
func valuesOf(alphabet string) (of [256]byte) {
	for i := range of {
		of[i] = noLetter
	}
	for i, c := range []byte(alphabet) {
		of[c] = byte(i)
	}
	return of
}

// isBase32 says whether s is n bytes in base32Text: so many letters, and the bits
// left over at the end are 0.
func isBase32(s string, n int) bool {
	chars := (8*n + 4) / 5
	if len(s) != chars {
		return false
	}
	bad := byte(0)
	for i := range len(s) {
		bad |= letters[s[i]]
	}
	spare := 5*chars - 8*n
	return bad < 32 && letters[s[chars-1]]&(1<<spare-1) == 0
}

// sixBits has for each byte its value as a letter of RFC 4648 base64, or noLetter.
var sixBits = valuesOf("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/")

// isBase64 says whether s is n bytes in base64 without padding, as isBase32 does.
func isBase64(s []byte, n int) bool {
	chars := (8*n + 5) / 6
	if len(s) != chars {
		return false
	}
	bad := byte(0)
	for _, c := range s {
		bad |= sixBits[c]
	}
	spare := 6*chars - 8*n
	return bad < 64 && sixBits[s[chars-1]]&(1<<spare-1) == 0
}

// ulidLetters has for each byte its value as a letter of Crockford's base32, as
// ULIDs write it, or noLetter.
var ulidLetters = valuesOf("0123456789ABCDEFGHJKMNPQRSTVWXYZ")

// readULID reads the one spelling of a ULID: 26 letters, of which the first has 3 bits.
func readULID(id *ulid.ULID, s []byte) bool {
	if len(s) != ulid.EncodedSize || s[0] > '7' {
		return false
	}
	bad, high, low := byte(0), uint64(0), uint64(0)
	for i, c := range s {
		x := ulidLetters[c]
		bad |= x
		if i < 13 {
			high = high<<5 | uint64(x)
		} else {
			low = low<<5 | uint64(x)
		}
	}
	high = high<<1 | uint64(ulidLetters[s[13]]>>4) // the bit that low has no room for
	binary.BigEndian.PutUint64(id[:8], high)
	binary.BigEndian.PutUint64(id[8:], low)
	return bad < 32
}

// hexDigits has for each byte its value as a lower-case hex digit, or noLetter.
var hexDigits = valuesOf("0123456789abcdef")

// readHex reads exactly len(dst) bytes of lower-case hex.
func readHex[T string | []byte](dst []byte, s T) bool {
	if len(s) != 2*len(dst) {
		return false
	}
	bad := byte(0)
	for i := range dst {
		hi, lo := hexDigits[s[2*i]], hexDigits[s[2*i+1]]
		bad |= hi | lo
		dst[i] = hi<<4 | lo
	}
	return bad < 16
}

// inASCII says whether s is one line of printable ASCII, of at most so many
// characters and no space at its ends: what nearly every name is.
func inASCII(s string, most int) bool {
	if s == "" || len(s) > most || s[0] == ' ' || s[len(s)-1] == ' ' {
		return false
	}
	for i := range len(s) {
		if s[i] < ' ' || s[i] > '~' {
			return false
		}
	}
	return true
}
