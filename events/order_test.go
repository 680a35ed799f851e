package events_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
)

func TestRecordOrder(t *testing.T) {
	for _, c := range []struct{ name, drawn, want string }{
		{"clocks decide where nothing was seen", "a1@5; b1@3; c1@4", "b1 c1 a1"},
		{"at the same tick, the feed's name decides", "c1@5; a1@5; b1@5", "a1 b1 c1"},
		{"a feed keeps its order, whatever its clock does", "a1@9; a2@1; a3@5", "a1 a2 a3"},
		{"what was seen comes first, though its clock is fast", "a1@100; b1@1 sees a1", "a1 b1"},
		{"a void by a slow clock comes after what it voids", "a1@50; a2@90; b1@2; b2@3 sees a2; c1@60", "b1 a1 c1 a2 b2"},
		{"seeing is passed on", "a1@50; b1@1 sees a1; c1@1 sees b1; d1@51", "a1 b1 c1 d1"},
		{"a fast clock moves all who saw it, and nobody else", "a1@1000; b1@1; b2@2 sees a1; b3@3; c1@4", "b1 c1 a1 b2 b3"},
		{"seeing an event is seeing all before it", "a1@9; a2@1; b1@1 sees a2", "a1 a2 b1"},
		{"a head not here counts as the newest line before it", "a1@9; b1@1 sees a3", "a1 b1"},
		{"of a feed not here at all, nothing is known", "b1@1 sees z9; a1@2", "b1 a1"},
		{"a head not here is no later line", "a5@9; b1@1 sees a3", "b1 a5"},
		{"a gap in a feed keeps its order", "a1@9; a4@1", "a1 a4"},
		{"both branches of a fork follow its stem", "a1@9; a2@1; a2'@1", "a1 a2 a2'"}, // a tie, which their hashes decide
		{"who saw one branch need not follow the other", "a1@1; a2@2; a2'@80; b1@3 sees a2", "a1 a2 b1 a2'"},
		{"who saw the fast branch follows it", "a1@1; a2@2; a2'@80; b1@3 sees a2'", "a1 a2 a2' b1"},
		{"a branch goes on from itself", "a1@1; a2@2; a2'@80; a3@3; a3'@4", "a1 a2 a3 a2' a3'"},
		{"own feed among the heads is no news", "a1@1; a2@2 sees a2", "a1 a2"},
	} {
		t.Run(c.name, func(t *testing.T) { require.Equal(t, c.want, inOrder(tell(t, c.drawn).sorted())) })
	}
}

// A feed that forks and lacks a line has as many lines as if neither were so. Each of
// them is found all the same.
func TestLinesOfAForkWithAGapAreFound(t *testing.T) {
	var r events.Ranks
	for _, e := range tell(t, "a1@1; a3@2; a3'@3") {
		r.Add(e)
	}
	for _, e := range r.Ordered() {
		n, found := r.Number(e)
		require.True(t, found)
		require.Same(t, e, r.Event(n))
	}
}

// Only a lie or a fork half known makes a circle: here a1 claims to have seen a
// line of b that is not here, so that the newest before it stands in, which saw
// a1. Whoever really saw another still comes after it.
func TestCirclesOfGuesses(t *testing.T) {
	for _, c := range []struct{ name, drawn, want string }{
		{"a lie about a line to come", "a1@5 sees b9; b1@1 sees a1", "a1 b1"},
		{"the same, told by the other feed", "b1@5 sees a9; a1@1 sees b1", "b1 a1"},
		{"two lies about each other", "a1@5 sees b9; b1@1 sees a9; c1@9 sees a1", "a1 b1 c1"},
		{"a fork half known", "a1@1; a2@2 sees b1; b1@3 sees a3'", "a1 b1 a2"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := tell(t, c.drawn)
			requireCausal(t, h.sorted())
			require.Equal(t, c.want, inOrder(h.sorted()))
		})
	}
}

