package journal_test

import (
	"bytes"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
)

// taken is a laptop that has a colleague's five lines, and is closed.
func taken(t *testing.T) (*laptop, []seal.Verified) {
	l, lines := newLaptop(), newAuthor(2).says(5, "theirs")
	j := l.open(t)
	_, err := j.Take(ctx, lines)
	require.NoError(t, err)
	require.NoError(t, j.Close())
	return l, lines
}

// A damaged line in the middle is told with its place, its neighbours stay
// readable, and the other's lines heal it: into a fresh file that is swapped in
// whole, the damaged one kept aside.
func TestADamagedLineInTheMiddle(t *testing.T) {
	l, lines := taken(t)
	file := feedFile(string(lines[0].Feed()))
	change(t, l.site, file, flip(startOf(lines, 2)+300, 1))
	damaged := read(t, l.site, file)
	for range 2 { // opening does not mend it, nor hide it
		j := l.open(t)
		require.Len(t, j.Problems(), 1)
		p := j.Problems()[0]
		require.Equal(t, journal.Problem{
			Fault: journal.Damaged, File: file, Line: 3, Offset: int64(startOf(lines, 2)),
			Feed: lines[0].Feed(), Seq: 3, Words: p.Words,
		}, p)
		require.Contains(t, p.String(), "line 3 (byte ")
		require.Equal(t, []events.Head{lines[2].Head()}, j.Holes()[lines[0].Feed()])
		require.Equal(t, slices.Concat(texts(lines[:2]), texts(lines[3:])), texts(have(t, j.Lines(lines[0].Feed(), 1))))
		require.NoError(t, j.Close())
		require.Equal(t, damaged, read(t, l.site, file))
	}
	j := l.open(t)
	taken, err := j.Take(ctx, lines[2:3])
	require.NoError(t, err)
	require.Equal(t, 1, taken.Healed)
	requireLines(t, j, lines)
	require.NoError(t, j.Close())
	require.Equal(t, damaged, read(t, l.site, "feeds/"+string(lines[0].Feed())+".damaged-1"))
	require.Equal(t, startOf(lines, 5), len(read(t, l.site, file)))
	require.Empty(t, l.open(t).Problems())
}

// With only the signature damaged, the line after it proves what it says: it is
// shown, and healed when somebody sends it.
func TestADamagedSignatureInTheMiddle(t *testing.T) {
	l, lines := taken(t)
	change(t, l.site, feedFile(string(lines[0].Feed())), func(b []byte) []byte {
		at := startOf(lines, 3) - 20 // in the third line's signature
		b[at] = map[bool]byte{true: 'B', false: 'A'}[b[at] == 'A']
		return b
	})
	j := l.open(t)
	require.Equal(t, []journal.Fault{journal.BadSeal}, faults(j.Problems()))
	require.Equal(t, []events.Head{lines[2].Head()}, j.Holes()[lines[0].Feed()])
	require.Len(t, have(t, j.Lines(lines[0].Feed(), 1)), 5)
	again, err := j.Take(ctx, lines)
	require.NoError(t, err)
	require.Equal(t, journal.Taken{Known: 5, Healed: 1}, again)
	require.NoError(t, j.Close())
	j = l.open(t)
	require.Empty(t, j.Problems())
	requireLines(t, j, lines)
}

// A line that is offered twice at once, first with a damaged signature, is kept whole,
// also where nothing of its feed is on disk yet. What was offered stays as it was.
func TestALineOfferedTwiceIsTakenWhole(t *testing.T) {
	lines := newAuthor(2).says(5, "theirs")
	offered := append(journaltest.Resigned(t, lines, 2), lines[2])
	before := texts(offered)
	for held := range 2 {
		l := newLaptop()
		j := l.open(t)
		_, err := j.Take(ctx, lines[:held])
		require.NoError(t, err)
		taken, err := j.Take(ctx, offered)
		require.NoError(t, err)
		require.Equal(t, before, texts(offered))
		require.Equal(t, before[held:5], texts(taken.Fresh))
		require.Equal(t, 1, taken.Healed)
		requireLines(t, j, lines)
		require.NoError(t, j.Close())
		j = l.open(t)
		require.Empty(t, j.Problems())
		requireLines(t, j, lines)
	}
}

// The own feed heals as well, and goes on: what is appended after the swap is in
// the file that was swapped in.
func TestTheOwnFeedHealsAndGoesOn(t *testing.T) {
	l, a := newLaptop(), newAuthor(1)
	j, lines := l.begun(t, a, 3)
	require.NoError(t, j.Close())
	change(t, l.site, feedFile(string(a.Feed)), flip(startOf(lines, 1)+300, 1))
	j = l.open(t)
	require.Equal(t, []events.Head{lines[1].Head()}, j.Holes()[a.Feed])
	lines = append(lines, a.says(1, "before")...)
	require.NoError(t, j.Append(ctx, lines[3]))
	_, err := j.Take(ctx, lines[1:2])
	require.NoError(t, err)
	lines = append(lines, a.says(1, "after")...)
	require.NoError(t, j.Append(ctx, lines[4]))
	l.powerCut(journal.Loss{})
	j = l.open(t)
	requireLines(t, j, lines)
	require.Empty(t, j.Own().Replace)
	for _, v := range lines {
		_, ok := j.Receipt(v.Ref())
		require.False(t, ok, "event %d was said here", v.Seq())
	}
}

