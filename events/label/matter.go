package label

import (
	"errors"
	"strings"
)

// A Matter is what a Matter setup code says besides its passcode, which is never
// given out.
type Matter struct {
	Vendor, Product uint16 // 0 where the code does not say
	Discriminator   uint16 // 12 bits, or the upper 4 where Short
	Short           bool
}

// fields are the parts of the QR code's first 88 bits, from the lowest: version,
// vendor, product, flow, discovery, discriminator, passcode, padding (Matter Core
// Specification, section 5.1.3).
var fields = [...]int{3, 16, 16, 2, 8, 12, 27, 4}

const (
	matterPrefix = "MT:"
	baseBytes    = 11 // the 88 bits; more is data of the maker's
	baseLong     = 19 // their characters in base 38
	manualShort  = 11 // digits
	manualLong   = 21
)

var (
	errMatterQR     = errors.New("this is not a Matter QR code that reads; scan it again")
	errMatterManual = errors.New("this is not a Matter setup code: it has 11 or 21 digits, and the last one fits the others")
)

// ParseMatterQR reads the text of a Matter QR code: MT: and base 38. Several
// devices' codes may stand in one, parted by *.
func ParseMatterQR(text string) ([]Matter, error) {
	rest, ok := strings.CutPrefix(text, matterPrefix)
	if !ok {
		return nil, errMatterQR
	}
	var out []Matter
	for part := range strings.SplitSeq(rest, "*") {
		m, _, ok := matterBits(part)
		if !ok {
			return nil, errMatterQR
		}
		out = append(out, m)
	}
	return out, nil
}

// ParseMatterManual reads the digits of a manual setup code. Spaces and hyphens
// between them don't count.
func ParseMatterManual(text string) (Matter, error) {
	m, _, ok := matterDigits(strings.NewReplacer(" ", "", "-", "").Replace(text))
	if !ok {
		return Matter{}, errMatterManual
	}
	return m, nil
}

// matterBits reads a QR code's base 38.
func matterBits(text string) (m Matter, passcode uint32, ok bool) {
	b, ok := base38(text)
	if !ok || len(b) < baseBytes {
		return Matter{}, 0, false
	}
	var v [len(fields)]uint32
	at := 0
	for i, wide := range fields {
		for bit := range wide {
			v[i] |= uint32(b[at/8]>>(at%8)&1) << bit
			at++
		}
	}
	if v[0] != 0 || v[7] != 0 || !mayPass(v[6]) {
		return Matter{}, 0, false
	}
	return Matter{Vendor: uint16(v[1]), Product: uint16(v[2]), Discriminator: uint16(v[5])}, v[6], true
}

// matterDigits reads a manual code: a digit with the version (0), whether vendor
// and product follow, and two bits of the discriminator; five with two more and
// the passcode's lower 14 bits; four with its upper 13; vendor and product, five
// each; the check digit (Matter Core Specification, section 5.1.4).
func matterDigits(digits string) (m Matter, passcode uint32, ok bool) {
	if len(digits) != manualShort && len(digits) != manualLong || !verhoeff(digits) {
		return Matter{}, 0, false
	}
	first, low, high := number(digits[:1]), number(digits[1:6]), number(digits[6:10])
	long := first&4 != 0
	if first > 7 || long != (len(digits) == manualLong) || low > 0xffff || high > 0x1fff {
		return Matter{}, 0, false
	}
	m = Matter{Discriminator: uint16(first&3<<10 | low>>14<<8), Short: true}
	if long {
		vendor, product := number(digits[10:15]), number(digits[15:20])
		if vendor > 0xffff || product > 0xffff {
			return Matter{}, 0, false
		}
		m.Vendor, m.Product = uint16(vendor), uint16(product)
	}
	passcode = high<<14 | low&0x3fff
	return m, passcode, mayPass(passcode)
}

func number(digits string) uint32 {
	n := uint32(0)
	for i := range len(digits) {
		n = n*10 + uint32(digits[i]-'0')
	}
	return n
}

// mayPass says whether a number may be a passcode: 1 to 99999998, and not one
// that anybody guesses first (Matter Core Specification, section 5.1.7.1).
func mayPass(n uint32) bool {
	return n > 0 && n < 99999999 && n%11111111 != 0 && n != 12345678 && n != 87654321
}

const alphabet38 = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-."

// base38 decodes: 5 characters are 3 bytes, 4 are 2, and 2 are 1, the lowest
// first.
func base38(text string) ([]byte, bool) {
	var out []byte
	for text != "" {
		n := min(5, len(text))
		bytes := [...]int{0, 0, 1, 0, 2, 3}[n]
		if bytes == 0 {
			return nil, false
		}
		value := 0
		for i := n - 1; i >= 0; i-- {
			digit := strings.IndexByte(alphabet38, text[i])
			if digit < 0 {
				return nil, false
			}
			value = value*38 + digit
		}
		if value>>(8*bytes) != 0 {
			return nil, false
		}
		for range bytes {
			out, value = append(out, byte(value)), value>>8
		}
		text = text[n:]
	}
	return out, true
}
