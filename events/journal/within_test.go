package journal_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
)

// A power cut may take a sector out of the middle of lines that nobody was told of,
// and leave those after it. That is told once; then a hole stands there for good,
// and its number is not given again.
func TestAPowerCutWithinLinesNobodyWasToldOf(t *testing.T) {
	l, a := newLaptop(), newAuthor(1)
	j, lines := l.begun(t, a, 3)
	require.NoError(t, j.Append(ctx, a.says(4, "unsynced")...))
	lines = have(t, j.Lines(lines[0].Feed(), 1))
	l.killed()
	l.boot = tuesday
	change(t, l.site, feedFile(string(a.Feed)), zeroed(lines[4]))

	j = l.open(t)
	require.NotEmpty(t, j.Problems(), "told")
	own := j.Own()
	require.Empty(t, own.Replace)
	require.Equal(t, lines[6].Head(), own.Head, "those after it may have been acknowledged")
	require.Equal(t, []events.Head{lines[4].Head()}, j.Holes()[a.Feed])
	l.killed()
	j = l.open(t)
	require.Empty(t, j.Problems(), "and not told again")
	require.Equal(t, []events.Head{lines[4].Head()}, j.Holes()[a.Feed])
	report, err := journal.Verify(l.site, journaltest.Site())
	require.NoError(t, err)
	require.Empty(t, report.Problems)
	require.Len(t, report.Aside, 1, "the bytes are kept")

	taken, err := j.Take(ctx, []seal.Verified{lines[4]})
	require.NoError(t, err, "somebody had it after all")
	require.Equal(t, 1, taken.Healed)
	require.NoError(t, j.Close())
	require.Equal(t, texts(lines), texts(have(t, l.open(t).Lines(a.Feed, 1))))
}

// It may take some of the end as well: the feed ends, and holes stand in it.
func TestAPowerCutWithinAndAtTheEnd(t *testing.T) {
	l, a := newLaptop(), newAuthor(1)
	j, lines := l.begun(t, a, 3)
	require.NoError(t, j.Append(ctx, a.says(5, "unsynced")...))
	lines = have(t, j.Lines(lines[0].Feed(), 1))
	l.killed()
	l.boot = tuesday
	for _, n := range []int{3, 4, 7} {
		change(t, l.site, feedFile(string(a.Feed)), zeroed(lines[n]))
	}
	j = l.open(t)
	require.Equal(t, events.TornTail, j.Own().Replace)
	require.Equal(t, lines[6].Head(), j.Own().Last)
	require.Equal(t, []events.Head{{Seq: 4}, lines[4].Head()}, j.Holes()[a.Feed])
	l.killed()
	j = l.open(t)
	require.Equal(t, events.TornTail, j.Own().Replace)
	require.Empty(t, j.Problems())
	report, err := journal.Verify(l.site, journaltest.Site())
	require.NoError(t, err)
	require.Empty(t, report.Problems)
	require.Len(t, report.Aside, 2)
	require.NoError(t, j.Close())
}

// Where it was vouched for, or the machine did not go down, it is no power cut that
// spoilt it: the damage stays where it is until a peer heals it.
func TestOtherDamageWithinTheOwnFeedStays(t *testing.T) {
	for name, leave := range map[string]func(l *laptop, j *journal.Journal){
		"in the same boot": func(l *laptop, _ *journal.Journal) { l.killed() },
		"after a close": func(l *laptop, j *journal.Journal) {
			require.NoError(t, j.Close())
			l.boot = tuesday
		},
	} {
		t.Run(name, func(t *testing.T) {
			l, a := newLaptop(), newAuthor(1)
			j, lines := l.begun(t, a, 6)
			leave(l, j)
			change(t, l.site, feedFile(string(a.Feed)), zeroed(lines[3]))
			for range 2 {
				require.NotEmpty(t, l.open(t).Problems())
				l.killed()
			}
		})
	}
}

// zeroed is a file with the second half of a line and its end gone to zeros.
func zeroed(v seal.Verified) func(b []byte) []byte {
	return func(b []byte) []byte {
		at := bytes.Index(b, v.Line()) + len(v.Line())/2
		out := bytes.Clone(b)
		clear(out[at : at+len(v.Line())/4])
		return out
	}
}
