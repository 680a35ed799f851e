package syncd_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
)

// drawBranches are the branches of one feed whose author signed some places more
// than once: the first has a join, each other leaves an earlier one somewhere.
func drawBranches(t *rapid.T, seed uint64) [][]seal.Verified {
	a := journaltest.NewAuthor(10 + seed)
	first := []seal.Verified{a.Start(), a.Say(join(a))}
	out := [][]seal.Verified{append(first, remarks(a, rapid.IntRange(0, 9).Draw(t, "lines"), "first")...)}
	for i := range rapid.SampledFrom([]int{0, 0, 1, 2, 3}).Draw(t, "forks") {
		base := rapid.SampledFrom(out).Draw(t, "leaves")
		at := rapid.IntRange(2, len(base)).Draw(t, "at")
		b := journaltest.NewAuthor(10+seed).Resume(base[0].Feed(), base[at-1].Head())
		out = append(out, slices.Concat(base[:at], remarks(b, rapid.IntRange(1, 9).Draw(t, "lines"), fmt.Sprint("branch ", i))))
	}
	return out
}

// drawHeld is how much of a branch a member holds, and what it lacks below.
func drawHeld(t *rapid.T, branch []seal.Verified, holes bool) ([]seal.Verified, []events.Seq) {
	n := rapid.IntRange(2, len(branch)).Draw(t, "holds")
	if !holes || n < 4 {
		return branch[:n], nil
	}
	var lacks []events.Seq
	for range rapid.IntRange(0, 5).Draw(t, "holes") {
		lacks = append(lacks, events.Seq(rapid.IntRange(3, n-1).Draw(t, "hole")))
	}
	return branch[:n], lacks
}

// shareOut lets members hold any parts of a branch, and says what all together
// hold of it and what none does.
func shareOut(t *rapid.T, members []*member, branch []seal.Verified, holes bool) (reach int, missing []events.Seq) {
	held := map[events.Seq]bool{}
	for _, m := range members {
		if !rapid.Bool().Draw(t, "has this branch") {
			continue
		}
		lines, lacks := drawHeld(t, branch, holes)
		m.lacks(lines, lacks...)
		reach = max(reach, len(lines))
		for _, v := range lines {
			held[v.Seq()] = held[v.Seq()] || !slices.Contains(lacks, v.Seq())
		}
	}
	for _, v := range branch[:reach] {
		if !held[v.Seq()] {
			missing = append(missing, v.Seq())
		}
	}
	return reach, missing
}

// Three members hold any parts of any branches of two feeds, with any holes. They
// meet until nobody asks anything: then each holds what any held, and nobody was
// complained of.
func TestAnyLogsBecomeOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		members := []*member{newMember(t, 1), newMember(t, 2), newMember(t, 3)}
		holes := rapid.Bool().Draw(t, "with holes")
		all := newMember(t, 9)
		for seed := range uint64(2) {
			branches := drawBranches(t, seed)
			for _, branch := range branches {
				reach, missing := shareOut(t, members, branch, holes && len(branches) == 1)
				all.lacks(branch[:reach], missing...)
			}
		}
		requests := 0
		for asked, round := 1, 0; asked > 0; round++ {
			asked = 0
			for i, m := range members {
				w := m.meets(members[(i+1)%3].peer(), members[(i+2)%3].peer())
				require.Empty(t, w.complaints)
				asked += w.requests
			}
			requests += asked
			require.Less(t, round, 40, "meetings without end")
		}
		require.Less(t, requests, 300)
		requireAll(t, members, all)
	})
}

// requireAll says that members hold every branch, and every line that anybody
// held but those whose place is not known: neither their hash nor the one before.
func requireAll(t *rapid.T, members []*member, all *member) {
	for _, m := range members {
		require.True(t, all.have().Same(m.have()))
		for v := range all.log.All() {
			known := func(seq events.Seq) bool { return seq == 0 || m.log.HashAt(v.Feed(), seq) != (events.Hash{}) }
			if known(v.Seq()) || known(v.Seq()-1) {
				require.True(t, m.log.Holds(v.Ref()), "line %d", v.Seq())
			}
		}
		require.GreaterOrEqual(t, len(texts(all)), len(texts(m)))
	}
}
