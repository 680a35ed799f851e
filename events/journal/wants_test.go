package journal_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
)

// What a journal says it wants is what it then takes, and asking changes nothing.
func TestWantsIsWhatTakeThenDoes(t *testing.T) {
	a, b := newAuthor(2), newAuthor(3)
	lines := a.says(6, "theirs")
	other := a.from(lines[2]).says(2, "another branch")
	theirs := b.says(4, "others")
	for name, row := range map[string]struct {
		held, offered []seal.Verified
		wants         int
		gaps          []*journal.Gap
	}{
		"all of it":           {nil, lines, 6, nil},
		"the end of it":       {lines[:4], lines, 2, nil},
		"nothing":             {lines, lines[2:], 0, nil},
		"a fork":              {lines, other, 2, nil},
		"a feed, not another": {lines[:2], slices.Concat(lines[4:], theirs), 4, []*journal.Gap{{Feed: a.Feed, Want: 3, Got: 5}}},
	} {
		t.Run(name, func(t *testing.T) {
			j := newLaptop().open(t)
			_, err := j.Take(ctx, row.held)
			require.NoError(t, err)
			before, tips := texts(have(t, j.All())), j.Tips()
			for range 2 {
				want, err := j.Wants(row.offered)
				require.NoError(t, err)
				require.Len(t, want.Lines, row.wants)
				require.Equal(t, row.gaps, want.Gaps)
				require.Equal(t, before, texts(have(t, j.All())))
				require.Equal(t, tips, j.Tips())
			}
			want, err := j.Wants(row.offered)
			require.NoError(t, err)
			taken, _ := j.Take(ctx, row.offered)
			require.Equal(t, texts(want.Lines), texts(taken.Fresh))
			require.Equal(t, want.Gaps, taken.Gaps)
			require.NoError(t, j.Close())
		})
	}
	_, err := newLaptop().open(t).Wants(newAuthor(9).on(anotherSite()).says(1, "far"))
	require.ErrorIs(t, err, journal.ErrWrongSite)
}

// A signature that fits in place of one that does not is wanted, though the line is
// known.
func TestWantsABetterSignature(t *testing.T) {
	lines := journaltest.NewAuthor(1).Notes(3)
	j := newLaptop().open(t)
	_, err := j.Take(ctx, journaltest.Resigned(t, lines, 1))
	require.NoError(t, err)
	want, err := j.Wants(lines)
	require.NoError(t, err)
	require.Equal(t, texts(lines[1:2]), texts(want.Lines))
	taken, err := j.Take(ctx, want.Lines)
	require.NoError(t, err)
	require.Equal(t, journal.Taken{Known: 1, Healed: 1}, taken)
}

func TestWantsAHole(t *testing.T) {
	j, lines := newLaptop().open(t), newAuthor(2).says(7, "theirs")
	feed := lines[0].Feed()
	_, err := j.Take(ctx, lines[:2])
	require.NoError(t, err)
	asks := func(missing, next int, hole, line bool) {
		t.Helper()
		for range 2 {
			h, l, err := j.WantsHole(feed, lines[missing].Head(), lines[next])
			require.NoError(t, err)
			require.Equal(t, []bool{hole, line}, []bool{h, l})
		}
	}
	asks(3, 4, true, true)
	require.Empty(t, j.Holes())
	_, err = j.TakeHole(ctx, feed, lines[3].Head(), lines[4])
	require.NoError(t, err)
	asks(3, 4, false, false)
	asks(4, 5, false, true)
	_, _, err = j.WantsHole(feed, events.Head{Seq: 9, Hash: lines[3].Hash()}, lines[4])
	require.ErrorIs(t, err, journal.ErrHole)
}

func TestAHolesLine(t *testing.T) {
	head := newAuthor(2).says(7, "theirs")[6].Head()
	got, ok := journal.ParseHole(journal.HoleLine(head))
	require.True(t, ok)
	require.Equal(t, head, got)
	_, ok = journal.ParseHole(append(journal.HoleLine(head), ' '))
	require.False(t, ok)
}
