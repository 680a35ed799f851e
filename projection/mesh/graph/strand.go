package graph

import "slices"

// StrandsWithout gives for each group the nodes outside it that lose every path if
// all of the group goes; nil for none. Nodes without a path are in no list.
func (g *Graph) StrandsWithout(root int32, v View, gone [][]int32, s *Scratch) [][]int32 {
	out := make([][]int32, len(gone))
	if !v.Up[root] {
		return out
	}
	n := g.Len()
	before := make([]bool, n)
	had := g.flood(root, v, s, nil, before, n)
	seen := make([]bool, n)
	without := make([]bool, n)
	for i, group := range gone {
		matters, left := false, had
		for _, x := range group {
			if !without[x] && before[x] {
				left--
				matters = matters || v.carries(root, x)
			}
			without[x] = true
		}
		if matters { // a group of leaves takes nobody's path
			clear(seen)
			if without[root] || g.flood(root, v, s, without, seen, left) < left {
				for x := range int32(n) {
					if before[x] && !seen[x] && !without[x] {
						out[i] = append(out[i], x)
					}
				}
			}
		}
		for _, x := range group {
			without[x] = false
		}
	}
	return out
}

// flood marks what has a path without some nodes, and counts it. It stops once
// enough have been found: nobody can be missing then.
func (g *Graph) flood(root int32, v View, s *Scratch, without, seen []bool, enough int) int {
	queue := append(s.queue[:0], root)
	seen[root] = true
	for head := 0; head < len(queue) && len(queue) < enough; head++ {
		u := queue[head]
		if !v.carries(root, u) {
			continue
		}
		for _, h := range g.Halves(u) {
			if w := h.To; v.Up[w] && !seen[w] && g.edges[h.Edge].Width >= v.Least && (without == nil || !without[w]) {
				seen[w] = true
				queue = append(queue, w)
			}
		}
	}
	s.queue = queue
	return len(queue)
}

// Islands groups the nodes that are up and have no path to the root: those linked
// to each other, over whichever nodes of the group, are one island. Each is
// listed lowest node first, and the islands by their lowest node.
func (g *Graph) Islands(root int32, v View, s *Scratch) [][]int32 {
	n := g.Len()
	seen := make([]bool, n)
	if v.Up[root] {
		g.flood(root, v, s, nil, seen, n)
	}
	var out [][]int32
	for start := range int32(n) {
		if seen[start] || !v.Up[start] {
			continue
		}
		seen[start] = true
		group := []int32{start}
		for head := 0; head < len(group); head++ {
			for _, h := range g.Halves(group[head]) {
				if w := h.To; v.Up[w] && !seen[w] && g.edges[h.Edge].Width >= v.Least {
					seen[w] = true
					group = append(group, w)
				}
			}
		}
		slices.Sort(group)
		out = append(out, group)
	}
	return out
}
