package journaltest

import (
	"bytes"
	"context"
	"errors"
	"iter"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/seal"
)

// Store is what the contract asks of a keeper of sealed events.
type Store interface {
	Take(ctx context.Context, lines []seal.Verified) (journal.Taken, error)
	Heads() map[events.FeedID]events.Head
	Forks() []journal.Fork
	Lines(feed events.FeedID, from events.Seq) iter.Seq2[seal.Verified, error]
	All() iter.Seq2[seal.Verified, error]
}

// Fixture is an empty store for Site, and how to close it and open it again.
type Fixture struct {
	Store  Store
	Reopen func(t *testing.T) Store
}

// Run holds a store to the contract. open is called anew for every part of it.
func Run(t *testing.T, open func(t *testing.T) Fixture) {
	parts := map[string]func(*testing.T, Fixture){
		"gives back the bytes it took":                 givesBack,
		"knows what it has":                            knowsAgain,
		"takes a feed in any number of runs":           takesRuns,
		"refuses what leaves a gap, and nothing else":  refusesGaps,
		"keeps both branches of a fork":                keepsForks,
		"takes another signature for no fork":          ignoresSignatures,
		"refuses lines of another site":                refusesOtherSites,
		"keeps what it does not understand":            keepsUnknown,
		"yields feeds in the order of their bytes":     yieldsInOrder,
		"lets its reader stop":                         letsStop,
		"takes nothing once the context is cancelled":  heedsContext,
		"leaves a fork that continues on its own line": growsForks,
	}
	for name, part := range parts {
		t.Run(name, func(t *testing.T) { part(t, open(t)) })
	}
}

// Collect reads a sequence of lines to its end.
func Collect(t *testing.T, lines iter.Seq2[seal.Verified, error]) []seal.Verified {
	t.Helper()
	var out []seal.Verified
	for v, err := range lines {
		require.NoError(t, err)
		out = append(out, v)
	}
	return out
}

// Texts are the lines as text, which failures can show.
func Texts(lines []seal.Verified) []string {
	out := make([]string, len(lines))
	for i, v := range lines {
		out[i] = string(v.Line())
	}
	return out
}

func take(t *testing.T, s Store, lines []seal.Verified) journal.Taken {
	t.Helper()
	taken, err := s.Take(t.Context(), lines)
	require.NoError(t, err)
	return taken
}

func givesBack(t *testing.T, f Fixture) {
	lines := NewAuthor(1).Notes(5)
	taken := take(t, f.Store, lines)
	require.Equal(t, Texts(lines), Texts(taken.Fresh))
	for range 2 {
		feed := lines[0].Feed()
		require.Equal(t, Texts(lines), Texts(Collect(t, f.Store.Lines(feed, 1))))
		require.Equal(t, Texts(lines[2:]), Texts(Collect(t, f.Store.Lines(feed, 3))))
		require.Empty(t, Collect(t, f.Store.Lines(feed, 6)))
		require.Equal(t, map[events.FeedID]events.Head{feed: lines[4].Head()}, f.Store.Heads())
		f.Store = f.Reopen(t)
	}
}

func knowsAgain(t *testing.T, f Fixture) {
	lines := NewAuthor(1).Notes(4)
	take(t, f.Store, lines[:3])
	taken := take(t, f.Store, lines)
	require.Equal(t, 3, taken.Known)
	require.Equal(t, Texts(lines[3:]), Texts(taken.Fresh))
	require.Equal(t, Texts(lines), Texts(Collect(t, f.Store.All())))
}

func takesRuns(t *testing.T, f Fixture) {
	a, b := NewAuthor(1).Notes(6), NewAuthor(2).Notes(6)
	take(t, f.Store, []seal.Verified{a[0], b[0], a[1], b[1]})
	take(t, f.Store, a[2:3])
	take(t, f.Store, slices.Concat(b[1:5], a[3:]))
	take(t, f.Store, b[5:])
	s := f.Reopen(t)
	require.Equal(t, Texts(a), Texts(Collect(t, s.Lines(a[0].Feed(), 1))))
	require.Equal(t, Texts(b), Texts(Collect(t, s.Lines(b[0].Feed(), 1))))
}

func refusesGaps(t *testing.T, f Fixture) {
	a, b := NewAuthor(1).Notes(6), NewAuthor(2).Notes(2)
	take(t, f.Store, a[:2])
	taken, err := f.Store.Take(t.Context(), slices.Concat(a[3:], b))
	var gap *journal.Gap
	require.ErrorAs(t, err, &gap)
	require.Equal(t, journal.Gap{Feed: a[0].Feed(), Want: 3, Got: 4}, *gap)
	require.Equal(t, []*journal.Gap{gap}, taken.Gaps)
	require.Equal(t, Texts(b), Texts(taken.Fresh), "the other feed is taken all the same")
	require.Equal(t, a[1].Head(), f.Store.Heads()[a[0].Feed()])
}

