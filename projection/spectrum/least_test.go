package spectrum_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/projection/spectrum"
)

// The least conflicts were computed by a branch and bound that shares no code with
// this one, those marked brute also by trying everything; that is done here again.
// A king's graph stands in for flats side by side and above each other.
func TestLeastConflictsAreThePublishedOnes(t *testing.T) {
	for _, c := range []struct {
		name     string
		graph    [][]int
		channels int
		want     int64
		brute    bool
	}{
		{"king 3×3, 3 channels", grid(3, 3, 1), 3, 2, true},
		{"king 3×3, 2 channels", grid(3, 3, 1), 2, 6, true},
		{"king 4×4, 3 channels", grid(4, 4, 1), 3, 5, false},
		{"king 5×5, 3 channels", grid(5, 5, 1), 3, 8, false},
		{"box 2×2×2, 4 channels", grid(2, 2, 2), 4, 4, true},
		{"box 3×2×2, 4 channels", grid(3, 2, 2), 4, 6, false},
		{"box 3×3×2, 4 channels", grid(3, 3, 2), 4, 9, false},
		{"queen5_5, 4 channels", queens(5), 4, 12, false},
		{"queen5_5, 3 channels", queens(5), 3, 29, false},
		{"queen6_6, 6 channels", queens(6), 6, 4, false},
		{"myciel3, 3 channels", mycielski(3), 3, 1, false},
		{"myciel4, 4 channels", mycielski(4), 4, 1, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := conflicts(c.graph, c.channels)
			r, err := spectrum.Least(p)
			require.NoError(t, err)
			require.Equal(t, c.want, r.Cost)
			require.Equal(t, r.Cost, costOf(p, r.Channel), "the cost is that of the channels given")
			require.True(t, r.Exact)
			require.Equal(t, r.Cost, r.LowerBound)
			t.Logf("%d nodes", r.Nodes)
			if c.brute {
				least, _, _ := bruteForce(p)
				require.Equal(t, c.want, least)
			}
		})
	}
}

// K_n in c channels: the groups are as even as can be, and each of m has m(m−1)/2
// pairs (computed from the formula).
func TestACompleteGraphIsSharedOutEvenly(t *testing.T) {
	for n := 1; n <= 24; n++ {
		for _, c := range []int{1, 2, 3, 4, 5, 16} {
			want := int64(0)
			for g := range c {
				m := int64((n + g) / c)
				want += m * (m - 1) / 2
			}
			p := conflicts(complete(n), c)
			r, err := spectrum.Least(p)
			require.NoError(t, err)
			require.Equal(t, want, r.Cost, "K_%d in %d channels", n, c)
			require.True(t, r.Exact, "K_%d in %d channels", n, c)
		}
	}
}

// draw makes a small problem by chance: sparse or dense, with few or many equal
// amounts, so that ties come up.
func draw(dice *rand.Rand, hubs, channels int) spectrum.Problem {
	p := spectrum.Problem{Hubs: hubs}
	for k := range channels {
		p.Channels = append(p.Channels, 11+k)
	}
	top, share := int64(1+dice.IntN(9)), dice.IntN(4)
	p.Pair = make([][]int64, hubs)
	for i := range p.Pair {
		p.Pair[i] = make([]int64, hubs)
		for j := range i {
			if dice.IntN(4) >= share {
				p.Pair[i][j] = dice.Int64N(top + 1)
				p.Pair[j][i] = p.Pair[i][j]
			}
		}
	}
	if dice.IntN(2) == 0 {
		p.Alone = make([][]int64, hubs)
		for i := range p.Alone {
			p.Alone[i] = make([]int64, channels)
			for k := range p.Alone[i] {
				p.Alone[i][k] = dice.Int64N(top + 1)
			}
		}
	}
	if dice.IntN(2) == 0 {
		p.Allowed = make([][]bool, hubs)
		for i := range p.Allowed {
			p.Allowed[i] = make([]bool, channels)
			for k := range p.Allowed[i] {
				p.Allowed[i][k] = dice.IntN(3) > 0
			}
			p.Allowed[i][dice.IntN(channels)] = true
		}
	}
	if dice.IntN(2) == 0 {
		p.Prefer = make([]int, hubs)
		for i := range p.Prefer {
			p.Prefer[i] = 10 + dice.IntN(channels+1)
		}
	}
	return p
}

func TestLeastIsWhatBruteForceFinds(t *testing.T) {
	for seed := range uint64(3000) {
		dice := rand.New(rand.NewPCG(seed, 1))
		p := draw(dice, 1+dice.IntN(6), 1+dice.IntN(5))
		want, off, _ := bruteForce(p)
		r, err := spectrum.Least(p)
		require.NoError(t, err)
		require.Equal(t, want, r.Cost, "seed %d", seed)
		require.Equal(t, want, r.LowerBound, "seed %d", seed)
		require.Equal(t, r.Cost, costOf(p, r.Channel), "seed %d", seed)
		require.True(t, r.Exact, "seed %d", seed)
		have := 0
		for i, c := range r.Channel {
			if p.Prefer != nil && p.Prefer[i] != c {
				have++
			}
			if p.Allowed != nil {
				require.True(t, p.Allowed[i][c-11], "seed %d: hub %d has a channel it may not have", seed, i)
			}
		}
		require.Equal(t, off, have, "seed %d: hubs off the channel they prefer", seed)
	}
}

