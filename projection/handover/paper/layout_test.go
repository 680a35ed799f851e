package paper_test

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/projection/handover"
)

const mm = 72 / 25.4

// No word leaves the page's margins and none lies on another: not a cell's on its
// neighbour's, not a tag's on a tag, not a page's on its head or foot.
func TestNothingOverflowsOrOverlaps(t *testing.T) {
	narrow := handover.Table{Caption: "Many columns", Rows: [][]string{{}}}
	for i := range 30 {
		narrow.Columns = append(narrow.Columns, handover.Column{Head: fmt.Sprintf("Head%d", i), Share: i * 50, Right: i%2 == 0})
		narrow.Rows[0] = append(narrow.Rows[0], strings.Repeat("W", 20+i))
	}
	d := sample(t)
	d.Parts = append(d.Parts, handover.Part{Title: strings.Repeat("Title ", 60), Lead: long(100), Blocks: []handover.Block{
		narrow, handover.Heading{Text: strings.Repeat("Heading", 60)}, handover.Text{Text: strings.Repeat("x", 5000)},
		handover.Caution{Text: strings.Repeat("y", 900)}, handover.Facts{Rows: [][2]string{{strings.Repeat("n", 90), strings.Repeat("v", 9000)}}},
		handover.Table{Caption: long(2000), Columns: narrow.Columns[:2], Rows: [][]string{{"a", "b"}}},
		handover.Photo{Caption: long(1500)}, handover.Photo{Caption: long(1500)},
		handover.Drawing{Caption: long(1500), Legend: []handover.Mark{{Label: long(90)}}, Marks: []handover.Mark{{Label: long(90)}}},
	}})
	d.Foot, d.Under = long(300), long(100)
	pages := leaves(t, printed(t, d))
	require.Greater(t, len(pages), 30)
	for n, page := range pages {
		for i, w := range page.Words {
			require.GreaterOrEqual(t, w.XMin, 20*mm-1, "page %d: %q", n+1, w.Text)
			require.LessOrEqual(t, w.XMax, page.Width-15*mm+1, "page %d: %q", n+1, w.Text)
			require.GreaterOrEqual(t, w.YMin, 9*mm, "page %d: %q", n+1, w.Text)
			require.LessOrEqual(t, w.YMax, page.Height-6*mm, "page %d: %q", n+1, w.Text)
			for _, o := range page.Words[i+1:] {
				over := min(w.XMax, o.XMax)-max(w.XMin, o.XMin) > 0.7 && min(w.YMax, o.YMax)-max(w.YMin, o.YMin) > 0.7
				if over { // not require: there are millions of pairs
					t.Fatalf("page %d: %q lies on %q: %v %v", n+1, w.Text, o.Text, w, o)
				}
			}
		}
	}
}

var typeSize = regexp.MustCompile(`/F\w+ ([\d.]+) Tf`)

// No type is too small to read, and nothing is in colour.
func TestLegibleInBlackAndWhite(t *testing.T) {
	sizes := func(d handover.Document) (least float64) {
		least = 99
		for _, s := range streams(t, printed(t, d)) {
			for _, m := range typeSize.FindAllStringSubmatch(s, -1) {
				size, err := strconv.ParseFloat(m[1], 64)
				require.NoError(t, err)
				least = min(least, size)
			}
			require.NotRegexp(t, `[\d.] (rg|RG|k|K)\n`, s)
			require.NotRegexp(t, `NaN|Inf`, s)
		}
		return least
	}
	d := sample(t)
	require.InDelta(t, 6.5, sizes(d), 0.001, "tags on drawings")
	d.Parts = append(d.Parts[:3:3], d.Parts[4:]...)
	require.InDelta(t, 7.5, sizes(d), 0.001)
}

// after sets n lines and then the blocks, so that they fall anywhere on a page.
func after(n int, blocks ...handover.Block) handover.Document {
	return handover.Document{Title: "T", Foot: closing, Parts: []handover.Part{filled(n, blocks...)}}
}

func filled(n int, blocks ...handover.Block) handover.Part {
	fill := make([]handover.Block, n)
	for i := range fill {
		fill[i] = handover.Text{Text: "filler"}
	}
	return handover.Part{Title: "P", Blocks: append(fill, blocks...)}
}

// everyPlace sets the blocks below more and more lines, each time in a part of its
// own. The pages are those of all parts.
func everyPlace(t *testing.T, blocks func(n int) []handover.Block, each func(pages []string, n int)) {
	d := handover.Document{Title: "T", Foot: closing}
	const from, to = 22, 46
	for n := from; n < to; n++ {
		d.Parts = append(d.Parts, filled(n, blocks(n)...))
	}
	pages := pageTexts(t, printed(t, d))
	for i := 1; !strings.Contains(pages[i], "filler"); i++ {
		pages[i] = "" // the contents name the headings too
	}
	for n := from; n < to; n++ {
		each(pages, n)
	}
}