func keepsForks(t *testing.T, f Fixture) {
	author := NewAuthor(1)
	trunk := author.Notes(3)
	twin := author.Twin()
	one, other := author.Note("went left"), twin.Note("went right")
	take(t, f.Store, append(trunk, one))
	taken := take(t, f.Store, []seal.Verified{other})
	want := journal.Fork{Feed: one.Feed(), Base: trunk[2].Hash(), First: other.Head(), Head: other.Head()}
	require.Equal(t, []journal.Fork{want}, taken.Forks)
	require.Equal(t, Texts([]seal.Verified{other}), Texts(taken.Fresh))
	for range 2 {
		require.Equal(t, []journal.Fork{want}, f.Store.Forks())
		require.Equal(t, one.Head(), f.Store.Heads()[one.Feed()], "the branch that came first stays the main one")
		require.Equal(t, Texts(append(slices.Clone(trunk), one, other)), Texts(Collect(t, f.Store.All())))
		require.Equal(t, 2, take(t, f.Store, []seal.Verified{one, other}).Known, "one fork, however often it is told")
		f.Store = f.Reopen(t)
	}
}

func growsForks(t *testing.T, f Fixture) {
	author := NewAuthor(1)
	trunk := author.Notes(2)
	twin := author.Twin()
	left := []seal.Verified{author.Note("left 3"), author.Note("left 4"), author.Note("left 5")}
	right := []seal.Verified{twin.Note("right 3"), twin.Note("right 4")}
	third := twin.Twin()
	right = append(right, twin.Note("right 5"))
	bough := third.Note("right, then up 5")
	take(t, f.Store, append(trunk, left...))
	_, err := f.Store.Take(t.Context(), right[2:])
	var gap *journal.Gap
	require.ErrorAs(t, err, &gap, "a line of a branch that is not connected yet")
	require.Less(t, gap.Want, right[2].Seq(), "earlier lines are wanted")
	take(t, f.Store, right)
	take(t, f.Store, []seal.Verified{bough})
	s := f.Reopen(t)
	heads := []events.Head{}
	for _, fork := range s.Forks() {
		heads = append(heads, fork.Head)
	}
	require.ElementsMatch(t, []events.Head{right[2].Head(), bough.Head()}, heads)
	require.Len(t, Collect(t, s.All()), 9)
}

func ignoresSignatures(t *testing.T, f Fixture) {
	lines := NewAuthor(1).Notes(3)
	take(t, f.Store, lines)
	taken := take(t, f.Store, Resigned(t, lines, 1))
	require.Equal(t, 3, taken.Known)
	require.Empty(t, taken.Fresh)
	require.Empty(t, f.Store.Forks())
	require.Equal(t, Texts(lines), Texts(Collect(t, f.Store.All())))
}

// Resigned is a run of lines in which one bears a signature that does not fit.
// The run is authentic all the same: a later line vouches for it.
func Resigned(t *testing.T, lines []seal.Verified, i int) []seal.Verified {
	t.Helper()
	raw := make([][]byte, len(lines))
	for k, v := range lines {
		raw[k] = bytes.Clone(v.Line())
	}
	c := &raw[i][len(raw[i])-40] // in the signature
	if *c != 'A' {
		*c = 'A'
	} else {
		*c = 'B'
	}
	run, err := seal.OpenRun(raw)
	require.NoError(t, err)
	require.Len(t, run, len(lines))
	return run
}

func refusesOtherSites(t *testing.T, f Fixture) {
	a := NewAuthor(1)
	a.Site = events.SiteID(strings.Repeat("a", len(a.Site)))
	_, err := f.Store.Take(t.Context(), a.Notes(1))
	require.ErrorIs(t, err, journal.ErrWrongSite)
	require.Empty(t, f.Store.Heads())
}

func keepsUnknown(t *testing.T, f Fixture) {
	a := NewAuthor(1)
	lines := append(a.Notes(1), a.SayRaw("device.sung", `{"song":"of the ballast"}`))
	e := lines[1].Event()
	require.False(t, e.Understood())
	take(t, f.Store, lines)
	require.Equal(t, Texts(lines), Texts(Collect(t, f.Reopen(t).All())))
}

func yieldsInOrder(t *testing.T, f Fixture) {
	var all []seal.Verified
	for seed := range uint64(6) {
		all = append(all, NewAuthor(seed).Notes(2)...)
	}
	take(t, f.Store, all)
	got := Collect(t, f.Store.All())
	require.Len(t, got, len(all))
	require.True(t, slices.IsSortedFunc(got, func(a, b seal.Verified) int { return a.Ref().Compare(b.Ref()) }))
}

func letsStop(t *testing.T, f Fixture) {
	take(t, f.Store, slices.Concat(NewAuthor(1).Notes(3), NewAuthor(2).Notes(3)))
	for n := range 6 {
		seen := 0
		for range f.Store.All() {
			if seen++; seen > n {
				break
			}
		}
		require.Equal(t, n+1, seen)
	}
}

func heedsContext(t *testing.T, f Fixture) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := f.Store.Take(ctx, NewAuthor(1).Notes(1))
	require.True(t, errors.Is(err, context.Canceled), err)
	require.Empty(t, f.Store.Heads())
}
