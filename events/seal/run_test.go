package seal_test

import (
	"crypto/ed25519"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// unsigned is the line with a signature that is none of its own.
func unsigned(v seal.Verified) []byte {
	return forged(v.Signed(), events.Sign(fixedKey(9), []byte("something else")))
}

func TestOpenRunOfNothing(t *testing.T) {
	run, err := seal.OpenRun(nil)
	require.NoError(t, err)
	require.Empty(t, run)
}

func TestOpenRunOfAWholeChain(t *testing.T) {
	whole := chain(t, 5)
	run, err := seal.OpenRun(linesOf(whole))
	require.NoError(t, err)
	require.Equal(t, whole, run)
	run, err = seal.OpenRun(linesOf(whole)[2:])
	require.NoError(t, err, "it may begin anywhere")
	require.Equal(t, whole[2:], run)
}

// A line is vouched for by the last valid one that chains to it: with any set
// of signatures broken, exactly the lines up to the last whole one are let in.
func TestTheLastValidLineVouchesForThoseBefore(t *testing.T) {
	const n = 5
	whole := chain(t, n)
	for broken := range 1 << n { // bit i: the signature of line i is broken
		lines, vouched := linesOf(whole), 0
		for i := range n {
			if broken&(1<<i) != 0 {
				lines[i] = unsigned(whole[i])
			} else {
				vouched = i + 1
			}
		}
		run, err := seal.OpenRun(lines)
		require.Len(t, run, vouched, "%05b", broken)
		if vouched == n {
			require.NoError(t, err)
		} else {
			require.ErrorIs(t, err, seal.ErrSignature)
		}
		for i, v := range run {
			require.Equal(t, whole[i].Ref(), v.Ref())
			require.Equal(t, string(lines[i]), string(v.Line()), "kept as it came, its broken signature too")
		}
	}
}

func TestOpenRunEndsWhereTheChainBreaks(t *testing.T) {
	whole := chain(t, 6)
	other := func(e *events.Event) []byte {
		v, err := seal.Seal(benKey, e)
		require.NoError(t, err)
		return v.Line()
	}
	stray := benSays(4, whole[2].Hash(), events.HubReady{Hub: "H2"})
	for _, c := range []struct {
		name string
		line []byte // in place of the fourth
		want error
	}{
		{"another branch", other(benSays(4, events.HashOf([]byte("x")), events.HubReady{Hub: "H2"})), seal.ErrChain},
		{"a number left out", other(benSays(5, whole[2].Hash(), events.HubReady{Hub: "H2"})), seal.ErrChain},
		{"the same line again", whole[2].Line(), seal.ErrChain},
		{"another feed of the key", func() []byte {
			e := *stray
			e.Origin = &events.Origin{Site: site, Feed: feedOf(benKey, 2)}
			return other(&e)
		}(), seal.ErrChain},
		{"another site", func() []byte {
			e := *stray
			e.Origin = &events.Origin{Site: events.SiteOf(benKey.Public().(ed25519.PublicKey)), Feed: e.Feed}
			return other(&e)
		}(), seal.ErrChain},
		{"a line cut short", whole[3].Line()[:200], seal.ErrTail},
		{"a line that is too long", []byte(strings.Repeat("x", 64<<10+1)), seal.ErrTooLong},
		{"a changed word", []byte(strings.Replace(string(whole[3].Line()), "2-104", "2-999", 1)), nil},
		{"nothing", nil, seal.ErrTail},
	} {
		t.Run(c.name, func(t *testing.T) {
			lines := linesOf(whole)
			lines[3] = c.line
			run, err := seal.OpenRun(lines)
			require.Error(t, err)
			if c.want != nil {
				require.ErrorIs(t, err, c.want)
			}
			require.Equal(t, whole[:3], run)

			lines[2] = unsigned(whole[2]) // what is past the break can't vouch for it
			run, err = seal.OpenRun(lines)
			require.Error(t, err)
			require.Equal(t, whole[:2], run)
		})
	}
}

// A relay that changes a word in the middle of a run, or the order of lines,
// gets none of the changed lines in, whatever signatures it keeps.
func TestNothingChangedGetsIn(t *testing.T) {
	whole := chain(t, 6)
	rapid.Check(t, func(t *rapid.T) {
		lines := linesOf(whole)
		at := rapid.IntRange(0, len(lines)-1).Draw(t, "line")
		signed := len(whole[at].Signed())
		lines[at][rapid.IntRange(0, signed-1).Draw(t, "byte")] ^= byte(rapid.IntRange(1, 255).Draw(t, "change"))
		run, err := seal.OpenRun(lines)
		require.Error(t, err)
		require.Len(t, run, at)
		for i, v := range run {
			require.Equal(t, whole[i].Hash(), v.Hash())
		}
	})
}

// A message is at most 256 KiB, so a run is at most some hundred lines, each
// checked once: the most that a liar can cost is one check for each line sent.
func TestALongRunOfBrokenSignaturesIsRefused(t *testing.T) {
	whole := chain(t, 400)
	lines := linesOf(whole)
	total := 0
	for i, v := range whole {
		lines[i] = unsigned(v)
		total += len(lines[i])
	}
	require.Greater(t, total, 128<<10, "as many as fit a message, about")
	run, err := seal.OpenRun(lines)
	require.ErrorIs(t, err, seal.ErrSignature)
	require.Empty(t, run)
}

// Runs of lines this version can't read are let in like any other.
func TestOpenRunOfALaterVersion(t *testing.T) {
	prev, lines := "", [][]byte{}
	for seq := 1; seq <= 3; seq++ {
		signed := header(99, seq, prev) + fmt.Sprintf(`,"mood":%d.5`, seq)
		lines = append(lines, signedAs(benKey, signed))
		prev = events.HashOf([]byte(signed)).String()
	}
	run, err := seal.OpenRun(lines)
	require.NoError(t, err)
	require.Len(t, run, 3)
}

// OpenRuns comes to what OpenRun does for each stretch that has no line missing, up
// to the first line that is not authentic.
func TestRunsEndWhereLinesAreMissing(t *testing.T) {
	whole := chain(t, 12)
	rapid.Check(t, func(t *rapid.T) {
		var lines [][]byte
		var stretches [][][]byte
		last := events.Seq(0)
		for i, line := range linesOf(whole) {
			if rapid.IntRange(0, 3).Draw(t, "missing") == 0 {
				continue
			}
			switch rapid.IntRange(0, 9).Draw(t, "broken") {
			case 0:
				line = unsigned(whole[i])
			case 1:
				line[len(whole[i].Signed())/2] ^= 1
			}
			if len(stretches) == 0 || whole[i].Seq() != last+1 {
				stretches = append(stretches, nil)
			}
			last = whole[i].Seq()
			lines, stretches[len(stretches)-1] = append(lines, line), append(stretches[len(stretches)-1], line)
		}
		var want [][]seal.Verified
		var broken error
		for _, stretch := range stretches {
			run, err := seal.OpenRun(stretch)
			if len(run) > 0 {
				want = append(want, run)
			}
			if broken = err; err != nil {
				break
			}
		}
		runs, err := seal.OpenRuns(lines)
		require.Equal(t, want, runs)
		require.Equal(t, broken, err)
	})
}