// Others' lines taken after damage go into a whole file, and the gap stays told.
func TestLinesGoOnAfterDamage(t *testing.T) {
	l, lines := taken(t)
	a := newAuthor(2).from(lines[4])
	file := feedFile(string(a.Feed))
	change(t, l.site, file, flip(startOf(lines, 1)+300, 1))
	j := l.open(t)
	more := a.says(2, "more")
	_, err := j.Take(ctx, more)
	require.NoError(t, err)
	for range 2 {
		require.Equal(t, []events.Head{lines[1].Head()}, j.Holes()[a.Feed])
		require.Equal(t, more[1].Head(), j.Heads()[a.Feed])
		require.NoError(t, j.Close())
		j = l.open(t)
		require.Empty(t, j.Problems(), "what was damaged is a hole now")
	}
	_, err = j.Take(ctx, lines)
	require.NoError(t, err)
	requireLines(t, j, slices.Concat(lines, more))
}

// The end of a colleague's feed: half a line was never acknowledged and is cut;
// a damaged one is kept until it heals.
func TestTheEndOfAColleaguesFeed(t *testing.T) {
	for name, row := range map[string]struct {
		by    func([]byte) []byte
		fault journal.Fault
		left  int
	}{
		"half a line more":   {half, journal.TornEnd, 5},
		"last line damaged":  {func(b []byte) []byte { return flip(len(b)-200, 1)(b) }, journal.Missing, 4},
		"last lines gone":    {without(2), journal.Missing, 3},
		"last line cut":      {func(b []byte) []byte { return b[:len(b)-200] }, journal.Missing, 4},
		"every line damaged": {func(b []byte) []byte { return bytes.ReplaceAll(b, []byte("prev"), []byte("PREV")) }, journal.Missing, 0},
		"the file empty":     {func([]byte) []byte { return nil }, journal.Missing, 0},
	} {
		t.Run(name, func(t *testing.T) {
			l, lines := taken(t)
			change(t, l.site, feedFile(string(lines[0].Feed())), row.by)
			j := l.open(t)
			require.Contains(t, faults(j.Problems()), row.fault)
			require.EqualValues(t, row.left, j.Heads()[lines[0].Feed()].Seq)
			_, err := j.Take(ctx, lines)
			require.NoError(t, err)
			requireLines(t, j, lines)
			require.NoError(t, j.Close())
			j = l.open(t)
			require.Empty(t, j.Problems())
			requireLines(t, j, lines)
		})
	}
}

// A feed's file that is gone is told, and comes back.
func TestAFileThatIsGone(t *testing.T) {
	l, lines := taken(t)
	file := feedFile(string(lines[0].Feed()))
	require.NoError(t, l.site.Remove(file))
	j := l.open(t)
	require.Equal(t, []journal.Fault{journal.Missing}, faults(j.Problems()))
	require.Equal(t, file, j.Problems()[0].File)
	_, err := j.Take(ctx, lines)
	require.NoError(t, err)
	require.NoError(t, j.Close())
	require.Empty(t, l.open(t).Problems())
}

// A line that is somebody else's, or not in its place, is not believed.
func TestLinesThatDoNotBelong(t *testing.T) {
	other := newAuthor(3).says(2, "other's")
	l, lines := taken(t)
	for name, by := range map[string]func(b []byte) []byte{
		"of another feed":     func(b []byte) []byte { return slices.Concat(b, other[0].Line(), []byte("\n")) },
		"a second time":       func(b []byte) []byte { return slices.Concat(b, lines[1].Line(), []byte("\n")) },
		"no line at all":      func(b []byte) []byte { return append(b, "see the drawing\n"...) },
		"an empty line":       func(b []byte) []byte { return append(b, '\n') },
		"a hole at the end":   func(b []byte) []byte { return append(b, `{"hole":6,"hash":""}`+"\n"...) },
		"a hole in its place": func(b []byte) []byte { return append([]byte(`{"hole":3,"hash":""}`+"\n"), b...) },
	} {
		t.Run(name, func(t *testing.T) {
			c := l.copy()
			change(t, c.site, feedFile(string(lines[0].Feed())), by)
			report, err := journal.Verify(c.site, journaltest.Site())
			require.NoError(t, err)
			require.NotEmpty(t, report.Problems)
			j := c.open(t)
			require.NotEmpty(t, j.Problems())
			requireLines(t, j, lines)
			require.Empty(t, j.Holes())
		})
	}
}

// Files of other kinds are left alone.
func TestUnknownFilesAreLeftAlone(t *testing.T) {
	l, lines := taken(t)
	strange := map[string]string{
		"feeds/notes.txt":                          "bring the ladder",
		"feeds/notes.ndjson":                       "{}\n",
		"members.json":                             "{}",
		feedFile(string(lines[0].Feed())) + ".new": "half a swap",
	}
	for name, text := range strange {
		l.site.Put(name, []byte(text))
	}
	j := l.open(t)
	require.Equal(t, []journal.Fault{journal.Stray}, faults(j.Problems()))
	require.Equal(t, "feeds/notes.ndjson", j.Problems()[0].File)
	require.Len(t, j.Heads(), 1)
	require.NoError(t, j.Close())
	for name, text := range strange {
		require.Equal(t, text, string(read(t, l.site, name)))
	}
}

// A file of the feed's name with another site's lines shows nothing.
func TestAnotherSitesLinesInTheFile(t *testing.T) {
	l, a := newLaptop(), newAuthor(2).on(anotherSite())
	require.NoError(t, l.site.Mkdir("feeds"))
	l.site.Put(feedFile(string(a.Feed)), append(bytes.Clone(a.says(1, "astray")[0].Line()), '\n'))
	j := l.open(t)
	require.Empty(t, j.Heads())
	require.Contains(t, faults(j.Problems()), journal.Stray)
}
