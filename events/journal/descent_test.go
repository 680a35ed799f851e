package journal_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/seal"
)

// descent is the lines of the branch that a line stands on, which are the same for who
// keeps them and for who passes them on.
func descent(t *testing.T, j *journal.Journal, of events.Ref, from events.Seq) []string {
	got, copies := texts(have(t, j.Descent(of, from))), texts(nil)
	for q, line := range j.Copies(of, from) {
		v, err := seal.Open(line)
		require.NoError(t, err)
		require.Equal(t, v.Seq(), q)
		copies = append(copies, string(line))
	}
	require.Equal(t, got, copies)
	return got
}

// A branch is read from the feed's beginning through the branches it left, and
// by no line of another.
func TestDescentOfEveryBranch(t *testing.T) {
	a := newAuthor(2)
	trunk := a.says(4, "trunk")
	b := a.twin()
	main := slices.Concat(trunk, a.says(3, "main"))
	left := b.says(3, "left")
	c := b.twin()
	fork := slices.Concat(trunk, left)
	left2, right2 := b.says(1, "left again"), c.says(2, "right again")
	fork, forkOfFork := slices.Concat(fork, left2), slices.Concat(fork, right2)

	l := newLaptop()
	j := l.open(t)
	_, err := j.Take(ctx, slices.Concat(main, left, left2, right2))
	require.NoError(t, err)
	for range 2 {
		require.ElementsMatch(t, []events.Ref{tip(main), tip(fork), tip(forkOfFork)}, j.Tips())
		for name, branch := range map[string][]seal.Verified{"main": main, "fork": fork, "fork of the fork": forkOfFork} {
			for from := range len(branch) + 2 {
				want := branch[min(max(from-1, 0), len(branch)):]
				require.Equal(t, texts(want), descent(t, j, tip(branch), events.Seq(from)), "%s from %d", name, from)
			}
			for _, v := range branch {
				require.True(t, j.Holds(v.Ref()), name)
			}
		}
		require.Equal(t, texts(main), descent(t, j, trunk[1].Ref(), 1), "a line of the trunk stands on the main branch")
		require.Equal(t, texts(fork), descent(t, j, left[0].Ref(), 1), "goes on past the line")
		require.NoError(t, j.Close())
		j = l.open(t)
	}
	require.Equal(t, main[5].Hash(), j.HashAt(a.Feed, 6))
	require.Zero(t, j.HashAt(a.Feed, 8))
	require.Zero(t, j.HashAt(newAuthor(9).Feed, 1))
}

func TestDescentLeavesHolesOut(t *testing.T) {
	l, a := newLaptop(), newAuthor(2)
	j := l.open(t)
	lines := a.says(6, "theirs")
	_, err := j.Take(ctx, lines[:2])
	require.NoError(t, err)
	_, err = j.TakeHole(ctx, a.Feed, lines[3].Head(), lines[4])
	require.NoError(t, err)
	require.False(t, j.Holds(lines[3].Ref()), "its hash is known, and it can't be read")
	require.False(t, j.Holds(lines[5].Ref()))
	require.Empty(t, descent(t, j, lines[3].Ref(), 1))
	require.Equal(t, append(texts(lines[:2]), texts(lines[4:5])...), descent(t, j, tip(lines[:5]), 1))
	require.Equal(t, texts(lines[4:5]), descent(t, j, tip(lines[:5]), 3))
	require.Equal(t, lines[3].Hash(), j.HashAt(a.Feed, 4))
	require.Zero(t, j.HashAt(a.Feed, 3), "nothing says its hash")
}

func tip(branch []seal.Verified) events.Ref { return branch[len(branch)-1].Ref() }
