package spectrum

import "math/rand/v2"

// How long the search for a good assignment goes on, in moves for each hub, and
// how often it begins anew.
const (
	movesPerHub = 400
	starts      = 6
)

// settle finds a good assignment by moving one hub at a time to where it costs
// least, also uphill, but not back for a while (tabu search, Glover 1989; for
// colouring Hertz and de Werra 1987). Chance is drawn from a fixed seed.
func (s *search) settle() {
	dice := rand.New(rand.NewPCG(1, uint64(s.n)))
	s.bestCost = -1
	for range starts {
		s.descend(dice)
	}
}

func (s *search) descend(dice *rand.Rand) {
	at := make([]int, s.n)
	gain := make([][]int64, s.n) // what each hub costs on each channel
	for v := range at {
		gain[v] = append([]int64(nil), s.alone[v]...)
	}
	for v := range at {
		at[v] = s.anyCheapest(gain[v], dice)
		for u := range at {
			if u != v && s.alone[u][at[v]] >= 0 {
				gain[u][at[v]] += s.pair[u][v]
			}
		}
	}
	cost := s.cost(at)
	s.keep(at, cost)
	tabu := make([][]int, s.n)
	for v := range tabu {
		tabu[v] = make([]int, s.k)
	}
	for move := 1; move <= movesPerHub*s.n; move++ {
		bv, bk, best, ties := -1, 0, int64(0), 0
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
				case bv < 0 || d < best:
					bv, bk, best, ties = v, k, d, 1
				case d == best:
					if ties++; dice.IntN(ties) == 0 {
						bv, bk = v, k
					}
				}
			}
		}
		if bv < 0 {
			return
		}
		from := at[bv]
		at[bv], cost = bk, cost+best
		tabu[bv][from] = move + 5 + dice.IntN(10)
		for u := range at {
			if u == bv {
				continue
			}
			if s.alone[u][from] >= 0 {
				gain[u][from] -= s.pair[u][bv]
			}
			if s.alone[u][bk] >= 0 {
				gain[u][bk] += s.pair[u][bv]
			}
		}
		s.keep(at, cost)
	}
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
