package spectrum

import (
	"errors"
	"fmt"
)

// Problem is who disturbs whom: hubs that want a channel each. Amounts are whole
// and not below zero.
type Problem struct {
	Hubs     int
	Channels []int     // numbers, rising
	Alone    [][]int64 // by hub and channel: disturbance from elsewhere; nil for none
	Pair     [][]int64 // symmetric, by hub and hub: disturbance if both are on one channel
	Allowed  [][]bool  // by hub and channel; nil for all
	Prefer   []int     // by hub: the channel number it would rather have, where nothing else decides; nil for none
}

// Result is a channel number for each hub.
type Result struct {
	Channel    []int
	Cost       int64
	LowerBound int64 // no assignment costs less
	Exact      bool  // the cost is proved to be the least
	Nodes      int   // partial assignments looked at
}

// ErrNoChannel means that a hub is left without any channel.
var ErrNoChannel = errors.New("no channel is left")

// Budget is how far a proof may go, in partial assignments times hubs: it is
// counted and not timed, so that every machine gives the same answer.
const Budget = 60_000_000

// Least finds the assignment that costs least; of those, one with the fewest hubs
// off the channel they prefer; of those, one with low channel numbers for the first
// hubs. It is an error if a hub is left without any channel, or the problem is
// ill-formed.
func Least(p Problem) (Result, error) { return least(p, Budget) }

func least(p Problem, budget int) (Result, error) {
	s, err := newSearch(p)
	if err != nil {
		return Result{}, err
	}
	s.budget = budget
	s.settle()
	s.prove()
	s.lower()
	return s.result(p), nil
}

func (s *search) result(p Problem) Result {
	r := Result{Channel: make([]int, p.Hubs), Nodes: s.nodes}
	for v, k := range s.best {
		r.Channel[s.hub[v]] = p.Channels[k]
	}
	r.Cost, r.LowerBound = s.bestCost/s.scale, s.bound/s.scale
	r.Exact = r.LowerBound >= r.Cost // also where only the ties are not proved
	r.LowerBound = min(r.LowerBound, r.Cost)
	return r
}

// search is a problem in the order in which it is searched. Costs are scaled, so
// that a hub off the channel it prefers adds one: less than any true cost.
type search struct {
	n, k  int
	hub   []int     // by place in the order: the hub
	alone [][]int64 // by place and channel; -1 if not allowed
	pair  [][]int64
	class []int // of a channel: the first one that is like it for every hub
	scale int64

	best     []int
	bestCost int64
	bound    int64 // a lower bound of the whole
	exact    bool

	budget, nodes int
	doll          []int64   // by place: a lower bound of all from there on, by themselves
	owed          [][]int64 // by place and channel: what it costs to those assigned
	used          []int     // by channel: how many have it
	nearest       [][]int64 // by two places: the least that the later is disturbed by one from the earlier up to it
	gains         []int64
	pays          []pay
	from          int // where the stage begins
	now           []int
	tailBest      []int // the best of the stage before
}

func newSearch(p Problem) (*search, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	s := &search{n: p.Hubs, k: len(p.Channels), scale: int64(p.Hubs) + 1, hub: searchOrder(p)}
	for _, i := range s.hub {
		row, pairs, free := make([]int64, s.k), make([]int64, s.n), false
		for k := range row {
			switch {
			case p.Allowed != nil && !p.Allowed[i][k]:
				row[k] = -1
				continue
			case p.Alone != nil:
				row[k] = p.Alone[i][k] * s.scale
			}
			if p.Prefer != nil && p.Prefer[i] != p.Channels[k] {
				row[k]++
			}
			free = true
		}
		if !free {
			return nil, fmt.Errorf("hub %d: %w", i, ErrNoChannel)
		}
		for v, j := range s.hub {
			pairs[v] = p.Pair[i][j] * s.scale
		}
		s.alone, s.pair = append(s.alone, row), append(s.pair, pairs)
	}
	s.class = make([]int, s.k)
	for k := range s.class {
		for !s.like(s.class[k], k) {
			s.class[k]++
		}
	}
	return s, nil
}

// like says whether two channels can be exchanged without changing any cost.
func (s *search) like(a, b int) bool {
	for v := range s.n {
		if s.alone[v][a] != s.alone[v][b] {
			return false
		}
	}
	return true
}

// searchOrder puts hubs so that each has as much as can be to do with those before
// it, and begins with the one that has most to do with all.
func searchOrder(p Problem) []int {
	total, linked := make([]int64, p.Hubs), make([]int64, p.Hubs)
	for i := range total {
		for j, w := range p.Pair[i] {
			if j != i {
				total[i] += w
			}
		}
	}
	var order []int
	placed := make([]bool, p.Hubs)
	for range p.Hubs {
		best := -1
		for i := range p.Hubs {
			if !placed[i] && (best < 0 || linked[i] > linked[best] || linked[i] == linked[best] && total[i] > total[best]) {
				best = i
			}
		}
		placed[best] = true
		order = append(order, best)
		for j, w := range p.Pair[best] {
			linked[j] += w
		}
	}
	return order
}

func (s *search) cost(at []int) int64 {
	sum := int64(0)
	for v, k := range at {
		sum += s.alone[v][k]
		for u := range v {
			if at[u] == k {
				sum += s.pair[v][u]
			}
		}
	}
	return sum
}
