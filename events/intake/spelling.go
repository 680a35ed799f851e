package intake

import (
	"fmt"
	"strings"
	"unicode"
)

// tidy takes the space off a cell's ends.
func tidy(s string) string { return strings.TrimSpace(s) }

// squash makes spellings comparable: letters and digits in lower case, nothing
// else. "Stand-alone", "stand alone" and "STANDALONE" are one word.
func squash(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, s)
}

// wordList is a closed list of words that a cell may hold. Each line begins with
// the word itself and goes on with other spellings of it.
type wordList struct {
	what  string // "a kind of device"
	words [][]string
}

// find returns the word that a cell means.
func (l wordList) find(cell string) (string, bool) {
	s := squash(cell)
	for _, line := range l.words {
		for _, w := range line {
			if s != "" && s == squash(w) {
				return line[0], true
			}
		}
	}
	return "", false
}

// wrong and right say of a cell that holds none of the words what to do.
func (l wordList) wrong(cell string) string { return fmt.Sprintf("%q is not %s", clip(cell), l.what) }

func (l wordList) right(cell string) string {
	all := make([]string, len(l.words))
	near := make(map[string]string)
	var spellings []string
	for i, line := range l.words {
		all[i] = line[0]
		for _, w := range line {
			near[w] = line[0]
			spellings = append(spellings, w)
		}
	}
	choice := strings.Join(all, ", ")
	if guess := nearest(cell, spellings); guess != "" {
		return fmt.Sprintf("did you mean %s? (%s)", near[guess], choice)
	}
	return "write one of " + choice
}

// nearest finds the candidate that a slip of the hand most likely stood for, or
// "" where none is near. Of equals it takes the first.
func nearest[T ~string](text string, candidates []T) T {
	want := []rune(squash(text))
	best, least := T(""), 1+min(2, len(want)/3)
	for _, c := range candidates {
		if d := slips(want, []rune(squash(string(c))), least); d < least {
			best, least = c, d
		}
	}
	return best
}

// slips counts the letters to add, drop, change or swap with their neighbour to
// get from a to b (optimal string alignment), or most where it takes that many.
func slips(a, b []rune, most int) int {
	if len(a)-len(b) >= most || len(b)-len(a) >= most {
		return most
	}
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		least := i
		for j := 1; j <= len(b); j++ {
			change := last[j-1]
			if a[i-1] != b[j-1] {
				change++
			}
			row[j] = min(change, last[j]+1, row[j-1]+1)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
			least = min(least, row[j])
		}
		if least >= most {
			return most
		}
		before, last, row = last, row, before
	}
	return min(last[len(b)], most)
}

// clip shortens what a file held for a message.
func clip(s string) string {
	r := []rune(s)
	if len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}
