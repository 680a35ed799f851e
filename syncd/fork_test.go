package syncd_test

import (
	"math/bits"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
)

// branches are a feed signed twice: a trunk of so many lines, and what follows
// it on either branch.
func branches(trunk, left, right int) (lefts, rights []seal.Verified) {
	a := journaltest.NewAuthor(11)
	var common []seal.Verified
	for _, say := range []func() seal.Verified{func() seal.Verified { return a.Start() }, func() seal.Verified { return a.Say(join(a)) }} {
		if len(common) < trunk {
			common = append(common, say())
		}
	}
	common = append(common, remarks(a, trunk-len(common), "trunk")...)
	b := a.Twin()
	if trunk < 2 { // the second line is a join all the same
		return slices.Concat(common, []seal.Verified{a.Say(join(a))}, remarks(a, left-1, "left")),
			slices.Concat(common, []seal.Verified{b.Note("first"), b.Say(join(b))}, remarks(b, right-2, "right"))
	}
	return slices.Concat(common, remarks(a, left, "left")), slices.Concat(common, remarks(b, right, "right"))
}

func TestForksEndUpOnBothSides(t *testing.T) {
	for name, n := range map[string][3]int{
		"late":                        {300, 3, 4},
		"early":                       {3, 200, 250},
		"in the middle":               {150, 150, 150},
		"from the first line":         {0, 150, 100},
		"right after it":              {1, 150, 100},
		"one line on a long one":      {100, 200, 1},
		"a long one on one line":      {100, 1, 200},
		"both of one line":            {2, 1, 1},
		"more than a reply can bring": {100, 700, 600},
	} {
		t.Run(name, func(t *testing.T) {
			left, right := branches(n[0], n[1], n[2])
			a, b := newMember(t, 1).holds(left), newMember(t, 2).holds(right)
			there, back := a.meets(b.peer()), b.meets(a.peer())
			require.Empty(t, slices.Concat(there.complaints, back.complaints))
			requireOne(t, a, b)
			require.True(t, b.x.Towards(a.key).Same)
			require.Zero(t, a.meets(b.peer()).requests+b.meets(a.peer()).requests)
			require.Len(t, a.log.Forks(), 1)

			most := 2*bits.Len(uint(n[0]+max(n[1], n[2]))) + there.bytes/50_000 + back.bytes/50_000 + 4
			require.LessOrEqual(t, there.requests+back.requests, most, "the place is found by steps that double")
			requireOvershoot(t, a, n[2])
			requireOvershoot(t, b, n[1])
		})
	}
}

// requireOvershoot says that looking for where a branch of so many lines leaves
// ours brought no more lines again than the branch has.
func requireOvershoot(t *testing.T, m *member, branch int) {
	t.Helper()
	again := 0
	for v := range m.log.All() {
		again += max(0, m.came[v.Ref()]-1)
	}
	require.LessOrEqual(t, again, branch)
}

// Three members each hold another branch; one branch left another late.
func TestAForkOfAFork(t *testing.T) {
	a, trunk := joined(1)
	trunk = append(trunk, remarks(a, 100, "trunk")...)
	b := a.Twin()
	mine := slices.Concat(trunk, remarks(a, 60, "mine"))
	second := remarks(b, 50, "second")
	c := b.Twin()
	theirs, third := slices.Concat(trunk, second, remarks(b, 30, "theirs")), slices.Concat(trunk, second, remarks(c, 45, "third"))
	x, y, z := newMember(t, 1).holds(mine), newMember(t, 2).holds(theirs), newMember(t, 3).holds(third)
	for _, pair := range [][2]*member{{x, y}, {y, z}, {z, y}, {x, z}, {y, x}, {z, x}} {
		w := pair[0].meets(pair[1].peer())
		require.Empty(t, w.complaints)
		require.Less(t, w.requests, 20)
	}
	requireOne(t, x, y, z)
	require.Len(t, z.log.Forks(), 2)
	require.Zero(t, x.meets(y.peer(), z.peer()).requests)
}

// Both branches grow on after both members hold both.
func TestForksGrowOn(t *testing.T) {
	author, trunk := joined(1)
	twin := author.Twin()
	left, right := remarks(author, 5, "left"), remarks(twin, 9, "right")
	a, b := newMember(t, 1).holds(trunk, left), newMember(t, 2).holds(trunk, right)
	a.meets(b.peer())
	b.meets(a.peer())
	b.holds(remarks(author, 40, "left"))
	a.holds(remarks(twin, 3, "right"))
	w, back := a.meets(b.peer()), b.meets(a.peer())
	require.Empty(t, slices.Concat(w.complaints, back.complaints))
	require.Equal(t, []int{40, 3}, []int{w.fresh, back.fresh})
	requireOne(t, a, b)
}

// A fork whose author's other feed is whole does not hold that up.
func TestAForkAmongOtherFeeds(t *testing.T) {
	left, right := branches(50, 30, 20)
	a, b := newMember(t, 1).holds(left, feed(5, 20)), newMember(t, 2).holds(right, feed(6, 30), feed(7, 30))
	a.pick = func(n int) int { return n - 1 }
	require.Empty(t, a.meets(b.peer()).complaints)
	require.Empty(t, b.meets(a.peer()).complaints)
	requireOne(t, a, b)
}
