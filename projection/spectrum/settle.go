package spectrum

import (
	"math/rand/v2"
	"slices"
)

// How long the search for a good assignment goes on, in moves for each hub, and
// how often it begins anew.
const (
	coolPerHub  = 160 // for each other hub
	movesPerHub = 100
	starts      = 10
)

// settle finds a good assignment by moving one hub at a time to where it costs
// least, also uphill, but not back for a while (tabu search, Glover 1989; for
// colouring Hertz and de Werra 1987). That seldom gets all hubs of one channel over
// to another, where Wi-Fi is weaker; so whole channels are exchanged in between.
// Chance is drawn from a fixed seed.
func (s *search) settle() {
	dice := rand.New(rand.NewPCG(1, uint64(s.n)))
	s.bestCost = -1
	for range starts {
		at, cost := s.descend(s.cool(s.spread(dice), dice), dice)
		for range starts {
			if !s.swap(at) {
				break
			}
			next, less := s.descend(at, dice)
			if less >= cost {
				break
			}
			at, cost = next, less
		}
	}
}

// spread puts one hub after the other where it costs least.
func (s *search) spread(dice *rand.Rand) []int {
	at := make([]int, s.n)
	gain := make([]int64, s.k)
	for v := range at {
		copy(gain, s.alone[v])
		for u, k := range at[:v] {
			if gain[k] >= 0 {
				gain[k] += s.pair[v][u]
			}
		}
		at[v] = s.anyCheapest(gain, dice)
	}
	return at
}

// cool moves hubs by chance, at first also where it costs much more and then less
// and less so (threshold accepting, Dueck and Scheuer 1990), and gives the best on
// the way. It is all in whole numbers, so that every machine goes the same way.
func (s *search) cool(from []int, dice *rand.Rand) []int {
	at, gain := slices.Clone(from), s.gainsOf(from)
	cost := s.cost(at)
	best, least := slices.Clone(at), cost
	warm := int64(0)
	for v, k := range at {
		warm = max(warm, gain[v][k])
	}
	steps := int64(coolPerHub * s.n * min(s.n, 25))
	for i := range steps {
		v, k := dice.IntN(s.n), dice.IntN(s.k)
		if k == at[v] || s.alone[v][k] < 0 {
			continue
		}
		d := gain[v][k] - gain[v][at[v]]
		if d > warm/steps*(steps-i) {
			continue
		}
		s.shift(gain, at, v, k)
		if cost += d; cost < least {
			copy(best, at)
			least = cost
		}
	}
	return best
}

// gainsOf is what each hub costs, or would, on each channel.
func (s *search) gainsOf(at []int) [][]int64 {
	gain := make([][]int64, s.n)
	for v := range at {
		gain[v] = slices.Clone(s.alone[v])
		for u, k := range at {
			if u != v && gain[v][k] >= 0 {
				gain[v][k] += s.pair[v][u]
			}
		}
	}
	return gain
}

// shift puts hub v on channel k, and mends what the others cost.
func (s *search) shift(gain [][]int64, at []int, v, k int) {
	from := at[v]
	at[v] = k
	for u := range at {
		if u == v {
			continue
		}
		if s.alone[u][from] >= 0 {
			gain[u][from] -= s.pair[u][v]
		}
		if s.alone[u][k] >= 0 {
			gain[u][k] += s.pair[u][v]
		}
	}
}

// swap exchanges all hubs of two channels as long as that costs less.
func (s *search) swap(at []int) (swapped bool) {
	for again := true; again; {
		again = false
		for a := range s.k {
			for b := a + 1; b < s.k; b++ {
				if s.swapped(at, a, b) < 0 {
					s.turn(at, a, b)
					again, swapped = true, true
				}
			}
		}
	}
	return swapped
}

// turn exchanges two channels.
func (s *search) turn(at []int, a, b int) {
	for v, k := range at {
		switch k {
		case a:
			at[v] = b
		case b:
			at[v] = a
		}
	}
}

// swapped is what exchanging two channels adds to the cost.
func (s *search) swapped(at []int, a, b int) int64 {
	sum := int64(0)
	for v, k := range at {
		from, to := a, b
		switch k {
		case a:
		case b:
			from, to = b, a
		default:
			continue
		}
		if s.alone[v][to] < 0 {
			return 1
		}
		sum += s.alone[v][to] - s.alone[v][from]
	}
	return sum
}

// descend searches on from an assignment, and gives the best on its way.
func (s *search) descend(from []int, dice *rand.Rand) (best []int, least int64) {
	at, gain := slices.Clone(from), s.gainsOf(from)
	cost := s.cost(at)
	best, least = slices.Clone(at), cost
	s.keep(at, cost)
	tabu := make([][]int, s.n)
	for v := range tabu {
		tabu[v] = make([]int, s.k)
	}
	for move := 1; move <= movesPerHub*s.n; move++ {
		bv, bk, step, ties := -1, 0, int64(0), 0
		for v, from := range at {
			if gain[v][from] == 0 {
				continue // it is as well as can be
			}
			for k := range s.k {
				if k == from || s.alone[v][k] < 0 {
					continue
				}
				d := gain[v][k] - gain[v][from]
				if tabu[v][k] >= move && cost+d >= s.bestCost {
					continue
				}
				switch {
				case bv < 0 || d < step:
					bv, bk, step, ties = v, k, d, 1
				case d == step:
					if ties++; dice.IntN(ties) == 0 {
						bv, bk = v, k
					}
				}
			}
		}
		if bv < 0 {
			return best, least
		}
		from := at[bv]
		s.shift(gain, at, bv, bk)
		cost += step
		tabu[bv][from] = move + 5 + dice.IntN(10)
		if s.keep(at, cost); cost < least {
			copy(best, at)
			least = cost
		}
	}
	return best, least
}

func (s *search) keep(at []int, cost int64) {
	if s.bestCost < 0 || cost < s.bestCost {
		s.best, s.bestCost = append(s.best[:0], at...), cost
	}
}

// anyCheapest picks a channel that costs least, by chance among equals.
func (s *search) anyCheapest(gain []int64, dice *rand.Rand) int {
	best, ties := -1, 0
	for k, g := range gain {
		switch {
		case g < 0:
		case best < 0 || g < gain[best]:
			best, ties = k, 1
		case g == gain[best]:
			if ties++; dice.IntN(ties) == 0 {
				best = k
			}
		}
	}
	return best
}
