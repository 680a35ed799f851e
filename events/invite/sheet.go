package invite

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/tyler-smith/go-bip39"
)

// Errors of a recovery sheet that was read back.
var (
	ErrWordCount   = errors.New("a recovery sheet has twelve words")
	ErrUnknownWord = errors.New("not a word of a recovery sheet")
	ErrWordsClash  = errors.New("the twelve words do not belong together: one is wrong or two have changed places; compare them with the sheet")
)

const (
	sheetWords  = 12
	sheetRows   = 4
	longestWord = 8 // letters, in the BIP-39 English list
)

const sheetText = `PAIRWALK RECOVERY SHEET

Site %s

%s
These words are the root key of this site. They make a lead, and they end a
lead's say. With them you replace a lead's lost or stolen laptop.
Whoever reads them can do the same.

Print this or copy it by hand. Keep it on paper, away from the laptop.
It is shown only once.
`

// Sheet is the recovery sheet as text to print or to copy: the words, numbered
// down the columns, and what they are for. Lines have at most 76 columns.
func (r Root) Sheet() string {
	words := r.Words()
	var grid strings.Builder
	for row := range sheetRows {
		var line string
		for i := row; i < sheetWords; i += sheetRows {
			line += fmt.Sprintf("%4d. %-*s", i+1, longestWord+2, words[i])
		}
		grid.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	return fmt.Sprintf(sheetText, r.Site(), grid.String())
}

// RootFromSheet reads a root back from its words. It takes the whole sheet or
// the words alone, in any case and spacing, numbered or not; where all twelve
// numbers are there, they set the order. Its errors say which word to look at.
func RootFromSheet(text string) (Root, error) {
	words := sheetWordsOf(text)
	if len(words) != sheetWords {
		return Root{}, fmt.Errorf("%w, and here are %d: copy all of them, in order", ErrWordCount, len(words))
	}
	for i, w := range words {
		if _, ok := bip39.GetWordIndex(w); !ok {
			return Root{}, fmt.Errorf("word %d, %q, is %w%s", i+1, w, ErrUnknownWord, advice(w))
		}
	}
	b, err := bip39.EntropyFromMnemonic(strings.Join(words, " "))
	if err != nil {
		return Root{}, ErrWordsClash
	}
	return rootOf([entropyBytes]byte(b)), nil
}

// sheetWordsOf finds the words: the numbered ones if all numbers are there, else
// whatever is not a number.
func sheetWordsOf(text string) []string {
	var plain []string
	var numbered [sheetWords]string
	found, twice, number := 0, false, 0
	for _, piece := range strings.FieldsFunc(strings.ToLower(text), notAlphanumeric) {
		letters := strings.TrimLeft(piece, "0123456789")
		if digits := piece[:len(piece)-len(letters)]; digits != "" {
			number, _ = strconv.Atoi(digits) // 0 if too large to be one of ours
		}
		if letters == "" {
			continue
		}
		plain = append(plain, letters)
		if number >= 1 && number <= sheetWords && len(letters) <= longestWord {
			twice = twice || numbered[number-1] != ""
			numbered[number-1] = letters
			found++
		}
		number = 0
	}
	if found == sheetWords && !twice {
		return numbered[:]
	}
	return plain
}

func notAlphanumeric(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }

// advice names the words that w may have been meant for. Four letters are enough
// to tell any two words of the list apart.
func advice(w string) string {
	var near []string
	for _, known := range bip39.GetWordList() {
		if commonPrefix(w, known) >= 4 || oneSlip(w, known) {
			near = append(near, known)
		}
	}
	if len(near) == 0 || len(near) > 5 {
		return ": check its spelling on the sheet"
	}
	slices.Sort(near)
	return ": did you mean " + strings.Join(near, " or ") + "?"
}

func commonPrefix(a, b string) int {
	n := 0
	for n < len(a) && n < len(b) && a[n] == b[n] {
		n++
	}
	return n
}

// oneSlip says whether one letter changed, lost or added makes a of b.
func oneSlip(a, b string) bool {
	n := commonPrefix(a, b)
	a, b = a[n:], b[n:]
	switch {
	case len(a) == len(b):
		return len(a) > 0 && a[1:] == b[1:]
	case len(a) == len(b)+1:
		return a[1:] == b
	case len(b) == len(a)+1:
		return b[1:] == a
	}
	return false
}
