package journal_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
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
