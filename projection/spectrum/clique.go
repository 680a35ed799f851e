package spectrum

import "slices"

// among bounds what the hubs from one on must cost: what each pays at least alone,
// and what those must pay among themselves that all disturb each other. Of q such
// hubs on k channels some share one; with the same weight w between any two it
// costs least to share evenly, w·Σ nᵢ(nᵢ−1)/2. Groups are taken one after the other,
// and the weight that one has used up is gone for the next, so their costs add up.
func (s *search) among(from int) int64 {
	sum := int64(0)
	left := make([][]int64, s.n)
	for v := from; v < s.n; v++ {
		sum += cheapest(s.alone[v])
		left[v] = slices.Clone(s.pair[v])
	}
	for range s.n { // more groups would tell little
		group, w := s.group(left, from)
		if len(group) <= s.k {
			break
		}
		sum += w * even(len(group), s.k)
		for i, v := range group {
			for _, u := range group[:i] {
				left[v][u] -= w
				left[u][v] -= w
			}
		}
	}
	return sum
}

// group grows a group of hubs that all disturb each other, from whoever has most
// weight left, and says how much any two of them do at least.
func (s *search) group(left [][]int64, from int) (group []int, w int64) {
	load := make([]int64, s.n)
	var order []int
	for v := from; v < s.n; v++ {
		for u := from; u < s.n; u++ {
			if u != v {
				load[v] += left[v][u]
			}
		}
		order = append(order, v)
	}
	slices.SortStableFunc(order, func(a, b int) int { return int(min(max(load[b]-load[a], -1), 1)) })
	for _, v := range order {
		if slices.ContainsFunc(group, func(u int) bool { return left[v][u] == 0 }) {
			continue
		}
		for _, u := range group {
			if w == 0 || left[v][u] < w {
				w = left[v][u]
			}
		}
		group = append(group, v)
	}
	return group, w
}

// even is how many pairs share a channel if q hubs share k channels evenly.
func even(q, k int) int64 {
	each, more := int64(q/k), int64(q%k)
	return int64(k)*each*(each-1)/2 + more*each
}