// Two lines that name each other need a broken hash. Even then every line has a
// place, and the same one whatever came first.
func TestCirclesOfNamedLinesEnd(t *testing.T) {
	h := tell(t, "a1@5 sees b1; b1@1 sees c1; c1@2 sees a1; d1@0 sees c1; e1@9")
	want := inOrder(h.sorted())
	require.Equal(t, "a1 c1 b1 d1 e1", want, "d1, outside the circle, still comes after what it saw")
	for range 50 {
		all := h.sorted()
		rand.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
		require.Equal(t, want, inOrder(all))
	}
}

// Of two lines that share a short hash the same one is followed, whichever came first.
func TestLinesOfOneShortHash(t *testing.T) {
	h := tell(t, "a1; a2; a2'; a3")
	h["a2'"].Hash = h["a2"].Hash
	h["a2'"].Hash[31]++
	for _, name := range []string{"a2", "a2'"} {
		h["a3"].Prev = h[name].Hash
		follows := map[string]bool{}
		for _, order := range [][]string{{"a1", "a2", "a2'", "a3"}, {"a1", "a2'", "a2", "a3"}, {"a2'", "a1", "a3", "a2"}} {
			var r events.Ranks
			for _, n := range order {
				r.Add(h[n])
			}
			r.Order()
			follows[naming(r.Before(h["a3"]))] = true
		}
		require.Len(t, follows, 1)
	}
}

// honest draws a history in which everybody tells the truth, by clocks that may
// be anything, with some events not (yet) here.
var honest = rapid.Custom(func(t *rapid.T) history {
	var text []string
	heads := map[byte]int{}
	for range rapid.IntRange(1, 16).Draw(t, "length") {
		feed := rapid.SampledFrom([]byte("abcd")).Draw(t, "feed")
		var seen []string
		for other, n := range heads {
			if other != feed && rapid.Bool().Draw(t, "sees "+string(other)) {
				seen = append(seen, fmt.Sprintf("%c%d", other, n))
			}
		}
		heads[feed]++
		item := fmt.Sprintf("%c%d@%d", feed, heads[feed], rapid.IntRange(0, 9).Draw(t, "clock"))
		if len(seen) > 0 {
			item += " sees " + strings.Join(seen, " ")
		}
		if rapid.IntRange(0, 4).Draw(t, "here") > 0 {
			text = append(text, item)
		}
	}
	if len(text) == 0 {
		return history{}
	}
	return tell(t, strings.Join(text, "; "))
})

// hostile draws forks, gaps and claims to have seen what is not here. A named
// line is always an earlier one: nobody can know the hash of a line to come.
var hostile = rapid.Custom(func(t *rapid.T) history {
	var text, told []string
	for range rapid.IntRange(1, 16).Draw(t, "length") {
		name := fmt.Sprintf("%c%d%s", rapid.SampledFrom([]byte("abc")).Draw(t, "feed"), rapid.IntRange(1, 4).Draw(t, "seq"),
			strings.Repeat("'", rapid.IntRange(0, 1).Draw(t, "branch")))
		if slices.Contains(told, name) {
			continue
		}
		item := fmt.Sprintf("%s@%d", name, rapid.IntRange(0, 9).Draw(t, "clock"))
		lie := fmt.Sprintf("%c%d''", rapid.SampledFrom([]byte("abc")).Draw(t, "of"), rapid.IntRange(2, 9).Draw(t, "lie"))
		if heads := append(rapid.SliceOfN(rapid.SampledFrom(append(told, lie)), 0, 3).Draw(t, "sees"), lie); len(heads) > 0 {
			item += " sees " + strings.Join(heads, " ")
		}
		told, text = append(told, name), append(text, item)
	}
	h := tell(t, strings.Join(text, "; "))
	for _, e := range h { // a line can't follow one that was told later
		at := slices.Index(told, e.By())
		if prev := slices.IndexFunc(told, func(n string) bool { return events.HashOf([]byte(n)) == e.Prev }); prev > at {
			e.Prev = events.HashOf([]byte("gone"))
		}
	}
	return h
})

func TestRanksAgreeWithTheOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := honest.Draw(t, "history").sorted()
		o := oracle{all, map[*events.Event]events.Rank{}}
		var r events.Ranks
		r.Add(all...)
		for _, e := range all {
			require.Equal(t, o.rank(e), r.Rank(e), e.By())
		}
		require.Equal(t, naming(o.ordered()), naming(r.Ordered()))
	})
}

func TestArrivalOrderDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := rapid.OneOf(honest, hostile).Draw(t, "history").sorted()
		want := inOrder(all)
		var r events.Ranks
		for _, e := range rapid.Permutation(all).Draw(t, "arrival") {
			r.Add(e)
			if rapid.Bool().Draw(t, "asked meanwhile") {
				r.Ordered()
			}
		}
		r.Add(all...) // a second time is no error
		require.Equal(t, want, naming(r.Ordered()))
	})
}

func TestCausalityBeatsClocksAndLies(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		requireCausal(t, rapid.OneOf(honest, hostile).Draw(t, "history").sorted())
	})
}

// requireCausal asks that every event comes after those it names by their hash.
func requireCausal(t require.TestingT, all []*events.Event) {
	var r events.Ranks
	r.Add(all...)
	place := map[events.Ref]int{}
	for i, e := range r.Ordered() {
		place[e.Ref()] = i
	}
	for _, e := range all {
		refs := append([]events.Ref{{Feed: e.Feed, Seq: e.Seq - 1, Hash: e.Prev.Short()}}, e.Seen...)
		for _, ref := range refs {
			if at, here := place[ref]; here && ref.Feed != e.Feed {
				require.Less(t, at, place[e.Ref()], "%s after %s", e.By(), ref)
			}
		}
	}
}

// The longest chain there can be is the whole history: two people who answer
// each other for years.
func TestAVeryLongChain(t *testing.T) {
	const n = 50_000
	all := make([]*events.Event, 0, 2*n)
	var last events.Ref
	for i := range 2 * n {
		e := &events.Event{
			Header:  events.Header{Origin: &events.Origin{Feed: events.FeedID([]string{"a", "b"}[i%2])}, Seq: events.Seq(i/2 + 1)},
			Hash:    events.HashOf(fmt.Append(nil, i)),
			Payload: events.HubReady{Hub: "H2"},
		}
		if i > 0 {
			e.Seen = []events.Ref{last}
		}
		if i > 1 {
			e.Prev = all[i-2].Hash
		}
		last = e.Ref()
		all = append(all, e)
	}
	var r events.Ranks
	r.Add(all...)
	require.Equal(t, events.Rank{C: 2*n - 1}, r.Rank(all[2*n-1]))
	require.Equal(t, all, r.Ordered())
}

func TestRanksOfNothing(t *testing.T) {
	var r events.Ranks
	require.Empty(t, r.Ordered())
	stranger := tell(t, "a1@5")["a1"]
	require.Zero(t, r.Rank(stranger))
	_, found := r.Find(stranger.Ref())
	require.False(t, found)
	require.Empty(t, r.Before(stranger))
}

func TestBeforeAndFind(t *testing.T) {
	h := tell(t, "a1; a2; a2'; a3'; b1 sees a2 z1; c1 sees a9")
	var r events.Ranks
	r.Add(h.sorted()...)
	require.Equal(t, "a1", naming(r.Before(h["a2'"])))
	require.Equal(t, "a2'", naming(r.Before(h["a3'"])))
	require.Equal(t, "a2", naming(r.Before(h["b1"])))
	require.Equal(t, "a3'", naming(r.Before(h["c1"])), "the newest line before the one not here")
	found, ok := r.Find(named(t, "a2'"))
	require.True(t, ok)
	require.Same(t, h["a2'"], found)
	_, ok = r.Find(named(t, "a2''"))
	require.False(t, ok, "a third branch nobody has")
}
