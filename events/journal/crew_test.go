package journal_test

import (
	"slices"
	"testing"
	"unsafe"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
)

// Of more lines than one goroutine reads, each is read into its place: whatever is
// damaged, a journal shows the others, decoded as each is by itself.
func TestManyLinesEachInItsPlace(t *testing.T) {
	l, lines := newLaptop(), newAuthor(2).says(1500, "theirs")
	j := l.open(t)
	_, err := j.Take(ctx, lines)
	require.NoError(t, err)
	require.NoError(t, j.Close())
	feed := lines[0].Feed()
	whole := read(t, l.site, feedFile(string(feed)))
	for _, bad := range [][]int{{}, {0}, {255, 256}, {511, 700, 1498}} {
		spoilt := l.copy()
		b := append([]byte(nil), whole...)
		for _, i := range bad {
			b[startOf(lines, i)+300] ^= 1
		}
		spoilt.site.Put(feedFile(string(feed)), b)
		j := spoilt.open(t)
		require.Len(t, j.Problems(), len(bad))
		want, one := texts(nil), []events.Event(nil)
		for i, v := range lines {
			if !slices.Contains(bad, i) {
				want, one = append(want, string(v.Line())), append(one, v.Event())
			}
		}
		held := have(t, j.Lines(feed, 1))
		require.Equal(t, want, texts(held))
		require.Equal(t, one, journal.Events(held))
		require.NoError(t, j.Close())
	}
}

// What many feeds say in the same words is in memory a few times and not once for each.
// Two words may drive each other out each time, by how they hash; hardly many of them.
func TestFeedsShareTheirWords(t *testing.T) {
	const feeds, words = 60, 50
	l := newLaptop()
	j := l.open(t)
	for n := range uint64(feeds) {
		_, err := j.Take(ctx, newAuthor(2+n).says(1+words, "the same"))
		require.NoError(t, err)
	}
	require.NoError(t, j.Close())
	held, copies := 0, map[*byte]bool{}
	env := l.env()
	env.Hear = func(said []events.Event) {
		for _, e := range said {
			if note, yes := e.Payload.(events.NoteAdded); yes {
				held++
				copies[unsafe.StringData(note.Text)] = true
			}
		}
	}
	j, err := journal.Open(l.site, l.marks, journaltest.Site(), env)
	require.NoError(t, err)
	require.NoError(t, j.Close())
	require.Equal(t, feeds*words, held)
	require.Less(t, len(copies), held/3)
}
