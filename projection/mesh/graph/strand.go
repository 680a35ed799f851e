package graph

import "slices"

// StrandsWithout gives for each group the nodes outside it that lose every path if
// all of the group goes; nil for none. Nodes without a path are in no list.
//
// One tree of paths is kept for all groups. Whoever's path in it runs through
// nobody of a group keeps it; only the others are looked at, and a look ends at the
// first neighbour that still has one.
func (g *Graph) StrandsWithout(root int32, v View, gone [][]int32, s *Scratch) [][]int32 {
	out := make([][]int32, len(gone))
	if !v.Up[root] {
		return out
	}
	f := &s.flood
	f.fill(g, root, v)
	f.without, f.keeps = cleared(f.without, g.Len()), cleared(f.keeps, g.Len())
	for i, group := range gone {
		matters := false
		for _, x := range group {
			f.without[x] = true
			matters = matters || f.has[x] && v.carries(root, x)
		}
		if matters { // a group of leaves takes nobody's path
			f.cut()
			out[i] = f.stranded(g, root, v)
		}
		for _, x := range group {
			f.without[x] = false
		}
	}
	return out
}

// flood is a search in width from the root, and what is left of its tree without
// some nodes.
type flood struct {
	has     []bool  // has a path
	order   []int32 // those that have, each after its parent
	parent  []int32
	without []bool
	keeps   []bool  // has a path without the nodes left out
	orphans []int32 // those that are not left out and whose path in the tree is gone
	queue   []int32
}

// fill finds all that have a path.
func (f *flood) fill(g *Graph, root int32, v View) {
	n := g.Len()
	f.has, f.parent = cleared(f.has, n), cleared(f.parent, n)
	most := 0
	for _, up := range v.Up {
		if up {
			most++
		}
	}
	all := g.all(v)
	f.order = append(f.order[:0], root)
	f.has[root] = true
	for head := 0; head < len(f.order) && len(f.order) < most; head++ {
		u := f.order[head]
		if !v.carries(root, u) {
			continue
		}
		for _, h := range g.Halves(u) {
			if w := h.To; v.Up[w] && !f.has[w] && (all || g.edges[h.Edge].Width >= v.Least) {
				f.has[w], f.parent[w] = true, u
				f.order = append(f.order, w)
			}
		}
	}
}

// cut follows the tree without some nodes, and gathers whose path in it is gone.
func (f *flood) cut() {
	f.orphans = f.orphans[:0]
	for i, x := range f.order {
		f.keeps[x] = !f.without[x] && (i == 0 || f.keeps[f.parent[x]])
		if !f.keeps[x] && !f.without[x] {
			f.orphans = append(f.orphans, x)
		}
	}
}

// stranded finds other paths for the orphans, and lists those that have none, lowest
// first; nil for none.
func (f *flood) stranded(g *Graph, root int32, v View) []int32 {
	all := g.all(v)
	queue := f.queue[:0]
	if !f.without[root] {
		for _, x := range f.orphans {
			if g.adopted(x, root, v, f.keeps, all) {
				f.keeps[x] = true
				queue = append(queue, x)
			}
		}
	}
	for head := 0; head < len(queue) && len(queue) < len(f.orphans); head++ {
		u := queue[head]
		if !v.carries(root, u) {
			continue
		}
		for _, h := range g.Halves(u) {
			if w := h.To; f.has[w] && !f.keeps[w] && !f.without[w] && (all || g.edges[h.Edge].Width >= v.Least) {
				f.keeps[w] = true
				queue = append(queue, w)
			}
		}
	}
	f.queue = queue
	var out []int32
	for _, x := range f.orphans {
		if !f.keeps[x] {
			out = append(out, x)
		}
	}
	slices.Sort(out)
	return out
}

// adopted says whether a node is linked to one that carries and keeps its path.
func (g *Graph) adopted(x, root int32, v View, keeps []bool, all bool) bool {
	for _, h := range g.Halves(x) {
		if keeps[h.To] && v.carries(root, h.To) && (all || g.edges[h.Edge].Width >= v.Least) {
			return true
		}
	}
	return false
}

// Islands groups the nodes that are up and have no path to the root: those linked
// to each other, over whichever nodes of the group, are one island. Each is
// listed lowest node first, and the islands by their lowest node.
func (g *Graph) Islands(root int32, v View, s *Scratch) [][]int32 {
	n := g.Len()
	seen := make([]bool, n)
	if v.Up[root] {
		s.flood.fill(g, root, v)
		copy(seen, s.flood.has)
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
