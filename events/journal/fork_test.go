package journal_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/seal"
)

// A fork can't be forged by altering only a signature's encoding: the hash is
// over what was signed. The signature here is valid, and another.
func TestAnotherValidSignatureIsNoFork(t *testing.T) {
	l, a := newLaptop(), newAuthor(2)
	j := l.open(t)
	lines := a.says(3, "theirs")
	_, err := j.Take(ctx, lines)
	require.NoError(t, err)
	again := a.resign(lines[1])
	require.NotEqual(t, string(lines[1].Line()), string(again.Line()))
	taken, err := j.Take(ctx, []seal.Verified{again})
	require.NoError(t, err)
	require.Equal(t, journal.Taken{Known: 1}, taken)
	require.Empty(t, j.Forks())
	requireLines(t, j, lines)
}

// A real fork is one conflict on both sides, whichever branch each had first.
func TestBothSidesOfAForkKeepBothBranches(t *testing.T) {
	a := newAuthor(2)
	trunk := a.says(2, "trunk")
	b := a.twin()
	left, right := a.says(3, "left"), b.says(2, "right")
	sides := map[string][2][]seal.Verified{"left first": {left, right}, "right first": {right, left}}
	for name, side := range sides {
		t.Run(name, func(t *testing.T) {
			l := newLaptop()
			j := l.open(t)
			first, second := side[0], side[1]
			_, err := j.Take(ctx, slices.Concat(trunk, first))
			require.NoError(t, err)
			taken, err := j.Take(ctx, slices.Concat(second, second))
			require.NoError(t, err)
			fork := journal.Fork{Feed: a.Feed, Base: trunk[1].Hash(), First: second[0].Head(), Head: second[len(second)-1].Head()}
			require.Equal(t, []journal.Fork{fork}, taken.Forks)
			require.Equal(t, len(second), taken.Known)
			require.NoError(t, j.Close())
			for range 2 {
				j = l.open(t)
				require.Empty(t, j.Problems())
				require.Equal(t, []journal.Fork{fork}, j.Forks())
				requireLines(t, j, slices.Concat(trunk, first))
				require.Equal(t, texts(second), texts(have(t, j.Branch(fork))))
				require.NoError(t, j.Close())
			}
			require.Contains(t, l.site.Files(), forkFile(second[0]))
		})
	}
}

func TestAForkFromTheFirstLine(t *testing.T) {
	j := newLaptop().open(t)
	one, other := newAuthor(2).says(2, "one"), newAuthor(2).says(2, "other")
	for _, lines := range [][]seal.Verified{one, other} {
		_, err := j.Take(ctx, lines)
		require.NoError(t, err)
	}
	require.Len(t, j.Forks(), 1)
	require.Zero(t, j.Forks()[0].Base)
	require.Equal(t, texts(other), texts(have(t, j.Branch(j.Forks()[0]))))
}

// Who has only the other branch sends from our head on. Earlier lines are asked
// for until one connects, in few steps.
func TestAForkOfferedFromItsMiddle(t *testing.T) {
	a := newAuthor(2)
	trunk := a.says(2, "trunk")
	b := a.twin()
	ours, theirs := slices.Concat(trunk, a.says(7, "ours")), slices.Concat(trunk, b.says(9, "theirs"))
	j := newLaptop().open(t)
	_, err := j.Take(ctx, ours)
	require.NoError(t, err)
	from := events.Seq(10)
	for range 2 {
		_, err = j.Take(ctx, theirs[from-1:])
		var gap *journal.Gap
		require.ErrorAs(t, err, &gap)
		require.Less(t, gap.Want, from)
		from = gap.Want
	}
	_, err = j.Take(ctx, theirs[from-1:])
	require.NoError(t, err)
	require.Equal(t, theirs[1].Hash(), j.Forks()[0].Base)
	require.Equal(t, texts(theirs[2:]), texts(have(t, j.Branch(j.Forks()[0]))))
	requireLines(t, j, ours)
}

// The place of a damaged line whose hash nothing tells goes to the first line
// that claims it. When the line after it says otherwise, that one becomes the
// fork it is.
func TestADamagedPlaceClaimedByAFork(t *testing.T) {
	a := newAuthor(2)
	lines := a.says(2, "theirs")
	b := a.twin()
	lines, twin := append(lines, a.says(3, "theirs")...), b.says(1, "twin's")
	l := newLaptop()
	j := l.open(t)
	_, err := j.Take(ctx, lines)
	require.NoError(t, err)
	require.NoError(t, j.Close())
	for _, n := range []int{2, 3} { // events 3 and 4: nothing tells the hash of 3
		change(t, l.site, feedFile(string(a.Feed)), flip(startOf(lines, n)+300, 1))
	}
	l.minutes = 30
	j = l.open(t)
	require.Equal(t, []events.Head{{Seq: 3}, lines[3].Head()}, j.Holes()[a.Feed])
	_, err = j.Take(ctx, twin)
	require.NoError(t, err)
	require.Empty(t, j.Forks())
	requireReceipt(t, j, twin[0], 32, monday) // not when the damaged line came
	_, err = j.Take(ctx, lines[3:4])
	require.NoError(t, err)
	require.Equal(t, []events.Head{lines[2].Head()}, j.Holes()[a.Feed])
	_, err = j.Take(ctx, lines[2:3])
	require.NoError(t, err)
	require.NoError(t, j.Close())
	j = l.open(t)
	require.Empty(t, j.Problems())
	requireLines(t, j, lines)
	require.Len(t, j.Forks(), 1)
	require.Equal(t, texts(twin), texts(have(t, j.Branch(j.Forks()[0]))))
}

// startOf is the offset of a line in the file of a whole feed.
func startOf(lines []seal.Verified, n int) int {
	at := 0
	for _, v := range lines[:n] {
		at += len(v.Line()) + 1
	}
	return at
}

// Lines whose way back is not known yet are put after the main branch. Where it
// turns out that they belong to the other one, every line is told once, each branch
// has one newest line, and what was held counts as known.
func TestHolesThatWereTheOtherBranchs(t *testing.T) {
	a := newAuthor(2)
	trunk := a.says(2, "trunk")
	b := a.twin()
	left, right := a.says(2, "left"), b.says(6, "right")
	l := newLaptop()
	j := l.open(t)
	_, err := j.Take(ctx, slices.Concat(trunk, left, right[:4]))
	require.NoError(t, err)
	_, err = j.TakeHole(ctx, a.Feed, right[4].Head(), right[5])
	require.NoError(t, err)
	for _, v := range slices.Backward(right[:5]) {
		taken, err := j.Take(ctx, []seal.Verified{v})
		require.NoError(t, err)
		fresh := 0
		if v.Seq() == right[4].Seq() {
			fresh = 1
		}
		require.Len(t, taken.Fresh, fresh, "line %d", v.Seq())
	}
	for range 2 {
		require.Empty(t, j.Holes())
		require.ElementsMatch(t, []events.Ref{left[1].Ref(), right[5].Ref()}, j.Tips())
		all := texts(have(t, j.All()))
		require.ElementsMatch(t, texts(slices.Concat(trunk, left, right)), all)
		require.NoError(t, j.Close())
		j = l.open(t)
	}
}