func TestNoHeadingStandsAlone(t *testing.T) {
	plan, across := floor(20, 20, 9), broad()
	across.Rows = across.Rows[:3]
	for name, b := range map[string]func(mark string) handover.Block{
		"text":    func(m string) handover.Block { return handover.Text{Text: m + " " + long(200)} },
		"table":   func(m string) handover.Block { return rows(m, 4) },
		"caution": func(m string) handover.Block { return handover.Caution{Text: m + " " + long(60)} },
		"none":    func(m string) handover.Block { return handover.Table{Caption: m} },
		"facts":   func(m string) handover.Block { return handover.Facts{Rows: [][2]string{{m, long(30)}}} },
		"heading": func(m string) handover.Block { return handover.Heading{Text: m} },
		"photo":   func(m string) handover.Block { return handover.Photo{SHA256: m} },
		"plan":    func(m string) handover.Block { plan.Caption = m; return plan },
		"across":  func(m string) handover.Block { across.Caption = m; return across },
	} {
		moved := map[bool]bool{}
		everyPlace(t, func(n int) []handover.Block {
			return []handover.Block{handover.Heading{Text: fmt.Sprintf("Head%d.", n)}, b(fmt.Sprintf("Follow%d.", n)), handover.Text{Text: "end"}}
		}, func(pages []string, n int) {
			at := pageOf(t, pages, 3, fmt.Sprintf("Head%d.", n))
			require.Equal(t, at, pageOf(t, pages, 3, fmt.Sprintf("Follow%d.", n)), "%s after %d lines", name, n)
			moved[strings.Contains(pages[at-1], "filler")] = true
		})
		require.True(t, moved[false], "no heading before %s had to go to the next page", name)
	}
}

func TestNoLineOfAParagraphStandsAlone(t *testing.T) {
	parted := 0
	everyPlace(t, func(n int) []handover.Block {
		return []handover.Block{handover.Text{Text: strings.ReplaceAll("A#.\nB#.\nC#.\nD#.\nE#.", "#", strconv.Itoa(n))}}
	}, func(pages []string, n int) {
		at := func(letter string) int { return pageOf(t, pages, 3, fmt.Sprintf("%s%d.", letter, n)) }
		require.Equal(t, at("A"), at("B"), "after %d", n)
		require.Equal(t, at("D"), at("E"), "after %d", n)
		if at("A") != at("E") {
			parted++
		}
	})
	require.Positive(t, parted)
}

func TestACautionIsInOnePieceOrEachPieceSaysSo(t *testing.T) {
	moved := false
	everyPlace(t, func(n int) []handover.Block {
		return []handover.Block{handover.Caution{Text: fmt.Sprintf("begins%d. %s ends%d.", n, long(80), n)}}
	}, func(pages []string, n int) {
		at := pageOf(t, pages, 3, fmt.Sprintf("begins%d.", n))
		require.Equal(t, at, pageOf(t, pages, 3, fmt.Sprintf("ends%d.", n)))
		require.Contains(t, pages[at-1], "CAUTION")
		require.NotContains(t, pages[at-1], "continued")
		moved = moved || !strings.Contains(pages[at-1], "filler")
	})
	require.True(t, moved)
	pages := pageTexts(t, printed(t, after(3, handover.Caution{Text: "begins " + long(3000) + " ends"})))
	first, last := pageOf(t, pages, 3, "begins"), pageOf(t, pages, 3, " ends")
	require.Greater(t, last, first+1)
	require.Contains(t, pages[first-1], "CAUTION")
	for i := first + 1; i <= last; i++ {
		require.Contains(t, pages[i-1], "CAUTION, continued")
	}
}

// A caution is on the page of the table that it is about, also where others stand
// between, and where the table goes across.
func TestACautionStaysWithItsTable(t *testing.T) {
	across := broad()
	across.Rows = across.Rows[:3]
	for name, then := range map[string]func(mark string) []handover.Block{
		"table":        func(m string) []handover.Block { return []handover.Block{rows(m, 4)} },
		"none":         func(m string) []handover.Block { return []handover.Block{handover.Table{Caption: m}} },
		"another":      func(m string) []handover.Block { return []handover.Block{handover.Caution{Text: long(20)}, rows(m, 4)} },
		"across":       func(m string) []handover.Block { across.Caption = m; return []handover.Block{across} },
		"many of them": func(m string) []handover.Block { return []handover.Block{rows(m, 300)} },
	} {
		moved := false
		everyPlace(t, func(n int) []handover.Block {
			blocks := []handover.Block{handover.Heading{Text: fmt.Sprintf("Head%d.", n)}, handover.Caution{Text: fmt.Sprintf("Careful%d. ", n) + long(20)}}
			return append(blocks, then(fmt.Sprintf("Follow%d.", n))...)
		}, func(pages []string, n int) {
			at := pageOf(t, pages, 3, fmt.Sprintf("Careful%d.", n))
			require.Equal(t, at, pageOf(t, pages, 3, fmt.Sprintf("Head%d.", n)), "%s after %d lines", name, n)
			require.Equal(t, at, pageOf(t, pages, 3, fmt.Sprintf("Follow%d.", n)), "%s after %d lines", name, n)
			moved = moved || !strings.Contains(pages[at-1], "filler")
		})
		require.True(t, moved, "no caution before %s had to go to the next page", name)
	}
}

