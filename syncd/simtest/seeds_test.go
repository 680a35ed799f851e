package simtest_test

import (
	"context"
	"flag"
	"fmt"
	"runtime/debug"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/syncd/simtest"
)

var (
	howMany = flag.Uint64("seeds", seeds, "how many worlds to live through")
	from    = flag.Uint64("from", 0, "the seed of the first world")
	only    = flag.Int64("seed", -1, "live through the world of this one seed, and tell its story")
	without = flag.String("without", "", "numbers of what is left out of it, such as 3,7,12..40")
	until   = flag.String("until", "", "go on after a failure, until this promise is broken")
	tries   = flag.Int("tries", 400, "how many runs a failing one may take to be cut down")
)

// sampled is why a test is passed over under the race detector.
const sampled = "the race detector makes signatures slow, and sees a sample of worlds in TestSeeds: it has nothing to add here"

// TestSeeds lives through many worlds. See the package documentation for what is
// promised in each.
func TestSeeds(t *testing.T) {
	defer debug.SetGCPercent(debug.SetGCPercent(400)) // many small worlds, each soon forgotten
	switch {
	case *only < 0 && *without != "":
		t.Fatal("-without leaves something out of one world: say which with -seed")
	case *only >= 0:
		again(t)
	case *soak > 0:
		soaks(t)
	default:
		many(t)
	}
}

// again lives through one world, or what a plan leaves of it.
func again(t *testing.T) {
	out, err := simtest.ParseNumbers(*without)
	require.NoError(t, err, "-without")
	l := live(simtest.Plan{Seed: uint64(*only), Without: out})
	t.Log("\n" + strings.Join(l.report.Story, "\n"))
	if l.broken != nil {
		t.Fatal(l.broken)
	}
}

func many(t *testing.T) {
	all, failed := newTotals(*from), lived{}
	for l := range worlds(t.Context(), *from, *howMany) {
		all.add(l)
		if l.broken == nil {
			continue
		}
		sought := *until == "" || string(l.broken.Promise) == *until
		if failed.broken == nil || sought {
			failed = l
		}
		if sought {
			break
		}
	}
	if failed.broken != nil {
		t.Fatal(failure(failed))
	}
	t.Log("\n" + all.table())
	require.EqualValues(t, *howMany, all.worlds())
	if *howMany >= 100 {
		for _, f := range simtest.Faults {
			require.Positive(t, all.Injected[f], "no seed injected a %s", f)
		}
		require.Positive(t, all.Ready, "nobody was ever told that push may go")
		require.Positive(t, all.Unheard, "nobody ever knew of something that others had to ask for")
		require.Positive(t, all.Forks, "no feed ever forked")
		require.Greater(t, all.Fetched, all.Photos, "photos did not go to everybody")
	}
}

// failure tells of a world in which a promise was broken: how, and how to live
// through it again; and of what is left of it, cut down.
func failure(l lived) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%v\n\nlive through it again with:\n%s\n", l.broken, line(simtest.Plan{Seed: l.seed}))
	if *tries == 0 {
		return b.String()
	}
	run := func(p simtest.Plan) (simtest.Report, error) { return simtest.Replay(context.Background(), p) }
	s, ok := simtest.Shrink(simtest.Plan{Seed: l.seed}, run, *tries)
	if !ok {
		return b.String() + "\nlived through once more, it broke nothing: something in it does not follow from the seed\n"
	}
	fmt.Fprintf(&b, "\ncut down in %d runs to %d of %d things that happened:\n%s\n\n%s\n", s.Tries, len(s.Kept), s.Of, line(s.Plan), strings.Join(s.Report.Story, "\n"))
	return b.String()
}

// line is what lives through a plan again.
func line(p simtest.Plan) string {
	text := fmt.Sprintf("go test ./syncd/simtest -run TestSeeds -seed %d", p.Seed)
	if len(p.Without) > 0 {
		text += " -without " + p.Without.String()
	}
	return text + " -v"
}

// TestOneSeedOneWorld: whoever is told a seed sees what the teller saw.
func TestOneSeedOneWorld(t *testing.T) {
	if raced {
		t.Skip(sampled)
	}
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
