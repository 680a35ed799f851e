package journal_test

import (
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
)

func TestVerifyOfAWholeSite(t *testing.T) {
	s := tell(t, true)
	report, err := journal.Verify(s.site, journaltest.Site())
	require.NoError(t, err)
	require.Empty(t, report.Problems)
	require.Empty(t, report.Aside)
	mine, theirs, branch := s.mine[0].Feed(), s.theirs[0].Feed(), s.branch[0]
	require.ElementsMatch(t, []journal.Strand{
		{File: feedFile(string(mine)), Feed: mine, Lines: 2, Head: s.mine[1].Head()},
		{File: feedFile(string(theirs)), Feed: theirs, Lines: 3, Head: s.theirs[2].Head()},
		{File: forkFile(branch), Feed: theirs, Fork: true, Lines: 1, Head: branch.Head()},
	}, report.Strands)
}

// Verify looks before any repair, changes nothing, and needs no lock.
func TestVerifyChangesNothing(t *testing.T) {
	l, a := newLaptop(), newAuthor(1)
	_, lines := l.begun(t, a, 4)
	file := feedFile(string(a.Feed))
	change(t, l.site, file, func(b []byte) []byte { return half(flip(startOf(lines, 1)+300, 1)(b)) })
	before := map[string]string{}
	for _, name := range l.site.Files() {
		before[name] = string(read(t, l.site, name))
	}
	report, err := journal.Verify(reading{FS: nil, folder: l.site}, journaltest.Site())
	require.NoError(t, err)
	require.Equal(t, []journal.Fault{journal.TornEnd, journal.Damaged}, faults(report.Problems))
	require.Equal(t, 3, report.Strands[0].Lines)
	require.Equal(t, []events.Head{lines[1].Head()}, report.Strands[0].Holes)
	for name, text := range before {
		require.Equal(t, text, string(read(t, l.site, name)))
	}
	require.Len(t, l.site.Files(), len(before))
}

// reading is a folder of which nothing is there to call but what reads.
type reading struct {
	journal.FS // nil: any other call panics
	folder     *journal.MemFS
}

func (r reading) Read(name string) ([]byte, error) { return r.folder.Read(name) }
func (r reading) Open(name string) (io.ReadCloser, error) {
	return r.folder.Open(name)
}
func (r reading) List(dir string) ([]string, error) { return r.folder.List(dir) }

// Verify trusts no check value: it looks at every signature.
func TestVerifyChecksEverySignature(t *testing.T) {
	l, a := newLaptop(), newAuthor(2)
	j := l.open(t)
	resigned := journaltest.Resigned(t, a.says(3, "theirs"), 1)
	_, err := j.Take(ctx, resigned) // the run is authentic, and covered by a receipt
	require.NoError(t, err)
	require.NoError(t, j.Close())
	require.Empty(t, l.open(t).Problems())
	report, err := journal.Verify(l.site, journaltest.Site())
	require.NoError(t, err)
	require.Equal(t, []journal.Fault{journal.BadSeal}, faults(report.Problems))
}

func TestVerifyComparesTheMark(t *testing.T) {
	l, a := newLaptop(), newAuthor(1)
	j, lines := l.begun(t, a, 3)
	require.NoError(t, j.Close())
	for name, row := range map[string]struct {
		after func(l *laptop)
		want  journal.Fault
	}{
		"the own feed shorter": {func(l *laptop) { change(t, l.site, feedFile(string(a.Feed)), without(1)) }, journal.BehindMark},
		"the own feed gone":    {func(l *laptop) { require.NoError(t, l.site.Remove(feedFile(string(a.Feed)))) }, journal.BehindMark},
		"another last line": {func(l *laptop) {
			change(t, l.site, feedFile(string(a.Feed)), func(b []byte) []byte {
				other := newAuthor(1).from(lines[1]).says(1, "other")[0]
				return append(append(without(1)(b), other.Line()...), '\n')
			})
		}, journal.BehindMark},
		"the mark gone":    {func(l *laptop) { require.NoError(t, l.site.Remove("mark")) }, journal.BadMark},
		"the mark damaged": {func(l *laptop) { change(t, l.site, "mark", flip(9, 1)) }, journal.BadMark},
	} {
		t.Run(name, func(t *testing.T) {
			c := l.copy()
			row.after(c)
			report, err := journal.Verify(c.site, journaltest.Site())
			require.NoError(t, err)
			require.Contains(t, faults(report.Problems), row.want)
		})
	}
}

func TestVerifyListsWhatWasKeptAside(t *testing.T) {
	l, a := newLaptop(), newAuthor(1)
	j, _ := l.begun(t, a, 2)
	require.NoError(t, j.Close())
	for range 2 {
		change(t, l.site, feedFile(string(a.Feed)), half)
		require.NoError(t, l.open(t).Close())
	}
	report, err := journal.Verify(l.site, journaltest.Site())
	require.NoError(t, err)
	torn := "feeds/" + string(a.Feed) + ".torn"
	require.Equal(t, []string{torn, torn + "-1"}, report.Aside)
	require.Equal(t, string(half(nil)), string(read(t, l.site, torn)))
}

// Of a folder that is not there, nothing is wrong and nothing is made.
func TestVerifyOfNothing(t *testing.T) {
	l := newLaptop()
	report, err := journal.Verify(l.site, journaltest.Site())
	require.NoError(t, err)
	require.Equal(t, journal.Report{}, report)
	require.Empty(t, l.site.Files())
}
