package paper

import (
	"fmt"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/rivo/uniseg"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/norm"
)

// mm is a length on paper in millimetres, pt a size of type in points.
type (
	mm = float64
	pt = float64
)

const (
	pointMM   = 25.4 / 72
	family    = "text"
	leading   = 1.32  // from line to line, in sizes
	capHeight = 0.729 // of a capital, in sizes
	marksKept = 2     // of the combining marks on one letter; font has no room for more
)

// face is one cut of the typeface: what it can show, and how wide.
type face struct {
	style  string // as fpdf calls it: "" or B
	font   *sfnt.Font
	buf    sfnt.Buffer
	widths [1 << 16]int32 // in thousandths of the size, plus 2; 1: no glyph; 0: not asked yet
}

func newFace(style string, ttf []byte) (*face, error) {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		return nil, fmt.Errorf("read typeface: %w", err)
	}
	return &face{style: style, font: f}, nil
}

// advance is the width of a character in thousandths of the size, rounded as the
// writer of the file rounds it.
func (f *face) advance(r rune) (int32, bool) {
	if r >= int32(len(f.widths)) || r < 0 {
		return 0, false // the writer knows no more than the first 65,536
	}
	if f.widths[r] == 0 {
		f.widths[r] = 1
		em := f.font.UnitsPerEm()
		glyph, err := f.font.GlyphIndex(&f.buf, r)
		if err == nil && glyph != 0 {
			w, err := f.font.GlyphAdvance(&f.buf, glyph, fixed.I(int(em)), font.HintingNone)
			if err == nil {
				f.widths[r] = int32((int64(w.Round())*2000+int64(em))/(2*int64(em))) + 2
			}
		}
	}
	return max(f.widths[r]-2, 0), f.widths[r] > 1
}

// width is how wide a legible line is at a size.
func (f *face) width(s string, size pt) mm {
	var sum int64
	for _, r := range s {
		w, _ := f.advance(r)
		sum += int64(w)
	}
	return mm(sum) / 1000 * size * pointMM
}

// legible gives the text as it can be shown: composed, with every character that
// would not be seen, or would act on others, spelled out. Lines end with \n.
func (f *face) legible(s string) string {
	if plain(s) {
		return s
	}
	s = isolates.ReplaceAllStringFunc(strings.ReplaceAll(s, "\r\n", "\n"), unwrap)
	if utf8.ValidString(s) {
		s = norm.NFC.String(s)
	}
	var out strings.Builder
	marks, letter := 0, false
	for i, r := range s {
		switch {
		case r == '\n' || r == '\t':
			out.WriteRune(map[rune]rune{'\n': '\n', '\t': ' '}[r])
			marks, letter = 0, false
		case r == utf8.RuneError && !strings.HasPrefix(s[i:], "\uFFFD"):
			fmt.Fprintf(&out, "[0x%02X]", s[i])
			marks, letter = 0, false
		case !f.shows(r) || unicode.Is(unicode.M, r) && marks == marksKept:
			fmt.Fprintf(&out, "[U+%04X]", r)
			letter = letter && unicode.Is(unicode.M, r)
		case unicode.Is(unicode.M, r):
			if !letter {
				out.WriteRune('◌') // so that it stands on nothing else
			}
			out.WriteRune(r)
			marks, letter = marks+1, true
		default:
			out.WriteRune(r)
			marks, letter = 0, !unicode.IsSpace(r)
		}
	}
	return out.String()
}

// isolates is what stands between the characters that keep its direction to itself.
var isolates = regexp.MustCompile("\u2068[^\u2068\u2069]*\u2069")

// unwrap takes them off what runs from right to left, where the document has set
// them; letters are put in order here anyway. About anything else they are shown.
func unwrap(s string) string {
	inner := strings.Trim(s, "\u2068\u2069")
	if strings.ContainsFunc(inner, turns) {
		return inner
	}
	return s
}

// plain says whether there is nothing to look at: most texts.
func plain(s string) bool {
	for i := range len(s) {
		if s[i] < ' ' && s[i] != '\n' || s[i] > '~' {
			return false
		}
	}
	return true
}

// shows says whether somebody would see the character, and nothing else by it.
func (f *face) shows(r rune) bool {
	if !unicode.IsGraphic(r) || unicode.In(r, unicode.Variation_Selector, unicode.Other_Default_Ignorable_Code_Point) {
		return false
	}
	_, ok := f.advance(r)
	return ok
}

// slack is what a line may be wider than it is given: less than anybody sees, more
// than sums of widths are wrong by.
const slack mm = 1e-6

// lines breaks a text to a width, between words. A word that is wider is broken
// where Unicode's rules allow it (UAX 14), else wherever it must be: tags and serials
// have hyphens and stay whole while they can.
func (f *face) lines(s string, size pt, width mm) []string {
	var out []string
	for par := range strings.SplitSeq(f.legible(s), "\n") {
		if par = strings.TrimRight(par, " "); f.width(par, size) <= width+slack {
			out = append(out, par)
			continue
		}
		b := breaker{f: f, size: size, width: width, out: out}
		for word := range strings.SplitAfterSeq(par, " ") {
			b.add(word)
		}
		out = append(b.out, strings.TrimRight(b.line, " "))
	}
	return out
}

// breaker fills lines.
type breaker struct {
	f     *face
	size  pt
	width mm
	out   []string
	line  string
	used  mm
}

// fits says whether a piece goes on the line, or on any line by itself.
func (b *breaker) fits(piece string, used mm) bool {
	return used+b.f.width(strings.TrimRight(piece, " "), b.size) <= b.width+slack
}

func (b *breaker) put(piece string) {
	if b.line != "" && !b.fits(piece, b.used) {
		b.out, b.line, b.used = append(b.out, strings.TrimRight(b.line, " ")), "", 0
	}
	b.line += piece
	b.used += b.f.width(piece, b.size)
}

func (b *breaker) add(word string) {
	if b.fits(word, 0) {
		b.put(word)
		return
	}
	var piece, cluster string
	for state := -1; word != ""; {
		piece, word, _, state = uniseg.FirstLineSegmentInString(word, state)
		if b.fits(piece, 0) {
			b.put(piece)
			continue
		}
		for inner := -1; piece != ""; {
			cluster, piece, _, inner = uniseg.FirstGraphemeClusterInString(piece, inner)
			b.put(cluster)
		}
	}
}

// short gives the text in one line, with its end left out where it is too wide.
func (f *face) short(s string, size pt, width mm) string {
	lines := f.lines(strings.ReplaceAll(s, "\n", " "), size, width)
	if len(lines) == 1 {
		return lines[0]
	}
	return f.lines(lines[0], size, width-f.width("…", size))[0] + "…"
}

// balanced breaks a text to as many lines as it needs, of like widths.
func (f *face) balanced(s string, size pt, width mm) []string {
	out := f.lines(s, size, width)
	for width > 40 {
		width -= 2
		narrower := f.lines(s, size, width)
		if len(narrower) > len(out) {
			break
		}
		out = narrower
	}
	return out
}
