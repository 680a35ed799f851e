package spectrum

import "slices"

// prove searches branch by branch for something better than what was found, and so
// proves that there is nothing, unless the budget runs out. The hubs are taken from
// the last one up: each stage solves those from there on by themselves, and what
// they cost bounds the later stages (Russian doll search: Verfaillie, Lemaître and
// Schiex, AAAI 1996).
func (s *search) prove() {
	s.doll = make([]int64, s.n+1)
	s.used = make([]int, s.k)
	s.now = make([]int, s.n)
	s.owed = make([][]int64, s.n)
	for v := range s.owed {
		s.owed[v] = make([]int64, s.k)
	}
	s.gains, s.pays = make([]int64, 0, s.n+1), make([]pay, s.n)
	s.nearest = make([][]int64, s.n)
	for v := range s.nearest {
		s.nearest[v] = make([]int64, s.n)
		for u := v + 1; u < s.n; u++ {
			s.nearest[v][u] = slices.Min(s.pair[u][v:u])
		}
	}
	whole, found := s.best, s.bestCost
	for from := s.n - 1; from >= 0; from-- {
		s.from, s.best = from, slices.Clone(whole)
		if s.bestCost = s.costFrom(whole, from); from == 0 {
			s.bestCost = found
		}
		if tail := s.joined(from); tail < s.bestCost {
			s.best, s.bestCost = append(s.best[:from:from], s.tailBest...), tail
		}
		least := max(s.doll[from+1]+cheapest(s.alone[from]), s.among(from))
		if s.bestCost > least && !s.branch(from, 0) {
			s.doll[from] = least
		} else {
			s.doll[from] = s.bestCost
		}
		s.tailBest = slices.Clone(s.best[from:])
		if from == 0 {
			whole, found = s.best, s.bestCost
		}
	}
	s.best, s.bestCost = whole, found
	s.bound, s.exact = s.doll[0], s.doll[0] >= found
}

// joined puts the first hub of a stage, on its cheapest channel, before the best of
// the stage before, and says what that costs.
func (s *search) joined(from int) int64 {
	best, at := int64(1)<<62, 0
	for k, own := range s.alone[from] {
		if own < 0 {
			continue
		}
		sum := own
		for i, c := range s.tailBest {
			if c == k {
				sum += s.pair[from][from+1+i]
			}
		}
		if sum < best {
			best, at = sum, k
		}
	}
	s.tailBest = append([]int{at}, s.tailBest...)
	return s.costOf(s.tailBest, from)
}

func (s *search) costOf(tail []int, from int) int64 {
	sum := int64(0)
	for i, k := range tail {
		sum += s.alone[from+i][k]
		for j := range i {
			if tail[j] == k {
				sum += s.pair[from+i][from+j]
			}
		}
	}
	return sum
}

// costFrom is what the hubs from one on cost by themselves.
func (s *search) costFrom(at []int, from int) int64 { return s.costOf(at[from:], from) }

// cheapest is the least that a hub pays on a channel it may have.
func cheapest(own []int64) int64 {
	least := int64(-1)
	for _, d := range own {
		if d >= 0 && (least < 0 || d < least) {
			least = d
		}
	}
	return least
}

// branch tries every channel for hub v, given those before it, and says whether
// the budget lasted.
func (s *search) branch(v int, spent int64) bool {
	if v == s.n {
		s.best, s.bestCost = append(s.best[:s.from:s.from], s.now[s.from:]...), spent
		return true
	}
	if s.nodes++; s.nodes*s.n > s.budget {
		return false
	}
	type way struct {
		k    int
		cost int64
	}
	ways := make([]way, 0, s.k)
	for k, own := range s.alone[v] {
		if own >= 0 && !s.twin(k) {
			ways = append(ways, way{k, own + s.owed[v][k]})
		}
	}
	slices.SortStableFunc(ways, func(a, b way) int { return int(min(max(a.cost-b.cost, -1), 1)) })
	for _, w := range ways {
		if spent+w.cost+s.doll[v+1] >= s.bestCost {
			return true // and so do those that cost more
		}
		s.now[v] = w.k
		s.used[w.k]++
		s.owe(v, w.k, 1)
		lasted := true
		if s.least(v+1, spent+w.cost) < s.bestCost {
			lasted = s.branch(v+1, spent+w.cost)
		}
		s.owe(v, w.k, -1)
		s.used[w.k]--
		if !lasted {
			return false
		}
	}
	return true
}

// twin says whether a channel nobody has yet is just like a lower one nobody has:
// then it need not be tried.
func (s *search) twin(k int) bool {
	if s.used[k] > 0 {
		return false
	}
	for c := s.class[k]; c < k; c++ {
		if s.class[c] == s.class[k] && s.used[c] == 0 {
			return true
		}
	}
	return false
}

// owe adds to, or takes from, what the open hubs owe to hub v on a channel.
func (s *search) owe(v, k int, sign int64) {
	for u := v + 1; u < s.n; u++ {
		s.owed[u][k] += sign * s.pair[u][v]
	}
}

// least bounds what the whole stage costs, with the hubs from v on still open. The
// open ones are cut in two, wherever that tells most.
//
// The later part goes by itself: what each pays at least to those assigned, and
// what they all cost among themselves.
//
// The earlier part is in a crowd: only the first on each channel that nobody has
// yet can be there undisturbed. Any other pays what is owed on its channel, or to
// the first there, who is one of the open ones before it. So all pay as if crowded,
// but for as many as there are free channels, and those may be the ones who gain
// most by it.
func (s *search) least(v int, spent int64) int64 {
	free := 0
	for _, n := range s.used {
		if n == 0 {
			free++
		}
	}
	owing := int64(0) // by those not yet in the crowd
	for u := v; u < s.n; u++ {
		s.pays[u] = s.payOf(v, u)
		owing += s.pays[u].owes
	}
	bound := spent + s.doll[v] + owing
	crowd, gains := spent, s.gains[:0]
	for u := v; u < s.n && bound < s.bestCost; u++ {
		p := &s.pays[u]
		owing -= p.owes
		crowd += min(p.crowded, p.first)
		if gain := p.crowded - p.first; gain > 0 { // it pays more if it is none of those who gain most
			at, _ := slices.BinarySearch(gains, gain)
			if gains = slices.Insert(gains, at, gain); len(gains) > free {
				crowd += gains[0]
				gains = append(gains[:0], gains[1:]...)
			}
		}
		bound = max(bound, crowd+owing+s.doll[u+1])
	}
	return bound
}

// pay is what an open hub pays at least: to those assigned; in all if it is not the
// first on its channel; and in all if it is.
type pay struct{ owes, crowded, first int64 }

func (s *search) payOf(v, u int) pay {
	const none = int64(1) << 62
	p := pay{none, none, none}
	row := s.owed[u]
	for k, own := range s.alone[u] {
		if own < 0 {
			continue
		}
		owed := row[k]
		p.owes = min(p.owes, owed)
		if s.used[k] > 0 {
			p.crowded = min(p.crowded, own+owed)
		} else {
			p.first = min(p.first, own)
		}
	}
	if u > v && p.first < none {
		p.crowded = min(p.crowded, p.first+s.nearest[v][u])
	}
	if p.crowded == none { // all it may have is free, and nobody is before it
		p.crowded = p.first
	}
	return p
}
