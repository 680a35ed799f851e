package label

import (
	"encoding/hex"
	"errors"
	"strings"
)

// An EUI64 is an IEEE extended unique identifier of 64 bits, such as a radio's
// address.
type EUI64 [8]byte

// String writes 16 lower-case hex digits.
func (e EUI64) String() string { return hex.EncodeToString(e[:]) }

// An EUI48 is an IEEE extended unique identifier of 48 bits, a MAC address.
type EUI48 [6]byte

// String writes 12 lower-case hex digits.
func (e EUI48) String() string { return hex.EncodeToString(e[:]) }

// Modified is the modified EUI-64 that an IPv6 interface makes of it: ff fe in
// the middle, and the universal/local bit turned over (RFC 4291, appendix A).
func (e EUI48) Modified() EUI64 {
	return EUI64{e[0] ^ universal, e[1], e[2], 0xff, 0xfe, e[3], e[4], e[5]}
}

// Bits of the first octet of an EUI (IEEE 802).
const (
	group     = 0x01 // addresses many, and so is nobody's own
	universal = 0x02
)

var (
	errNotEUI64 = errors.New("this is not an EUI-64: it has 16 hex digits, with -, : or spaces between them or nothing")
	errNotEUI48 = errors.New("this is not an EUI-48: it has 12 hex digits, with -, : or spaces between them or nothing")
	errGroup    = errors.New("this address is a group's, not one unit's (bit 0x01 of its first octet is set); scan it again, or type the serial printed on the label")
	errNobody   = errors.New("this address is all zeros, which is no unit's; scan it again, or type the serial printed on the label")
)

// ParseEUI64 reads 16 hex digits, undivided or parted by -, : or a space after
// every 2 or every 4. It refuses a group's address and zero.
func ParseEUI64(text string) (EUI64, error) {
	var e EUI64
	if !grouped(text, 2) && !grouped(text, 4) || !octets(e[:], text) {
		return EUI64{}, errNotEUI64
	}
	return e, own(e[:])
}

// ParseEUI48 reads 12 hex digits, undivided or parted by -, : or a space after
// every 2. // It refuses a group's address and zero.
func ParseEUI48(text string) (EUI48, error) {
	var e EUI48
	if !grouped(text, 2) || !octets(e[:], text) {
		return EUI48{}, errNotEUI48
	}
	return e, own(e[:])
}

// dividers may stand between the groups of an address.
const dividers = "-: "

// own says why an address can't be a unit's own.
func own(b []byte) error {
	switch {
	case b[0]&group != 0:
		return errGroup
	case strings.Trim(string(b), "\x00") == "":
		return errNobody
	}
	return nil
}

// grouped says whether a text is undivided, or in groups of n with the same one
// of dividers between all of them.
func grouped(text string, n int) bool {
	if !strings.ContainsAny(text, dividers) {
		return true
	}
	if len(text) <= n || (len(text)+1)%(n+1) != 0 {
		return false
	}
	for i := range len(text) {
		between := i%(n+1) == n
		if between && text[i] != text[n] || !between && strings.IndexByte(dividers, text[i]) >= 0 {
			return false
		}
	}
	return true
}

// octets fills b from hex digits, and says whether they were exactly enough.
func octets(b []byte, text string) bool {
	digits := strings.Map(func(r rune) rune {
		if strings.ContainsRune(dividers, r) {
			return -1
		}
		return r
	}, text)
	if len(digits) != 2*len(b) {
		return false
	}
	_, err := hex.Decode(b, []byte(digits))
	return err == nil
}

// looksEUI48 says whether a text reads as an EUI-48 without more being known: 12
// digits that stand undivided may be any serial, unless one is a letter.
func looksEUI48(text string) bool {
	_, err := ParseEUI48(text)
	return err == nil && (len(text) > len(EUI48{})*2 || strings.ContainsAny(text, "abcdefABCDEF"))
}
