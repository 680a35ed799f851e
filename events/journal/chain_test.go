package journal_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
)

// The hash that an event follows is in memory once where the event before it is told
// too, and by itself where that is damaged: it keeps nothing else in memory.
func TestWhatIsToldHoldsEachHashOnce(t *testing.T) {
	l, lines := newLaptop(), newAuthor(2).says(9, "theirs")
	j := l.open(t)
	_, err := j.Take(ctx, lines)
	require.NoError(t, err)
	require.NoError(t, j.Close())
	change(t, l.site, feedFile(string(lines[0].Feed())), flip(startOf(lines, 4)+300, 1))
	var said []events.Event
	env := l.env()
	env.Hear = func(evs []events.Event) { said = evs }
	j, err = journal.Open(l.site, l.marks, journaltest.Site(), env)
	require.NoError(t, err)
	require.Len(t, said, 8)
	for _, evs := range [][]events.Event{said, journal.Events(have(t, j.All()))} {
		for i := range evs {
			switch e := &evs[i]; {
			case e.Seq == 1:
				require.Nil(t, e.Before)
			case e.Seq == 6:
				require.Equal(t, lines[4].Hash(), e.Prev())
			default:
				require.Same(t, &evs[i-1].Hash, e.Before)
			}
		}
	}
	require.NoError(t, j.Close())
}
