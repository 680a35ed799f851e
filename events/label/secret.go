package label

import (
	"strings"
	"unicode"
)

// secretIn says whether a text is a secret, and of which form.
func secretIn(text string) (Form, bool) {
	digits := squeeze(text)
	upper := strings.ToUpper(text)
	switch {
	case IsInstallCode(text):
		return FormInstallCode, true
	case strings.HasPrefix(upper, matterPrefix), bareMatterQR(upper):
		return FormMatterQR, true
	case len(digits) == manualShort && verhoeff(digits), len(digits) == manualLong && digits[0] >= '4' && verhoeff(digits):
		return FormMatterManual, true
	}
	return "", false
}

// slip says whether a text may be a secret in which a character is wrong.
func slip(text string) bool {
	digits := squeeze(text)
	return longerInstall(len(digits)) && allHex(digits) ||
		len(digits) == manualLong && allDigits(digits) ||
		printedManual(text)
}

// printedManual says whether a text is 11 digits in the groups that a Matter
// setup code is printed in.
func printedManual(text string) bool {
	groups := strings.FieldsFunc(text, between)
	return len(groups) == 3 && len(groups[0]) == 4 && len(groups[1]) == 3 && len(groups[2]) == 4 &&
		allDigits(groups[0]+groups[1]+groups[2])
}

// bareMatterQR says whether somewhere in a text stands a Matter QR code without
// its MT:. Hardly any other text does: one in a million of 19 letters and digits.
func bareMatterQR(upper string) bool {
	for i := range max(0, len(upper)-baseLong+1) {
		if _, _, ok := matterBits(upper[i : i+baseLong]); ok {
			return true
		}
	}
	return false
}

// buried says whether a secret stands within a text that is otherwise none, such
// as IC and an install code.
func buried(text string) bool {
	for run := range strings.FieldsFuncSeq(text, func(r rune) bool { return !allHex(string(r)) }) {
		for n := shortest; n <= len(run); n++ {
			for i := range len(run) - n + 1 {
				if IsInstallCode(run[i : i+n]) {
					return true
				}
			}
		}
	}
	// Here a setup code must be right in every part: letters before 11 digits speak
	// for a serial.
	for run := range strings.FieldsFuncSeq(squeeze(text), func(r rune) bool { return !allDigits(string(r)) }) {
		if _, _, ok := matterDigits(run); ok {
			return true
		}
	}
	return false
}

// telling are words that stand before a secret, not before a serial.
var telling = []string{
	"CODE", "INSTALL", "KEY", "MT", "PASS", "PASSCODE", "PASSWORD", "PASSPHRASE", "PIN", "PSK", "PUK",
	"PW", "PWD", "SECRET", "SETUP", "TOKEN",
}

// between says whether a character only parts groups of digits.
func between(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune("-:._/", r) }

// squeeze takes out what only parts groups of digits.
func squeeze(text string) string {
	return strings.Map(func(r rune) rune {
		if between(r) {
			return -1
		}
		return r
	}, text)
}

// IsSecret says whether a text is for certain a secret as it stands: an install
// code longer than an EUI-64, or a Matter QR code. A manual code may be a serial.
func IsSecret(text string) bool {
	form, yes := secretIn(text)
	return yes && form != FormMatterManual && (form != FormInstallCode || len(squeeze(text)) > shortest)
}
