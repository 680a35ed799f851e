package simtest_test

import (
	"flag"
	"fmt"
	"runtime/debug"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/syncd/simtest"
)

var (
	howMany = flag.Int("seeds", seeds, "how many worlds to live through")
	from    = flag.Uint64("from", 0, "the seed of the first world")
	only    = flag.Int64("seed", -1, "live through the world of this one seed, and tell its story")
)

// TestSeeds lives through many worlds. See the package documentation for what is
// promised in each.
func TestSeeds(t *testing.T) {
	if *only >= 0 {
		r, err := simtest.Run(t.Context(), uint64(*only))
		t.Log("\n" + strings.Join(r.Story, "\n"))
		require.NoError(t, err)
		return
	}
	defer debug.SetGCPercent(debug.SetGCPercent(400)) // many small worlds, each soon forgotten
	var all totals
	for seed := *from; seed < *from+uint64(*howMany); seed++ {
		r, err := simtest.Run(t.Context(), seed)
		require.NoError(t, err, "live through it again with: go test ./syncd/simtest -run TestSeeds -v -seed %d", seed)
		require.Positive(t, r.Injected.Sum(), "seed %d injected nothing", seed)
		all.add(r)
	}
	t.Log("\n" + all.table())
	if *howMany >= 100 {
		for _, f := range simtest.Faults {
			require.Positive(t, all.injected[f], "no seed injected a %s", f)
		}
		require.Positive(t, all.ready, "nobody was ever told that push may go")
		require.Positive(t, all.unheard, "nobody ever knew of something that others had to ask for")
		require.Positive(t, all.forks, "no feed ever forked")
		require.Greater(t, all.fetched, all.photos, "photos did not go to everybody")
	}
}

// totals is what all seeds came to.
type totals struct {
	worlds, members, entries, messages, judged, ready, unheard, forks, healing, photos, fetched int
	injected, in                                                                                simtest.Tally
}

func (a *totals) add(r simtest.Report) {
	if a.injected == nil {
		a.injected, a.in = simtest.Tally{}, simtest.Tally{}
	}
	a.worlds++
	a.members += r.Members
	a.entries += r.Entries
	a.messages += r.Messages
	a.judged += r.Judged
	a.ready += r.Ready
	a.unheard += r.Unheard
	a.forks += r.Forks
	a.photos += r.Photos
	a.fetched += r.Fetched
	a.healing = max(a.healing, r.Healing)
	for f, n := range r.Injected {
		a.injected[f] += n
		a.in[f]++
	}
}

func (a *totals) table() string {
	var b strings.Builder
	row := func(what string, n, in int) { fmt.Fprintf(&b, "%-16s %8d in %4d worlds\n", what, n, in) }
	row("members", a.members, a.worlds)
	row("entries", a.entries, a.worlds)
	row("messages", a.messages, a.worlds)
	row("judgements", a.judged, a.worlds)
	row("push may go", a.ready, a.worlds)
	row("to be named", a.unheard, a.worlds)
	row("forked entries", a.forks, a.worlds)
	row("photos", a.photos, a.worlds)
	row("photos fetched", a.fetched, a.worlds)
	for _, f := range simtest.Faults {
		row(string(f), a.injected[f], a.in[f])
	}
	fmt.Fprintf(&b, "the longest healing took %d messages\n", a.healing)
	return b.String()
}

// TestOneSeedOneWorld: whoever is told a seed sees what the teller saw.
func TestOneSeedOneWorld(t *testing.T) {
	for seed := range uint64(3) {
		a, err := simtest.Run(t.Context(), seed)
		require.NoError(t, err)
		b, err := simtest.Run(t.Context(), seed)
		require.NoError(t, err)
		require.Equal(t, strings.Join(a.Story, "\n"), strings.Join(b.Story, "\n"))
		require.Equal(t, a, b)
		other, err := simtest.Run(t.Context(), seed+5)
		require.NoError(t, err)
		require.NotEqual(t, a.Story, other.Story)
	}
}
