package paper_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/projection/handover"
	"pairwalk/projection/handover/paper"
)

// Whatever a document holds, it is printed: no panic, no end, no number that a
// reader can't read.
func TestAnyDocumentIsPrinted(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		d := anyDocument(rt)
		var out bytes.Buffer
		require.NoError(rt, paper.Write(&out, d))
		for _, s := range streams(t, out.Bytes()) {
			require.NotRegexp(rt, `NaN|Inf`, s)
		}
		require.True(rt, strings.HasSuffix(strings.TrimSpace(out.String()), "%%EOF"))
	})
}

// anyText is a few characters, or a great many.
func anyText(rt *rapid.T, label string) string {
	s := rapid.String().Draw(rt, label)
	return strings.Repeat(s+rapid.SampledFrom([]string{"", " ", "\n", "x"}).Draw(rt, "between"), rapid.SampledFrom([]int{0, 1, 1, 1, 3, 400}).Draw(rt, "times"))
}

func anyDocument(rt *rapid.T) handover.Document {
	d := handover.Document{Title: anyText(rt, "title"), Under: anyText(rt, "under"), Foot: anyText(rt, "foot"), Practice: rapid.Bool().Draw(rt, "practice")}
	for range rapid.IntRange(0, 2).Draw(rt, "parts") {
		p := handover.Part{Title: anyText(rt, "part"), Lead: anyText(rt, "lead")}
		for range rapid.IntRange(0, 6).Draw(rt, "blocks") {
			p.Blocks = append(p.Blocks, anyBlock(rt))
		}
		d.Parts = append(d.Parts, p)
	}
	return d
}

func anyBlock(rt *rapid.T) handover.Block {
	text := anyText(rt, "text")
	switch rapid.IntRange(0, 6).Draw(rt, "kind") {
	case 0:
		return handover.Heading{Text: text, NewPage: rapid.Bool().Draw(rt, "own page")}
	case 1:
		return handover.Caution{Text: text}
	case 2:
		return handover.Facts{Rows: [][2]string{{text, anyText(rt, "value")}}}
	case 3:
		t := handover.Table{Caption: text}
		for range rapid.IntRange(1, 9).Draw(rt, "columns") {
			t.Columns = append(t.Columns, handover.Column{Head: rapid.StringN(0, 20, 80).Draw(rt, "head"), Share: rapid.IntRange(-2, 9).Draw(rt, "share"), Right: rapid.Bool().Draw(rt, "right")})
		}
		for range rapid.IntRange(0, 4).Draw(rt, "rows") {
			row := make([]string, len(t.Columns))
			for i := range row {
				row[i] = anyText(rt, "cell")
			}
			t.Rows = append(t.Rows, row)
		}
		return t
	case 4:
		return handover.Photo{Caption: text, SHA256: rapid.String().Draw(rt, "sum"), Content: rapid.SliceOf(rapid.Byte()).Draw(rt, "content")}
	case 5:
		return anyDrawing(rt, text)
	}
	return handover.Text{Text: text}
}

func anyDrawing(rt *rapid.T, caption string) handover.Drawing {
	at := func() [2]int64 { return [2]int64{rapid.Int64().Draw(rt, "x"), rapid.Int64().Draw(rt, "y")} }
	d := handover.Drawing{Caption: caption}
	if rapid.Bool().Draw(rt, "bounds") {
		d.Min, d.Max = at(), at()
	}
	for range rapid.IntRange(0, 3).Draw(rt, "marks") {
		m := handover.Mark{At: at(), Shape: handover.Shape(rapid.String().Draw(rt, "shape")), Fill: rapid.SampledFrom(fills).Draw(rt, "fill"), Label: anyText(rt, "label")}
		d.Marks, d.Legend = append(d.Marks, m), append(d.Legend, m)
	}
	for range rapid.IntRange(0, 3).Draw(rt, "lines") {
		l := handover.Line{Style: handover.LineStyle(rapid.SampledFrom([]string{"", "wall", "way", "doubt"}).Draw(rt, "style"))}
		for range rapid.IntRange(0, 3).Draw(rt, "points") {
			l.Points = append(l.Points, at())
		}
		d.Lines = append(d.Lines, l)
	}
	return d
}
