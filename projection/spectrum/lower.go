package spectrum

import "slices"

// lower goes from the assignment that was found to one that costs the same and has
// lower channels for the first hubs: by moving one
// hub, and by exchanging two hubs or all hubs of two channels. Each step lowers the channel of some
// hub and leaves those before it alone, so it ends. It is not proved that no other
// assignment of the same cost has lower ones still.
func (s *search) lower() {
	place := make([]int, s.n) // by hub
	for v, i := range s.hub {
		place[i] = v
	}
	for again := true; again; {
		again = s.exchange(place)
		for i, v := range place {
			again = s.sink(v) || again
			for _, u := range place[i+1:] {
				again = s.trade(v, u) || again
			}
		}
	}
}

// owes is what a hub costs on a channel, but for what one other has to do with it.
func (s *search) owes(v, k, but int) int64 {
	sum := s.alone[v][k]
	for u, c := range s.best {
		if u != v && u != but && c == k {
			sum += s.pair[v][u]
		}
	}
	return sum
}

// trade exchanges the channels of two hubs if that costs the same and gives the
// first the lower one.
func (s *search) trade(v, u int) bool {
	a, b := s.best[v], s.best[u]
	if a <= b || s.alone[v][b] < 0 || s.alone[u][a] < 0 || s.owes(v, b, u)+s.owes(u, a, v) != s.owes(v, a, u)+s.owes(u, b, v) {
		return false
	}
	s.best[v], s.best[u] = b, a
	return true
}

// sink moves a hub to the lowest channel on which it costs no more.
func (s *search) sink(v int) bool {
	is := s.owes(v, s.best[v], v)
	for k := range s.best[v] {
		if s.alone[v][k] >= 0 && s.owes(v, k, v) == is {
			s.best[v] = k
			return true
		}
	}
	return false
}

// exchange gives the hubs of two channels each other's, where that costs the same
// and the first hub on either gets the lower one.
func (s *search) exchange(place []int) (again bool) {
	for a := range s.k {
		for b := a + 1; b < s.k; b++ {
			first := slices.IndexFunc(place, func(v int) bool { return s.best[v] == a || s.best[v] == b })
			if first >= 0 && s.best[place[first]] == b && s.swapped(s.best, a, b) == 0 {
				s.turn(s.best, a, b)
				again = true
			}
		}
	}
	return again
}
