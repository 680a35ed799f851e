package paper_test

import (
	"crypto/sha256"
	"fmt"
	"io"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/projection/handover"
	"pairwalk/projection/handover/paper"
)

// A pack is the same, byte for byte, however often and wherever it is made.
func TestSameBytesEachTime(t *testing.T) {
	const asked = "PAPER_PRINT_SUM"
	sum := fmt.Sprintf("%x", sha256.Sum256(printed(t, sample(t))))
	if os.Getenv(asked) != "" {
		fmt.Println("sum " + sum)
		return
	}
	for range 5 {
		require.Equal(t, sum, fmt.Sprintf("%x", sha256.Sum256(printed(t, sample(t)))))
	}
	again := exec.Command(os.Args[0], "-test.run", "^TestSameBytesEachTime$")
	again.Env = append(os.Environ(), asked+"=1")
	out, err := again.Output()
	require.NoError(t, err)
	require.Contains(t, string(out), "sum "+sum)
}

func TestAnEmptyDocumentIsAPack(t *testing.T) {
	pages := pageTexts(t, printed(t, handover.Document{}))
	require.Len(t, pages, 2)
	require.Contains(t, pages[1], "this pack has no parts")
	require.Contains(t, pages[1], "page 2 of 2")
	require.NotContains(t, strings.Join(pages, ""), "PRACTICE")
}

func TestEveryPageSaysWhatItBelongsTo(t *testing.T) {
	d := sample(t)
	pages := pageTexts(t, printed(t, d))
	require.Greater(t, len(pages), 20)
	for i, p := range pages {
		require.Contains(t, p, fmt.Sprintf("page %d of %d", i+1, len(pages)))
		require.Contains(t, p, closing)
		require.Contains(t, p, "PRACTICE")
		if i > 0 {
			require.Contains(t, strings.SplitN(p, "\n", 2)[0], "Works site “Nordhafen” – handover pack")
		}
	}
	d.Practice = false
	require.NotContains(t, strings.Join(pageTexts(t, printed(t, d)), ""), "PRACTICE")
}

func TestTheFileSaysWhatItIs(t *testing.T) {
	d := sample(t)
	d.Title = "Café\n💡"
	info := poppler(t, printed(t, d), "pdfinfo")
	require.Regexp(t, `Title: +Café \[U\+1F4A1\]\n`, info)
	require.Regexp(t, `Page size: .*A4`, info)
	require.Contains(t, string(printed(t, d)), "/Lang (en)")
	// Taken from no clock.
	require.Contains(t, string(printed(t, d)), "/CreationDate (D:19700101000000)")
	require.Contains(t, string(printed(t, d)), "/ModDate (D:19700101000000)")
}

var destination = regexp.MustCompile(`/Dest \[(\d+) 0 R /XYZ 0 (-?[\d.]+) null\]`)

// The contents name the page of every part and heading; their links and the outline
// lead to the very place.
func TestContentsAndOutlineLeadThere(t *testing.T) {
	d := sample(t)
	// The last page lies across: the writer measures the outline from it.
	d.Parts = append(d.Parts, handover.Part{Title: "Last", Blocks: []handover.Block{handover.Heading{Text: "Broad at the end"}, broad()}})
	pdf := printed(t, d)
	pages, found := pageTexts(t, pdf), leaves(t, pdf)
	var titles []string
	for _, p := range d.Parts {
		titles = append(titles, strings.NewReplacer("\u202E", "[U+202E]", "\u202C", "[U+202C]", "💡", "[U+1F4A1]").Replace(p.Title))
		for _, b := range p.Blocks {
			if h, ok := b.(handover.Heading); ok {
				titles = append(titles, h.Text)
			}
		}
	}
	dests := destination.FindAllStringSubmatch(string(pdf), -1)
	require.Len(t, dests, 2*len(titles)+1)
	page := 3
	for i, title := range titles {
		page = pageOf(t, pages, page, "\n"+title+"\n")
		require.Regexp(t, regexp.QuoteMeta(title)+` +`+strconv.Itoa(page)+"\n", pages[1])
		for _, dest := range [][]string{dests[i], dests[len(titles)+1+i]} {
			require.Equal(t, strconv.Itoa(1+2*page), dest[1], title)
			up, err := strconv.ParseFloat(dest[2], 64)
			require.NoError(t, err)
			first := strings.Fields(title)[0]
			above := found[page-1].Height - up // of the place led to, from the top
			require.True(t, anyWord(found[page-1], func(w word) bool {
				return strings.HasPrefix(w.Text, first) && w.YMin > above && w.YMin < above+20
			}), "%s: nothing at %.0f points from the top of page %d", title, above, page)
		}
	}
	require.Equal(t, "3", dests[len(titles)][1], "the outline begins with the cover")
}

func anyWord(l leaf, is func(word) bool) bool {
	for _, w := range l.Words {
		if is(w) {
			return true
		}
	}
	return false
}

func TestWhatIsWrongIsNamed(t *testing.T) {
	in := func(b handover.Block) handover.Document {
		return handover.Document{Parts: []handover.Part{{Title: "Devices", Blocks: []handover.Block{b}}}}
	}
	two := []handover.Column{{Head: "Tag"}, {Head: "Room"}}
	for name, c := range map[string]struct {
		block handover.Block
		says  []string
	}{
		"too few":    {handover.Table{Caption: "Floor 2", Columns: two, Rows: [][]string{{"a", "b"}, {"a"}}}, []string{"Devices", "Floor 2", "row 2", "1 cells", "2 columns"}},
		"too many":   {handover.Table{Caption: "Floor 2", Columns: two, Rows: [][]string{{"a", "b", "c"}}}, []string{"Floor 2", "row 1", "3 cells"}},
		"no columns": {handover.Table{Caption: "Floor 2", Rows: [][]string{{}}}, []string{"Floor 2", "no columns"}},
		"tall head":  {handover.Table{Caption: "Floor 2", Columns: []handover.Column{{Head: long(3000)}}, Rows: [][]string{{"a"}}}, []string{"Floor 2", "half a page"}},
		"nothing":    {nil, []string{"Devices", "block 1"}},
	} {
		t.Run(name, func(t *testing.T) {
			err := paper.Write(io.Discard, in(c.block))
			require.Error(t, err)
			for _, s := range c.says {
				require.Contains(t, err.Error(), s)
			}
		})
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, os.ErrClosed }

func TestAFullDiskIsAnError(t *testing.T) {
	require.ErrorIs(t, paper.Write(full{}, sample(t)), os.ErrClosed)
}
