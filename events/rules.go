package events

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// A rule says what a string field may hold. It is asked when an event is
// written, and again when one is read.
type rule func(string) error

const (
	nameMax  = 64   // runes in a name or id
	lineMax  = 400  // runes in one line of text
	proseMax = 4000 // runes in a remark
)

var errEmpty = errors.New("is empty")

// named is an identifier: a short piece of one line with no space at its ends.
func named(s string) error {
	if inASCII(s, nameMax) {
		return nil
	}
	if s == "" {
		return errEmpty
	}
	if strings.TrimSpace(s) != s {
		return errors.New("has space at its ends")
	}
	return plain(s, nameMax, false)
}

// CheckName says what keeps s from standing where the log takes a name: it must
// be one line of 1 to 64 characters with no space at its ends.
func CheckName(s string) error { return named(s) }

// line is one line of text.
func line(s string) error {
	if inASCII(s, lineMax) {
		return nil
	}
	if s == "" {
		return errEmpty
	}
	return plain(s, lineMax, false)
}

// prose is a remark of one or more lines.
func prose(s string) error {
	if s == "" {
		return errEmpty
	}
	return plain(s, proseMax, true)
}

func plain(s string, most int, newlines bool) error {
	if !utf8.ValidString(s) {
		return errors.New("is not valid UTF-8 text")
	}
	if n := utf8.RuneCountInString(s); n > most {
		return fmt.Errorf("is %d characters long; the most is %d", n, most)
	}
	for _, r := range s {
		if unicode.IsControl(r) && (!newlines || r != '\n' && r != '\t') {
			return fmt.Errorf("has a control character (U+%04X)", r)
		}
	}
	return nil
}

// oneOf allows the listed words.
func oneOf[T ~string](words ...T) rule {
	return func(s string) error {
		if slices.Contains(words, T(s)) {
			return nil
		}
		list := make([]string, len(words))
		for i, w := range words {
			list[i] = string(w)
		}
		return fmt.Errorf("%q is none of %s", clip(s), strings.Join(list, ", "))
	}
}

func isKey(s string) error {
	if !isBase32(s, 32) {
		return errBase32(32)
	}
	return nil
}

func isFeed(s string) error {
	_, err := ParseFeedID(s)
	return err
}

func isHash(s string) error {
	if s == "" {
		return errEmpty
	}
	_, err := ParseHash(s)
	return err
}

func isDate(s string) error {
	if _, err := time.Parse(time.DateOnly, s); err != nil {
		return fmt.Errorf("%q is not a date like 2026-03-31", clip(s))
	}
	return nil
}

// isSignature is 88 characters of strict base64, the form of a line's tail.
func isSignature(s string) error {
	_, err := ParseSignature(s)
	return err
}
