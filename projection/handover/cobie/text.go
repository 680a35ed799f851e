package cobie

import (
	"regexp"
	"strconv"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"pairwalk/projection/handover/cobie/register"
)

// cut ends a text that a cell can't hold.
const cut = " … [cut: a cell holds no more]"

// clean is a text as a cell can hold it. What XML can't hold the library makes U+FFFD.
func clean(s string) string {
	s = shorten(s, register.CellMost)
	if more := len(escape(s)) - len(s); more > 0 { // the library counts what it writes
		s = escape(shorten(s, register.CellMost-more))
	}
	return s
}

var escaped = regexp.MustCompile(`^_x[0-9A-Fa-f]{4}_`)

// escape keeps a text that looks like XLSX's escape of a character, _x0041_, from
// being read as one (ECMA-376 part 1, section 22.9.2.19: the underscore itself is
// written _x005F_).
func escape(s string) string {
	if !strings.Contains(s, "_x") {
		return s
	}
	var out strings.Builder
	for i := range len(s) {
		if s[i] == '_' && escaped.MatchString(s[i:]) {
			out.WriteString("_x005F")
		}
		out.WriteByte(s[i])
	}
	return out.String()
}

// shorten cuts a text to so many UTF-16 units, between characters.
func shorten(s string, most int) string {
	n, room, end := 0, most-len(utf16.Encode([]rune(cut))), 0
	for i, r := range s {
		if n <= room {
			end = i
		}
		n += utf16.RuneLen(r)
	}
	if n <= most {
		return s
	}
	return s[:end] + cut
}

// width is about how many letters wide the longest line of a text is, within what
// is pleasant to read.
func width(s string) int {
	widest := 0
	for line := range strings.SplitSeq(s, "\n") {
		widest = max(widest, utf8.RuneCountInString(line))
	}
	return min(widest, 48)
}

// cell writes a value: as a number only where COBie has numbers.
func (p *page) cell(sheet string, column, row int, value string, number bool) {
	if number {
		if n, err := strconv.ParseFloat(value, 64); err == nil {
			p.do(p.file.SetCellFloat(sheet, p.at(column, row), n, -1, 64))
			return
		}
	}
	p.text(sheet, column, row, value)
}
