package syncd_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/seal"
	"pairwalk/syncd"
)

func stretch(from, to events.Seq) []events.Seq {
	var out []events.Seq
	for seq := from; seq <= to; seq++ {
		out = append(out, seq)
	}
	return out
}

// What a peer lacks is left out; the rest flows on, and the place is mended by
// whoever has the line.
func TestHolesOfAPeerAreBridgedAndMendedByAnother(t *testing.T) {
	lines := feed(1, 120)
	for name, holes := range map[string][]events.Seq{
		"one line":           {50},
		"two apart":          {50, 60},
		"two together":       {50, 51},
		"a long stretch":     stretch(20, 90),
		"right after a join": {3},
		"the first line":     {1},
		"the last but one":   {119},
		"every other line":   {4, 6, 8, 10, 12},
	} {
		t.Run(name, func(t *testing.T) {
			a, b, whole := newMember(t, 1), newMember(t, 2).lacks(lines, holes...), newMember(t, 3).holds(lines)
			w := a.meets(b.peer())
			require.Empty(t, w.complaints)
			require.Equal(t, 120-len(holes), w.fresh)
			requireOne(t, a, b)
			require.Equal(t, b.log.Holes(), a.log.Holes())
			require.Zero(t, a.meets(b.peer()).requests, "both lack it: nothing to be had")

			for range holes { // a stretch in every round
				require.Empty(t, a.meets(whole.peer()).complaints)
			}
			requireOne(t, a, whole)
			require.Empty(t, a.log.Holes())
			requireOnce(t, a)
		})
	}
}

// Each mends the other, at the same places of which neither knew the hash.
func TestHolesAreMendedBothWays(t *testing.T) {
	lines := feed(1, 40)
	a, b := newMember(t, 1).lacks(lines, 10, 11, 20), newMember(t, 2).lacks(lines, 11, 12, 30)
	require.Zero(t, a.log.HashAt(lines[0].Feed(), 10), "nothing tells what it was")
	for range 3 {
		require.Empty(t, a.meets(b.peer()).complaints)
		require.Empty(t, b.meets(a.peer()).complaints)
	}
	requireOne(t, a, b)
	missing := []events.Head{lines[10].Head()}
	require.Equal(t, missing, a.log.Holes()[lines[0].Feed()])
	require.Equal(t, missing, b.log.Holes()[lines[0].Feed()])
	require.Zero(t, a.meets(b.peer()).requests+b.meets(a.peer()).requests)
}

// Newer lines are had from a peer that lacks what is missing here too.
func TestLinesPastAHole(t *testing.T) {
	lines := feed(1, 40)
	a, b := newMember(t, 1).lacks(lines[:20], 10), newMember(t, 2).lacks(lines, 10, 25)
	require.Equal(t, 19, a.meets(b.peer()).fresh)
	requireOne(t, a, b)
}

// A peer that claims to have what is missing here and never sends it is asked
// once for each of its haves.
func TestAPeerThatNeverMends(t *testing.T) {
	lines := feed(1, 40)
	a, b := newMember(t, 1).lacks(lines, 10), newMember(t, 2).lacks(lines, 10)
	liar := b.peer()
	liar.have = func() []byte { return syncd.Have{Tips: b.have().Tips}.Encode() }
	for range 5 {
		require.Equal(t, 1, a.meets(liar).requests)
	}
}

// A hole is mended from the branch it is on, whichever branch of the peer is the
// longer one, and whatever it claims besides.
func TestAHoleOnOneBranch(t *testing.T) {
	left, right := branches(20, 60, 30)
	far := events.Ref{Feed: left[0].Feed(), Seq: 1 << 50, Hash: events.Hash8{7}}
	for name, at := range map[string][]events.Seq{
		"in the trunk":          {10},
		"past the fork":         {35},
		"two together":          {35, 36},
		"right before the fork": {20},
		"across it":             {20, 21},
	} {
		for _, first := range [][]seal.Verified{left, right} {
			t.Run(name, func(t *testing.T) {
				a, b := newMember(t, 1).lacks(first, at...), newMember(t, 2).holds(left, right)
				require.Empty(t, a.meets(b.peer()).complaints)
				boaster := claims(b, far, truth)
				for range 4 {
					a.meets(boaster)
				}
				require.Empty(t, a.log.Holes())
				requireOne(t, a, b)
			})
		}
	}
}

