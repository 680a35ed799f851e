package spectrum

// lower goes from the assignment that was found to one that costs the same and has
// lower channels for the first hubs: by exchanging channels that are alike for
// everybody, and by moving one hub at a time. Each step lowers the channel of some
// hub and leaves those before it alone, so it ends. It is not proved that no other
// assignment of the same cost has lower ones still.
func (s *search) lower() {
	place := make([]int, s.n) // by hub
	for v, i := range s.hub {
		place[i] = v
	}
	for again := true; again; {
		s.exchange(place)
		again = false
		for _, v := range place {
			again = s.sink(v) || again
		}
	}
}

// sink moves a hub to the lowest channel on which it costs no more.
func (s *search) sink(v int) bool {
	owes := func(k int) int64 {
		sum := s.alone[v][k]
		for u, c := range s.best {
			if u != v && c == k {
				sum += s.pair[v][u]
			}
		}
		return sum
	}
	is := owes(s.best[v])
	for k := range s.best[v] {
		if s.alone[v][k] >= 0 && owes(k) == is {
			s.best[v] = k
			return true
		}
	}
	return false
}

// exchange gives the lowest of channels that are alike to the first hub on any of
// them, and so on.
func (s *search) exchange(place []int) {
	to := make([]int, s.k)
	for k := range to {
		to[k] = -1
	}
	taken := make([]bool, s.k)
	for _, v := range place {
		from := s.best[v]
		for k := 0; to[from] < 0; k++ {
			if s.class[k] == s.class[from] && !taken[k] {
				to[from], taken[k] = k, true
			}
		}
	}
	for v, k := range s.best {
		s.best[v] = to[k]
	}
}
