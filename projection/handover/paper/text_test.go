package paper_test

import (
	"fmt"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/require"

	"pairwalk/projection/handover"
	"pairwalk/projection/handover/paper"
)

// seen is how each of the hostile texts has to stand on paper.
var seen = map[string]string{
	"Emoji":        "lamp [U+1F4A1] and family [U+1F469][U+200D][U+1F469][U+200D][U+1F467]",
	"Chinese":      "[U+4F1A][U+8BAE][U+5BA4] A",
	"Korean":       "[U+D68C][U+C758][U+C2E4] [U+D55C]",
	"Turned":       "abc[U+202E]dcba[U+202C] and [U+2066]inner[U+2069] and [U+200F]mark",
	"Isolated":     "by דנה and [U+2068]Dana[U+2069]",
	"Combining":    "é Å x\u0302 Z\u0300\u0301[U+0302][U+0303][U+0304][U+0305]",
	"Mark alone":   "◌\u0301 and ◌\u0308",
	"Controls":     "bell [U+0007] null [U+0000] escape [U+001B][31m tab end",
	"No UTF-8":     "caf[0xE9] and [0xFF][0xFE].",
	"Unseen":       "zero[U+200B]width, soft[U+00AD]hyphen, [U+FEFF]bom, [U+3164]filler, heart ❤[U+FE0F]",
	"For printers": `\) Tj ET (more {nb} %PDF-1.3 endobj stream <</Type /Page>>`,
}

// squeeze takes out all that breaking lines may change.
func squeeze(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return -1
		}
		return r
	}, s)
}

// Whatever somebody types is shown, wherever it may stand, and nothing of it acts on
// anything.
func TestWhateverIsTypedIsShown(t *testing.T) {
	d := handover.Document{Title: "T"}
	var want []string
	for _, h := range hostile {
		for _, b := range []handover.Block{
			handover.Text{Text: h[1]}, handover.Caution{Text: h[1]}, handover.Heading{Text: h[1]},
			handover.Facts{Rows: [][2]string{{"x", h[1]}}},
			handover.Table{Columns: []handover.Column{{Head: "x"}}, Rows: [][]string{{h[1]}}},
			handover.Photo{Caption: h[1]},
		} {
			d.Parts = append(d.Parts, handover.Part{Title: "P", Blocks: []handover.Block{b}})
			want = append(want, h[1])
			if s, ok := seen[h[0]]; ok {
				want[len(want)-1] = s
			}
		}
	}
	pages := pageTexts(t, printed(t, d))
	pages = pages[len(pages)-len(want):] // a page each
	for i, w := range want {
		require.Contains(t, letterwise(pages[i]), letterwise(w), "%T", d.Parts[i].Blocks[0])
	}
}

// letterwise is a text squeezed, without its marks, which a reader may give before or
// after what they stand on, and without what this reader sets about text that runs
// from right to left.
func letterwise(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.Is(unicode.M, r) || r == '\u202B' || r == '\u202C' {
			return -1
		}
		return r
	}, squeeze(s))
}

// Every letter that is in the document is on its pages, at least as often.
func TestNothingIsLost(t *testing.T) {
	d := sample(t)
	have := map[rune]int{}
	for _, p := range pageTexts(t, printed(t, d)) {
		for _, r := range squeeze(p) {
			have[r]++
		}
	}
	want := map[rune]int{}
	words := everyText(d)
	require.Greater(t, len(words), 1000)
	for _, s := range words {
		for _, r := range squeeze(s) {
			if r < 0x3000 && unicode.IsLetter(r) || unicode.IsDigit(r) {
				want[r]++
			}
		}
	}
	for r, n := range want {
		require.GreaterOrEqual(t, have[r], n, "%q", r)
	}
}

// everyText lists the texts of a document but for tags on drawings, which need not
// find room.
func everyText(d handover.Document) []string {
	out := []string{d.Title, d.Under, d.Foot}
	pairs := func(rows [][2]string) {
		for _, r := range rows {
			out = append(out, r[:]...)
		}
	}
	pairs(d.Facts)
	for _, p := range d.Parts {
		out = append(out, p.Title, p.Lead)
		for _, b := range p.Blocks {
			switch b := b.(type) {
			case handover.Heading:
				out = append(out, b.Text)
			case handover.Text:
				out = append(out, b.Text)
			case handover.Caution:
				out = append(out, "CAUTION", b.Text)
			case handover.Facts:
				pairs(b.Rows)
			case handover.Table:
				out = append(out, b.Caption)
				for _, c := range b.Columns {
					if len(b.Rows) > 0 {
						out = append(out, c.Head)
					}
				}
				for _, r := range b.Rows {
					out = append(out, r...)
				}
				if len(b.Rows) == 0 {
					out = append(out, b.None)
				}
			case handover.Drawing:
				out = append(out, b.Caption)
				for _, m := range b.Legend {
					out = append(out, m.Label)
				}
			case handover.Photo:
				out = append(out, b.Caption, b.SHA256)
			}
		}
	}
	return out
}

// Right-to-left letters stand from right to left, numbers among them do not.
func TestRightToLeft(t *testing.T) {
	for in, want := range map[string]string{
		"plain":               "plain",
		"חדר":                 "רדח",
		"room חדר 12, end":    "room 12 רדח, end",
		"חדר 12.5 (א) x":      "(א) 12.5 רדח x",
		"a (חדר) b":           "a (רדח) b",
		"12 חדר":              "12 רדח",
		"אב [U+202E]":         "בא [U+202E]",
		"ש\u05B8לום":          "םולש\u05B8",
		"two אב words גד end": "two בא words דג end",
	} {
		require.Equal(t, want, paper.Visual(in), "%q", in)
	}
}

func TestALongListOfDevicesIsWhole(t *testing.T) {
	pdf := printed(t, handover.Document{Title: "T", Parts: []handover.Part{{Title: "P", Blocks: []handover.Block{rows("Devices", 2000)}}}})
	text := strings.Join(pageTexts(t, pdf), "")
	for i := range 2000 {
		require.Contains(t, text, fmt.Sprintf("L2-%03d ", i))
	}
}

func BenchmarkTwoThousandRows(b *testing.B) {
	d := handover.Document{Title: "T", Parts: []handover.Part{{Title: "P", Blocks: []handover.Block{rows("Devices", 2000)}}}}
	var bytes int
	for b.Loop() {
		bytes = len(printed(b, d))
	}
	b.ReportMetric(float64(bytes), "bytes/file")
}
