package label

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
)

const (
	plainMax = 24 // characters of a plain serial
	runMax   = 20 // of them without anything between, as long as GS1 lets a serial be
)

var (
	errMore = errors.New("this label is more than a plain serial, and may hold a secret; type the serial printed on it")
	errLong = fmt.Errorf("this is too long for a plain serial (%d characters, %d in a row), and may hold a secret; type the serial printed on the label", plainMax, runMax)
	errWord = errors.New("this label speaks of a code or a key, which is a secret; type the serial printed on it")
	errNone = errors.New("there is no number in this text; type the serial printed on the label")
	errSlip = errors.New("this may be an install code or a setup code with a slip in it, which is a secret; type the serial printed on the label")
)

// webAddress is a host and a path with no scheme before them.
var webAddress = regexp.MustCompile(`(?i)^www\.|[a-z]\.[a-z]{2,}/`)

// plain reads a plain serial.
func plain(text string) finding {
	text = strings.Join(strings.Fields(text), " ")
	if err := plainWrong(text); err != nil {
		return finding{err: err}
	}
	f := finding{kind: ordinary, Reading: Reading{Form: FormPlain, Serial: text, Text: text}}
	if _, err := ParseGTIN(text); err == nil && len(text) > 8 {
		f.Notes = []string{"this may be a product's number (GTIN), the same on every unit of it: make sure that it is this unit's serial"}
	}
	return f
}

func plainWrong(text string) error {
	words := strings.FieldsFunc(text, func(r rune) bool { return !plainRune(r) })
	letters := strings.FieldsFunc(strings.ToUpper(text), func(r rune) bool { return r < 'A' || r > 'Z' })
	switch {
	case slices.ContainsFunc(letters, func(w string) bool { return slices.Contains(telling, w) }):
		return errWord
	case strings.ContainsFunc(text, func(r rune) bool { return !plainRune(r) && !strings.ContainsRune("-./_ ", r) }), webAddress.MatchString(text):
		return errMore
	case len(text) > plainMax, slices.ContainsFunc(words, func(w string) bool { return len(w) > runMax }):
		return errLong
	case !strings.ContainsAny(text, "0123456789"):
		return errNone
	case !plainRune(rune(text[0])), !plainRune(rune(text[len(text)-1])):
		return errMore
	case buried(text):
		return errMore
	}
	return nil
}

// plainRune says whether a character is a letter or digit of ASCII.
func plainRune(r rune) bool {
	return r >= '0' && r <= '9' || r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z'
}