// A row is on one page, under the head of its columns; only what is taller than a
// page goes on on the next one.
func TestRowsAreWholeUnderTheirHead(t *testing.T) {
	table := handover.Table{Caption: "Devices", Columns: []handover.Column{{Head: "Tag", Share: 1}, {Head: "Words", Share: 4}}}
	for i := range 60 {
		table.Rows = append(table.Rows, []string{fmt.Sprintf("T-%03d", i), fmt.Sprintf("begin-%03d\n%s\nfinal-%03d", i, strings.Repeat("line\n", i%5), i)})
	}
	pages := pageTexts(t, printed(t, after(0, table)))
	require.Greater(t, len(pages), 5)
	for i := range 60 {
		at := pageOf(t, pages, 3, fmt.Sprintf("T-%03d", i))
		require.Equal(t, at, pageOf(t, pages, 3, fmt.Sprintf("begin-%03d", i)))
		require.Equal(t, at, pageOf(t, pages, 3, fmt.Sprintf("final-%03d", i)))
	}
	for i, p := range pages[2:] {
		require.Regexp(t, `Tag +Words\n`, p)
		require.Equal(t, i > 0, strings.Contains(p, "Devices, continued"))
	}
	table.Rows[30][1] = "opening " + long(4000) + " ending"
	pages = pageTexts(t, printed(t, after(0, table)))
	first, last := pageOf(t, pages, 3, "opening"), pageOf(t, pages, 3, "ending")
	require.Greater(t, last, first+1)
	require.Equal(t, first, pageOf(t, pages, 3, "T-030"))
	for _, p := range pages[2:] {
		require.Regexp(t, `Tag +Words\n`, p)
	}
}

// A table lies across where its words would not fit upright, and only there.
func TestATableLiesAsItNeeds(t *testing.T) {
	across := func(b handover.Block) bool {
		p := leaves(t, printed(t, after(0, b)))[2]
		return p.Width > p.Height
	}
	require.True(t, across(broad()))
	require.False(t, across(rows("Devices", 30)))
	require.True(t, across(floor(90, 20, 60)))
	require.False(t, across(floor(20, 30, 60)))
	require.False(t, across(handover.Text{Text: "x"}))
}

// Numbers end at the right edge of their column, one under the other.
func TestNumbersStandOnTheRight(t *testing.T) {
	page := leaves(t, printed(t, after(0, handover.Table{
		Columns: []handover.Column{{Head: "Tag", Share: 1}, {Head: "Count", Share: 1, Right: true}, {Head: "More", Share: 1}},
		Rows:    [][]string{{"a", "7", "x"}, {"b", "12345", "y"}},
	})))[2]
	var right []float64
	for _, w := range page.Words {
		if w.Text == "7" || w.Text == "12345" || w.Text == "Count" {
			right = append(right, w.XMax)
		}
	}
	require.Len(t, right, 3)
	require.InDelta(t, right[0], right[1], 0.3)
	require.InDelta(t, right[0], right[2], 0.3)
}

func TestNoneIsSaid(t *testing.T) {
	page := pageTexts(t, printed(t, after(0, rows("Devices of floor 3", 0), handover.Table{Caption: "Silent"})))[2]
	require.Regexp(t, `Devices of floor 3\s+No devices\.`, page)
	require.Regexp(t, `Silent\s+None\.`, page)
}

// A tag may lie on a way where there is no other room for it, never on a wall.
func TestNoTagLiesOnAWall(t *testing.T) {
	shows := func(style handover.LineStyle) bool {
		d := handover.Drawing{Caption: "Shaft", Max: [2]int64{1000, 1000}, Marks: []handover.Mark{{At: [2]int64{500, 500}, Label: "B1-101"}}}
		for at := int64(0); at <= 1000; at += 20 { // lines a millimetre apart on paper
			d.Lines = append(d.Lines, handover.Line{Style: style, Points: [][2]int64{{at, 0}, {at, 1000}}})
		}
		page := pageTexts(t, printed(t, after(0, d)))[2]
		require.Equal(t, !strings.Contains(page, "B1-101"), strings.Contains(page, "have no room here"))
		return strings.Contains(page, "B1-101")
	}
	require.True(t, shows(handover.WayLine))
	require.False(t, shows(handover.WallLine))
}