// Without a good assignment to begin with, a bound that is too high would cut off
// the best one.
func TestTheProofFindsTheLeastByItself(t *testing.T) {
	for seed := range uint64(3000) {
		dice := rand.New(rand.NewPCG(seed, 4))
		p := draw(dice, 1+dice.IntN(7), 1+dice.IntN(4))
		want, off, _ := bruteForce(p)
		r, err := spectrum.ProveFromTheWorst(p, spectrum.Budget)
		require.NoError(t, err)
		require.Equal(t, want, r.Cost, "seed %d", seed)
		require.Equal(t, r.Cost, costOf(p, r.Channel), "seed %d", seed)
		require.True(t, r.Exact, "seed %d", seed)
		have := 0
		for i, c := range p.Prefer {
			if r.Channel[i] != c {
				have++
			}
		}
		require.Equal(t, off, have, "seed %d: hubs off the channel they prefer", seed)
		for _, budget := range []int{0, 20, 60} {
			r, err := spectrum.ProveFromTheWorst(p, budget)
			require.NoError(t, err)
			require.LessOrEqual(t, r.LowerBound, want, "seed %d, budget %d", seed, budget)
			require.Equal(t, r.Exact, r.Cost == r.LowerBound)
		}
	}
}

// However little of the proof is allowed, the bound holds, and Exact is never said
// of what is not the least.
func TestTheBoundHoldsWhateverTheBudget(t *testing.T) {
	open := 0
	for seed := range uint64(800) {
		dice := rand.New(rand.NewPCG(seed, 2))
		p := draw(dice, 2+dice.IntN(5), 1+dice.IntN(4))
		want, _, _ := bruteForce(p)
		for _, budget := range []int{0, 10, 40, 100} {
			r, err := spectrum.LeastWithin(p, budget)
			require.NoError(t, err)
			require.LessOrEqual(t, r.LowerBound, want, "seed %d, budget %d", seed, budget)
			require.Equal(t, r.Cost, costOf(p, r.Channel), "seed %d", seed)
			if r.Exact {
				require.Equal(t, want, r.Cost, "seed %d, budget %d", seed, budget)
				require.Equal(t, want, r.LowerBound)
			} else {
				open++
			}
		}
	}
	require.Greater(t, open, 100, "else nothing is tried")
}

func TestAmongEqualsChannelsAreLow(t *testing.T) {
	for _, c := range []struct {
		name   string
		pair   [][]int64
		prefer []int
		want   []int
	}{
		{"nothing to choose by", [][]int64{{0, 0}, {0, 0}}, nil, []int{11, 11}},
		{"two that disturb each other", [][]int64{{0, 1}, {1, 0}}, nil, []int{11, 12}},
		{"what they prefer comes first", [][]int64{{0, 0}, {0, 0}}, []int{13, 12}, []int{13, 12}},
		{"the first goes down if one has to", [][]int64{{0, 1}, {1, 0}}, []int{13, 13}, []int{11, 13}},
		{"and the next two", [][]int64{{0, 1, 1}, {1, 0, 1}, {1, 1, 0}}, []int{13, 13, 13}, []int{11, 12, 13}},
		{"what is preferred is not there", [][]int64{{0, 1}, {1, 0}}, []int{26, 26}, []int{11, 12}},
		{"two and two", [][]int64{{0, 9, 0, 9}, {9, 0, 9, 0}, {0, 9, 0, 9}, {9, 0, 9, 0}}, []int{13, 13, 13, 13}, []int{11, 13, 11, 13}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := spectrum.Least(spectrum.Problem{Hubs: len(c.pair), Channels: []int{11, 12, 13}, Pair: c.pair, Prefer: c.prefer})
			require.NoError(t, err)
			require.Equal(t, c.want, r.Channel)
		})
	}
}

func TestWhatIsNoProblemIsRefused(t *testing.T) {
	two := [][]int64{{0, 1}, {1, 0}}
	for _, c := range []struct {
		name string
		p    spectrum.Problem
		want error
	}{
		{"no channels", spectrum.Problem{Hubs: 2, Pair: two}, spectrum.ErrNoChannel},
		{"none allowed", spectrum.Problem{Hubs: 2, Channels: []int{11}, Pair: two, Allowed: [][]bool{{true}, {false}}}, spectrum.ErrNoChannel},
		{"too few rows", spectrum.Problem{Hubs: 3, Channels: []int{11}, Pair: two}, spectrum.ErrProblem},
		{"a short row", spectrum.Problem{Hubs: 2, Channels: []int{11}, Pair: [][]int64{{0, 1}, {1}}}, spectrum.ErrProblem},
		{"not symmetric", spectrum.Problem{Hubs: 2, Channels: []int{11}, Pair: [][]int64{{0, 1}, {2, 0}}}, spectrum.ErrProblem},
		{"below zero", spectrum.Problem{Hubs: 2, Channels: []int{11}, Pair: [][]int64{{0, -1}, {-1, 0}}}, spectrum.ErrProblem},
		{"alone below zero", spectrum.Problem{Hubs: 1, Channels: []int{11}, Pair: [][]int64{{0}}, Alone: [][]int64{{-1}}}, spectrum.ErrProblem},
		{"too large", spectrum.Problem{Hubs: 2, Channels: []int{11}, Pair: [][]int64{{0, 1 << 60}, {1 << 60, 0}}}, spectrum.ErrProblem},
		{"channels fall", spectrum.Problem{Hubs: 2, Channels: []int{12, 11}, Pair: two}, spectrum.ErrProblem},
		{"Prefer too short", spectrum.Problem{Hubs: 2, Channels: []int{11}, Pair: two, Prefer: []int{11}}, spectrum.ErrProblem},
		{"Allowed too short", spectrum.Problem{Hubs: 2, Channels: []int{11, 12}, Pair: two, Allowed: [][]bool{{true}, {true}}}, spectrum.ErrProblem},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := spectrum.Least(c.p)
			require.ErrorIs(t, err, c.want)
		})
	}
	r, err := spectrum.Least(spectrum.Problem{})
	require.NoError(t, err, "no hubs are no trouble")
	require.True(t, r.Exact)
}
