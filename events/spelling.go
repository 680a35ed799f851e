package events

// This file says whether a text is the one spelling of some bytes, without
// decoding it. Lines are full of keys and hashes, and every one of them is looked
// at whenever a log is opened.

// letters has for each byte its value as a base32 letter, or noLetter.
var letters = func() (of [256]byte) {
	for i := range of {
		of[i] = noLetter
	}
	for i, c := range []byte("abcdefghijklmnopqrstuvwxyz234567") {
		of[c] = byte(i)
	}
	return of
}()

const noLetter = 0xff

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

// hexDigits has for each byte its value as a lower-case hex digit, or noLetter.
var hexDigits = func() (of [256]byte) {
	for i := range of {
		of[i] = noLetter
	}
	for i, c := range []byte("0123456789abcdef") {
		of[c] = byte(i)
	}
	return of
}()

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
