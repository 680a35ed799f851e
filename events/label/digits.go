package label

import (
	"errors"
	"strings"
)

// ParseGTIN reads a GTIN of 8, 12, 13 or 14 digits and gives its 14-digit form.
// It refuses a wrong check digit.
func ParseGTIN(text string) (string, error) {
	switch len(text) {
	case 8, 12, 13, 14:
	default:
		return "", errors.New("a GTIN has 8, 12, 13 or 14 digits")
	}
	if !allDigits(text) {
		return "", errors.New("a GTIN is digits alone")
	}
	if !checked(text) {
		return "", errors.New("the check digit of the GTIN does not fit; scan it again")
	}
	return strings.Repeat("0", 14-len(text)) + text, nil
}

// GTINCheckDigit is the check digit that belongs after these digits: weights 3
// and 1 by turns from the right (GS1 General Specifications, section 7.9).
func GTINCheckDigit(digits string) (byte, error) {
	if digits == "" || !allDigits(digits) {
		return 0, errors.New("a check digit is of digits alone")
	}
	sum := 0
	for i := range len(digits) {
		weight := 1
		if (len(digits)-i)%2 == 1 {
			weight = 3
		}
		sum += weight * int(digits[i]-'0')
	}
	return '0' + byte((10-sum%10)%10), nil
}

// checked says whether the last of these digits is their check digit.
func checked(digits string) bool {
	if len(digits) < 2 {
		return false
	}
	want, err := GTINCheckDigit(digits[:len(digits)-1])
	return err == nil && digits[len(digits)-1] == want
}

func allDigits(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }

func allHex(s string) bool { return s != "" && strings.Trim(s, "0123456789abcdefABCDEF") == "" }

// verhoeff says whether the last of these digits is their check digit: the
// group of the symmetries of a pentagon, each place counted from the right going
// once more through a fixed permutation (J. Verhoeff, Error detecting decimal
// codes, 1969).
func verhoeff(digits string) bool {
	if !allDigits(digits) {
		return false
	}
	c := 0
	for i := range len(digits) {
		x := int(digits[len(digits)-1-i] - '0')
		for range i % 8 {
			x = permuted[x]
		}
		c = turned(c, x)
	}
	return c == 0
}

var permuted = [10]int{1, 5, 7, 6, 2, 8, 3, 0, 9, 4}

// turned is the product of two symmetries of a pentagon: 0 to 4 are its turns, 5
// to 9 its reflections.
func turned(a, b int) int {
	switch {
	case a < 5 && b < 5:
		return (a + b) % 5
	case a < 5:
		return 5 + (a+b)%5
	case b < 5:
		return 5 + (a-b)%5
	}
	return (a - b + 5) % 5
}
