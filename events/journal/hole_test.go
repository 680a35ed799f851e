package journal_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/seal"
)

// A line that no peer could supply is bridged, and filled whenever somebody has
// it.
func TestAHoleIsBridgedAndFilled(t *testing.T) {
	l, a := newLaptop(), newAuthor(2)
	j := l.open(t)
	lines := a.says(7, "theirs")
	_, err := j.Take(ctx, lines[:2])
	require.NoError(t, err)
	_, err = j.TakeHole(ctx, a.Feed, lines[3].Head(), lines[4])
	require.NoError(t, err)
	_, err = j.Take(ctx, lines[5:])
	require.NoError(t, err)
	reopen := func() {
		require.NoError(t, j.Close())
		j = l.open(t)
		require.Empty(t, j.Problems(), "a hole is no damage")
	}
	for range 2 {
		require.Equal(t, []events.Head{{Seq: 3}, lines[3].Head()}, j.Holes()[a.Feed])
		require.Equal(t, lines[6].Head(), j.Heads()[a.Feed])
		require.Equal(t, append(texts(lines[:2]), texts(lines[4:])...), texts(have(t, j.Lines(a.Feed, 1))))
		reopen()
	}
	taken, err := j.Take(ctx, lines[3:4])
	require.NoError(t, err)
	require.Equal(t, 1, taken.Healed)
	for range 2 {
		require.Equal(t, []events.Head{lines[2].Head()}, j.Holes()[a.Feed], "the line after it says what is missing")
		reopen()
	}
	_, err = j.Take(ctx, lines[2:3])
	require.NoError(t, err)
	reopen()
	requireLines(t, j, lines)
	require.Empty(t, j.Holes())
}

func TestHolesAtTheVeryStart(t *testing.T) {
	l, a := newLaptop(), newAuthor(2)
	j := l.open(t)
	lines := a.says(3, "theirs")
	_, err := j.TakeHole(ctx, a.Feed, lines[1].Head(), lines[2])
	require.NoError(t, err)
	require.NoError(t, j.Close())
	j = l.open(t)
	require.Equal(t, []events.Head{{Seq: 1}, lines[1].Head()}, j.Holes()[a.Feed])
	_, err = j.Take(ctx, lines)
	require.NoError(t, err)
	requireLines(t, j, lines)
}

func TestHolesThatDoNotFit(t *testing.T) {
	a := newAuthor(2)
	lines := a.says(5, "theirs")
	far := newAuthor(3)
	far.Head = events.Head{Seq: 4097, Hash: events.HashOf([]byte("far"))}
	missing := far.Head
	for name, row := range map[string]struct {
		feed    events.FeedID
		missing events.Head
		next    seal.Verified
		want    error
	}{
		"another hash than the next line says": {a.Feed, events.Head{Seq: 3, Hash: lines[1].Hash()}, lines[3], journal.ErrHole},
		"another place":                        {a.Feed, events.Head{Seq: 4, Hash: lines[2].Hash()}, lines[3], journal.ErrHole},
		"another feed":                         {far.Feed, lines[2].Head(), lines[3], journal.ErrHole},
		"beside what is held":                  {a.Feed, lines[0].Head(), a.from(lines[0]).says(1, "other")[0], nil},
		"too far away":                         {far.Feed, missing, far.says(1, "far")[0], journal.ErrHole},
		"another site":                         {far.Feed, missing, far.on(anotherSite()).says(1, "far")[0], journal.ErrWrongSite},
	} {
		t.Run(name, func(t *testing.T) {
			j := newLaptop().open(t)
			_, err := j.Take(ctx, lines[:2])
			require.NoError(t, err)
			_, err = j.TakeHole(ctx, row.feed, row.missing, row.next)
			require.ErrorIs(t, err, row.want)
			require.Empty(t, j.Holes())
			requireLines(t, j, lines[:2])
		})
	}
}

// Where nothing is missing, a hole changes nothing.
func TestAHoleThatIsNone(t *testing.T) {
	j, lines := newLaptop().open(t), newAuthor(2).says(4, "theirs")
	_, err := j.Take(ctx, lines)
	require.NoError(t, err)
	taken, err := j.TakeHole(ctx, lines[0].Feed(), lines[1].Head(), lines[2])
	require.NoError(t, err)
	require.Equal(t, journal.Taken{Known: 1}, taken)
	requireLines(t, j, lines)
	gone, cancel := context.WithCancel(ctx)
	cancel()
	_, err = j.TakeHole(gone, lines[0].Feed(), lines[1].Head(), lines[2])
	require.ErrorIs(t, err, context.Canceled)
}
