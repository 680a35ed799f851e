package handover

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"pairwalk/events"
	"pairwalk/projection"
)

// said is text that somebody typed, fit to stand in a sentence of ours: on one
// line, and without controls, which could make it pass for other words. What is
// written from right to left is set in an isolate, so that it turns nothing else.
func said[T ~string](text T) string {
	clean := plain(string(text))
	if strings.ContainsFunc(clean, leftward) {
		return isolate + clean + endIsolate
	}
	return clean
}

// sentence is words of ours from elsewhere, with what somebody typed among them:
// like said, but only the stretches that run from right to left stand alone.
func sentence(text string) string {
	var b strings.Builder
	rest := plain(text)
	for {
		from := strings.IndexFunc(rest, leftward)
		if from < 0 {
			return b.String() + rest
		}
		to := from
		for i, r := range rest[from:] {
			if leftward(r) {
				to = from + i + utf8.RuneLen(r)
			} else if unicode.IsLetter(r) {
				break
			}
		}
		b.WriteString(rest[:from] + isolate + rest[from:to] + endIsolate)
		rest = rest[to:]
	}
}

// plain keeps text on one line and shows its controls as signs.
func plain(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\r' || r == '\t' || r == '\u2028' || r == '\u2029' || r == '\u0085':
			return ' '
		case unicode.Is(unicode.Bidi_Control, r) || unicode.IsControl(r):
			return '\uFFFD'
		}
		return r
	}, strings.ToValidUTF8(text, "\uFFFD"))
}

// leftward says whether a letter is written from right to left.
func leftward(r rune) bool {
	return unicode.In(r, unicode.Hebrew, unicode.Arabic, unicode.Syriac, unicode.Thaana, unicode.Nko, unicode.Samaritan, unicode.Mandaic, unicode.Adlam, unicode.Hanifi_Rohingya)
}

const (
	isolate    = "\u2068"
	endIsolate = "\u2069"
)

// count says how many, in words fit for none, one and many.
func count(n int, one string) string {
	many := one + "s"
	if stem, y := strings.CutSuffix(one, "y"); y {
		many = stem + "ies"
	}
	switch n {
	case 0:
		return "no " + many
	case 1:
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// verb is the first word after one thing, else the second.
func verb(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// first makes a sentence of words.
func first(s string) string {
	if s == "" {
		return ""
	}
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

// and lists words in a sentence.
func and(words ...string) string {
	switch n := len(words); n {
	case 0:
		return ""
	case 1:
		return words[0]
	default:
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
}

// join strings together what is there.
func join(sep string, words ...string) string {
	var out []string
	for _, w := range words {
		if w != "" {
			out = append(out, w)
		}
	}
	return strings.Join(out, sep)
}

const minute = "2006-01-02 15:04"

// at writes an instant of site time in the site's zone.
func (c *composer) at(i events.Instant) string {
	return i.Time().In(c.zone).Format(minute)
}

// when says when an entry happened: a span where its author typed one, and by whose
// clock where that is not known against site time.
func (c *composer) when(x projection.Cause) string {
	if x.IsZero() {
		return ""
	}
	words := c.at(x.At)
	if w := x.Event.When(); w.Known && x.Placed && x.Span.From != x.Span.To {
		from, to := c.at(x.Span.From), c.at(x.Span.To)
		if from[:10] == to[:10] {
			to = to[11:]
		}
		words = from + " to " + to
	}
	if !x.Placed {
		words += " by their own clock"
	}
	return words
}

// by names who did what an entry tells.
func (c *composer) by(x projection.Cause) string {
	if x.IsZero() {
		return ""
	}
	return said(c.site.DoneBy(x.Event))
}

// whenBy says when and by whom, "" where there is no entry.
func (c *composer) whenBy(x *projection.Cause) string {
	if x == nil || x.IsZero() {
		return ""
	}
	return c.when(*x) + ", " + c.by(*x)
}

// tags lists positions the short way.
func (c *composer) tags(tags []events.Tag) string { return said(c.ranges.Of(tags)) }

// subject names what an entry is about.
func (c *composer) subject(x events.Subject) string {
	if x.Class == events.OfMember {
		return said(c.site.MemberName(events.Key(x.ID)))
	}
	if x == events.Site() {
		return "the whole site"
	}
	return sentence(x.Words())
}

// ref names an entry so that it can be found in the record.
func ref(r events.Ref) string { return fmt.Sprintf("%s/%d/%s", r.Feed.Short(), r.Seq, r.Hash) }