// Of a stretch missing here a peer fills what it has and can be put in its place;
// what is past another hole waits for whoever has that.
func TestAStretchMendedInPart(t *testing.T) {
	lines := feed(1, 40)
	numbers := func(m *member) (out []events.Seq) {
		for _, hole := range m.log.Holes()[lines[0].Feed()] {
			out = append(out, hole.Seq)
		}
		return out
	}
	for name, row := range map[string]struct{ peer, left []events.Seq }{
		"it lacks the first":          {[]events.Seq{10}, []events.Seq{10}},
		"it lacks the last":           {[]events.Seq{19}, []events.Seq{19}},
		"it lacks one in the middle":  {[]events.Seq{13}, []events.Seq{13}},
		"it lacks two":                {[]events.Seq{13, 16}, []events.Seq{13, 14, 15, 16}},
		"it lacks all but the middle": {[]events.Seq{10, 11, 18, 19}, stretch(10, 19)},
	} {
		t.Run(name, func(t *testing.T) {
			a, b, whole := newMember(t, 1).lacks(lines, stretch(10, 19)...), newMember(t, 2).lacks(lines, row.peer...), newMember(t, 3).holds(lines)
			for range 10 {
				require.Empty(t, a.meets(b.peer()).complaints)
			}
			require.Equal(t, row.left, numbers(a))
			require.Zero(t, a.meets(b.peer()).requests, "the rest is not asked for in vain")
			for range 3 {
				require.Empty(t, a.meets(whole.peer()).complaints)
			}
			require.Empty(t, numbers(a))
			requireOnce(t, a)
		})
	}
}

// A line between two that are missing here can't be kept, however authentic it is.
// It is not asked for before a line next to it is here; and who sends it all the
// same, since it has lost a line meanwhile, is not blamed.
func TestALineWithNoPlaceYet(t *testing.T) {
	lines := feed(1, 20)
	for name, tell := range map[string]func(b *member) syncd.Have{
		"it says what it lacks":   func(b *member) syncd.Have { return b.have() },
		"it lost the line before": func(b *member) syncd.Have { return syncd.Have{Tips: b.have().Tips} },
	} {
		t.Run(name, func(t *testing.T) {
			a, b, whole := newMember(t, 1).lacks(lines, stretch(10, 18)...), newMember(t, 2).lacks(lines[:15], 14), newMember(t, 3).holds(lines)
			p := b.peer()
			p.have = func() []byte { return tell(b).Encode() }
			for range 5 {
				w := a.meets(p)
				require.Empty(t, w.complaints)
				require.LessOrEqual(t, w.requests, 3)
			}
			require.True(t, a.log.Holds(lines[12].Ref()), "what is before it can")
			require.False(t, a.log.Holds(lines[14].Ref()))
			if name == "it says what it lacks" {
				require.Zero(t, a.meets(p).requests)
			}
			require.Empty(t, a.meets(whole.peer()).complaints)
			requireOne(t, a, whole)
		})
	}
}

// The newest line of a peer is missing here: it is had by itself where it does not
// follow what is here, and so is what leads back from it.
func TestATipThatIsMissingHere(t *testing.T) {
	lines := feed(1, 20)
	a, b := newMember(t, 1).lacks(lines, stretch(10, 15)...), newMember(t, 2).lacks(lines[:15], 11)
	for range 5 {
		require.Empty(t, a.meets(b.peer()).complaints)
	}
	require.Equal(t, []events.Head{lines[10].Head()}, a.log.Holes()[lines[0].Feed()])
	require.Zero(t, a.meets(b.peer()).requests)
	requireOnce(t, a)
}

// No hash is not the hash of a line of which none is known.
func TestATipWithoutAHash(t *testing.T) {
	lines := feed(1, 20)
	a, b := newMember(t, 1).lacks(lines, 10, 11), newMember(t, 2).lacks(lines, 10, 11)
	w := a.meets(claims(b, events.Ref{Feed: lines[0].Feed(), Seq: 10}, truth))
	require.Equal(t, []string{"says it holds entries that it does not hand over"}, w.complaints)
}
