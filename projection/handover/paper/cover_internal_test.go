package paper

import (
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/require"

	"pairwalk/projection/handover"
)

var sampleTitle = handover.Document{Title: "Title"}

// What the package doc promises of its typeface.
func TestWhatTheTypefaceCovers(t *testing.T) {
	p, err := newPress(sampleTitle)
	require.NoError(t, err)
	for _, c := range []struct {
		name     string
		from, to rune
		all      bool
	}{
		{"Latin", 0x20, 0x7E, true}, {"Latin-1", 0xA0, 0xAC, true}, {"Latin-1", 0xAE, 0xFF, true},
		{"Latin Extended A", 0x100, 0x17F, true}, {"Latin Extended Additional", 0x1E00, 0x1EF9, true},
		{"Greek", 0x391, 0x3A1, true}, {"Greek", 0x3B1, 0x3C9, true}, {"Cyrillic", 0x400, 0x45F, true},
		{"Armenian", 0x531, 0x556, true}, {"Georgian", 0x10D0, 0x10F0, true},
		{"Hebrew", 0x5D0, 0x5EA, true}, {"Arabic", 0x621, 0x63A, true}, {"arrows", 0x2190, 0x21FF, true},
		{"mathematics", 0x2200, 0x22FF, true},
		{"Devanagari", 0x905, 0x939, false}, {"Chinese", 0x4E00, 0x4E80, false}, {"kana", 0x3041, 0x3096, false},
		{"Hangul", 0xAC00, 0xAC80, false}, {"emoji", 0x1F4A0, 0x1F4B0, false}, {"private use", 0xE000, 0xE010, false},
		{"turning", 0x202A, 0x202E, false}, {"turning", 0x2066, 0x2069, false}, {"unseen", 0x200B, 0x200F, false},
	} {
		for r := c.from; r <= c.to; r++ {
			if unicode.IsPrint(r) || !c.all {
				require.Equal(t, c.all, p.regular.shows(r) && p.bold.shows(r), "%s U+%04X", c.name, r)
			}
		}
	}
}

// A line is never wider than it may be, whatever is in it, and no letter is lost.
func TestLinesKeepTheirWidth(t *testing.T) {
	p, err := newPress(sampleTitle)
	require.NoError(t, err)
	texts := []string{
		"", " ", "word", "a b c", "two  blanks", "trailing  ", "hyphen-ated and/or slashed_words 2-10",
		"Donaudampfschifffahrtsgesellschaftskapitän", "[U+1F600] 💡💡💡💡💡💡💡💡💡💡", "x\u0301\u0302\u0303\u0304 mark", "a\n\nb\r\nc", "חדר 12 שלום",
	}
	for _, s := range texts {
		for _, width := range []mm{6, 11, 23, 57, 170} {
			for _, f := range []*face{p.regular, p.bold} {
				var joined string
				for _, l := range f.lines(s, tableType, width) {
					require.LessOrEqual(t, f.width(l, tableType), width+1e-9, "%q at %v", l, width)
					joined += l
				}
				require.Equal(t, letters(f.legible(s)), letters(joined), "%q at %v", s, width)
			}
		}
	}
}

// letters is a text without what breaking lines may take away.
func letters(s string) string {
	var out []rune
	for _, r := range s {
		if r != ' ' && r != '\n' {
			out = append(out, r)
		}
	}
	return string(out)
}

// Width goes where it saves lines: one long remark must not make every row deep.
func TestWidthGoesWhereItSavesLines(t *testing.T) {
	p, err := newPress(sampleTitle)
	require.NoError(t, err)
	table := handover.Table{Columns: []handover.Column{{Head: "Remark", Share: 20}, {Head: "Known by", Share: 1}, {Head: "Tag", Share: 1}}}
	for i := range 40 {
		remark := "none"
		if i == 7 {
			remark = strings.Repeat("a remark of many words that nobody else has made ", 6)
		}
		table.Rows = append(table.Rows, []string{remark, "observed 2026-03-03 08:41 by the hub in the riser, and by nobody else", "B1-101 B1-102"})
	}
	c := p.claims(table)
	w, fits := c.fit(width(false))
	require.True(t, fits)
	require.InDelta(t, width(false), sum(w), 1e-6)
	for i := range w {
		require.GreaterOrEqual(t, w[i], c.need[i]-1e-6)
	}
	require.Less(t, lines(c.depths(w, 0)), len(c.rows)+8)
}
