package simtest_test

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/syncd/simtest"
)

// made is a made-up run of which so much happens, and which breaks a promise where
// all of what it needs does.
type made struct {
	happens []int
	needs   []int
	breaks  simtest.Promise
	runs    int
}

func (m *made) live(p simtest.Plan) (simtest.Report, error) {
	m.runs++
	var r simtest.Report
	for _, n := range m.happens {
		if !p.Without.Has(n) {
			r.Numbers = append(r.Numbers, n)
		}
	}
	for _, n := range m.needs {
		if !slices.Contains(r.Numbers, n) {
			return r, &simtest.Broken{Seed: p.Seed, Promise: simtest.Opens}
		}
	}
	return r, &simtest.Broken{Seed: p.Seed, Promise: m.breaks}
}

func steps(n int) []int {
	out := []int{1, 2, 5}
	for s := range n {
		out = append(out, 100*(s+1), 100*(s+1)+1, 100*(s+1)+13)
	}
	return out
}

func TestShrinkKeepsWhatItTakes(t *testing.T) {
	for _, needs := range [][]int{{100}, {5, 4001}, {1, 113, 1500, 1501, 4013}, steps(3)} {
		m := &made{happens: steps(40), needs: needs, breaks: simtest.Kept}
		s, ok := simtest.Shrink(simtest.Plan{Seed: 7}, m.live, 400)
		require.True(t, ok)
		require.ElementsMatch(t, needs, s.Kept)
		require.Equal(t, 123, s.Of)
		require.EqualValues(t, 7, s.Plan.Seed)
		require.Equal(t, simtest.Kept, s.Broken.Promise, "another promise is another failure")
		require.Equal(t, m.runs-1, s.Tries)
		again, err := m.live(s.Plan)
		require.Error(t, err)
		require.Equal(t, s.Kept, again.Numbers)
	}
}

func TestShrinkStopsAfterSoManyTries(t *testing.T) {
	for _, tries := range []int{0, 1, 7, 40} {
		m := &made{happens: steps(400), needs: []int{1, 5000, 40000}, breaks: simtest.Kept}
		s, ok := simtest.Shrink(simtest.Plan{}, m.live, tries)
		require.True(t, ok)
		require.LessOrEqual(t, s.Tries, tries)
		require.LessOrEqual(t, m.runs, tries+1)
		require.Subset(t, s.Kept, m.needs)
	}
}

func TestShrinkOfWhatHolds(t *testing.T) {
	_, ok := simtest.Shrink(simtest.Plan{}, func(simtest.Plan) (simtest.Report, error) { return simtest.Report{}, nil }, 9)
	require.False(t, ok)
	_, ok = simtest.Shrink(simtest.Plan{}, func(simtest.Plan) (simtest.Report, error) { return simtest.Report{}, errors.New("disk full") }, 9)
	require.False(t, ok)
}

// TestAFailureIsCutDown breaks the journal, finds the world that shows it, and has
// it cut down to a story of a few lines, which whoever is told can live through
// again.
func TestAFailureIsCutDown(t *testing.T) {
	if raced {
		t.Skip(sampled)
	}
	t.Parallel()
	run := build(t, "events/journal/own.go", "case was.copied:", "case false:")
	out, err := run("-seeds", "300", "-until", string(simtest.OneNumber))
	require.Error(t, err)
	t.Log("\n" + out)

	cut := regexp.MustCompile(`cut down in \d+ runs to (\d+) of (\d+) things`).FindStringSubmatch(out)
	require.NotNil(t, cut, out)
	left, _ := strconv.Atoi(cut[1])
	of, _ := strconv.Atoi(cut[2])
	require.Positive(t, left)
	require.LessOrEqual(t, left, 9, "it takes a folder that was copied, and an entry")
	require.Greater(t, of, 2*left)

	lines := regexp.MustCompile(`-seed (\d+) -without (\S+) -v`).FindStringSubmatch(out)
	require.NotNil(t, lines, out)
	promise := fmt.Sprintf("seed %s breaks the promise %q", lines[1], simtest.OneNumber)
	require.Contains(t, out, promise)
	again, err := run("-seed", lines[1], "-without", lines[2], "-test.v")
	require.Error(t, err, again)
	require.Contains(t, again, promise)
	_, story, _ := strings.Cut(out, cut[0])
	for line := range strings.Lines(story) {
		if strings.Contains(line, "BROKEN") {
			require.Contains(t, again, strings.TrimSpace(line), "what is lived through again is what was told")
		}
	}

	spared, err := run("-seed", lines[1], "-without", lines[2]+",1..")
	require.NoError(t, err, "where nothing happens nothing breaks:\n%s", spared)
}
