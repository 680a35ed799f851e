package paper

import (
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/rivo/uniseg"
	"golang.org/x/text/unicode/bidi"
)

// visual puts the letters of a line in the order in which they stand on paper, from
// left to right. Lines are written from left to right as a whole; what is in them in
// right-to-left letters is turned, numbers in it are not, and brackets are mirrored.
// That is the bidirectional algorithm (UAX 9) for a line without explicit controls,
// and legible text has none.
func visual(s string) string {
	if !strings.ContainsFunc(s, turns) {
		return s
	}
	var out strings.Builder
	for rest := s; rest != ""; {
		from := strings.IndexFunc(rest, turns)
		if from < 0 {
			out.WriteString(rest)
			break
		}
		out.WriteString(rest[:from])
		n := stretch(rest[from:])
		out.WriteString(turned(rest[from : from+n]))
		rest = rest[from+n:]
	}
	return out.String()
}

func class(r rune) bidi.Class {
	p, _ := bidi.LookupRune(r)
	return p.Class()
}

func turns(r rune) bool { return class(r) == bidi.R || class(r) == bidi.AL }

// stretch is how much is turned as one: to the last right-to-left letter or number
// before the next letter that runs from left to right, and to the bracket that
// closes one in it.
func stretch(s string) int {
	end, open, opened := 0, 0, 0
	for i, r := range s {
		p, _ := bidi.LookupRune(r)
		switch {
		case p.Class() == bidi.L:
			return end
		case p.IsOpeningBracket():
			open++
		case p.IsBracket() && opened > 0:
			open, opened, end = open-1, opened-1, i+utf8.RuneLen(r)
		case slices.Contains([]bidi.Class{bidi.R, bidi.AL, bidi.EN, bidi.AN, bidi.NSM}, p.Class()):
			opened, end = open, i+utf8.RuneLen(r)
		}
	}
	return end
}

// turned turns a stretch, with marks kept on their letters and numbers as they are.
func turned(s string) string {
	var pieces []string
	state, number := -1, false
	var cluster string
	for rest := s; rest != ""; {
		cluster, rest, _, state = uniseg.FirstGraphemeClusterInString(rest, state)
		first := []rune(cluster)[0]
		digit := class(first) == bidi.EN || class(first) == bidi.AN
		next, _ := utf8.DecodeRuneInString(rest)
		inside := number && (class(first) == bidi.CS || class(first) == bidi.ES) && class(next) == bidi.EN
		if number && (digit || inside) {
			pieces[len(pieces)-1] += cluster
		} else if p, _ := bidi.LookupRune(first); p.IsBracket() {
			pieces = append(pieces, bidi.ReverseString(cluster))
		} else {
			pieces = append(pieces, cluster)
		}
		number = digit || inside
	}
	slices.Reverse(pieces)
	return strings.Join(pieces, "")
}
