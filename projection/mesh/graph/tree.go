package graph

import "math"

// Tree is a path to the root for every node that has one.
type Tree struct {
	Parent []int32 // next node towards the root; -1 for the root and where there is no path
	Edge   []int32 // the link to it; of no meaning where there is none
	Hops   []int32 // links to the root; -1 where there is no path
	Width  []int32 // of the narrowest link on the path; Unlimited at the root
	Cost   []int64 // sum over the path
}

// Unlimited is the width of a path of no links.
const Unlimited = int32(1<<31 - 1)

// Reached says whether a node has a path.
func (t *Tree) Reached(v int32) bool { return t.Hops[v] >= 0 }

// Path lists the nodes from v to the root, both included; nil where there is none.
func (t *Tree) Path(v int32) []int32 {
	if !t.Reached(v) {
		return nil
	}
	out := make([]int32, 0, t.Hops[v]+1)
	for ; v >= 0; v = t.Parent[v] {
		out = append(out, v)
	}
	return out
}

func newTree(n int) *Tree {
	t := &Tree{make([]int32, n), make([]int32, n), make([]int32, n), make([]int32, n), make([]int64, n)}
	for i := range n {
		t.Parent[i], t.Hops[i] = -1, -1
	}
	return t
}

// Scratch lends memory to searches; the zero value is ready. It is for one search
// at a time.
type Scratch struct {
	queue []int32
	heap  []int32
	place []int32 // in the heap, -1 outside
	done  []bool
	best  []int64
	walk  walk
	flood flood
}

// clear gives a slice of n zeros, in the old one's memory if that is enough.
func cleared[T any](old []T, n int) []T {
	if cap(old) < n {
		return make([]T, n)
	}
	old = old[:n]
	clear(old)
	return old
}

// Hops finds paths of the fewest links; of those with as few, the one whose path
// is widest, then the one by the lower node.
func (g *Graph) Hops(root int32, v View, s *Scratch) *Tree {
	t := newTree(g.Len())
	if !v.Up[root] {
		return t
	}
	t.Hops[root], t.Width[root] = 0, Unlimited
	queue := append(s.queue[:0], root)
	for head := 0; head < len(queue); head++ {
		n := queue[head]
		if !v.carries(root, n) {
			continue
		}
		for _, h := range g.Halves(n) {
			e := &g.edges[h.Edge]
			if e.Width < v.Least || !v.Up[h.To] {
				continue
			}
			width := min(t.Width[n], e.Width)
			switch {
			case t.Hops[h.To] < 0:
				queue = append(queue, h.To)
			case t.Hops[h.To] != t.Hops[n]+1 || width < t.Width[h.To] || width == t.Width[h.To] && n > t.Parent[h.To]:
				continue
			}
			t.Edge[h.To] = h.Edge
			t.Parent[h.To], t.Hops[h.To], t.Width[h.To], t.Cost[h.To] = n, t.Hops[n]+1, width, t.Cost[n]+e.Cost
		}
	}
	s.queue = queue
	return t
}

// Cheapest finds paths of the least cost; of those that cost the same, one of
// fewer links, then the one by the lower node. It settles one node after the other,
// the cheapest first (Dijkstra 1959).
//
// Most links of a dense network make no path better, so the prices lie beside the
// halves: a link is looked at only where it might.
func (g *Graph) Cheapest(root int32, v View, s *Scratch) *Tree {
	t := newTree(g.Len())
	if !v.Up[root] {
		return t
	}
	best := s.costs(v)
	h := s.nodes(g.Len(), func(a, b int32) bool {
		return t.Cost[a] < t.Cost[b] || t.Cost[a] == t.Cost[b] && (t.Hops[a] < t.Hops[b] || t.Hops[a] == t.Hops[b] && a < b)
	})
	t.Hops[root], t.Width[root] = 0, Unlimited
	h.lift(root)
	for len(h.items) > 0 {
		u := h.pop()
		best[u] = settled
		if !v.carries(root, u) {
			continue
		}
		so, hops := t.Cost[u], t.Hops[u]+1
		prices := g.prices[g.first[u]:g.first[u+1]]
		for i, half := range g.Halves(u) {
			w := half.To
			cost := so + int64(prices[i])
			if best[w] < cost || best[w] == cost && !sooner(t, w, u, hops) {
				continue
			}
			e := &g.edges[half.Edge]
			if cost = so + e.Cost; e.Width < v.Least || best[w] < cost || best[w] == cost && !sooner(t, w, u, hops) {
				continue
			}
			best[w] = cost
			t.Parent[w], t.Edge[w], t.Hops[w], t.Width[w], t.Cost[w] = u, half.Edge, hops, min(t.Width[u], e.Width), cost
			h.lift(w)
		}
	}
	s.heap = h.items
	return t
}

// sooner says whether, of two ways at the same cost, the one by a parent beats what
// a node has.
func sooner(t *Tree, n, parent, hops int32) bool {
	return hops < t.Hops[n] || hops == t.Hops[n] && parent < t.Parent[n]
}

// settled is the cost of a node that nothing can make cheaper.
const settled = -1

// costs is the best cost of every node so far: none yet, or settled of those that
// are not there.
func (s *Scratch) costs(v View) []int64 {
	s.best = cleared(s.best, len(v.Up))
	for n, up := range v.Up {
		if s.best[n] = settled; up {
			s.best[n] = math.MaxInt64
		}
	}
	return s.best
}

// Widest finds paths whose narrowest link is as wide as can be; ties go to fewer
// links as far as the search sees them, then to the lower node.
func (g *Graph) Widest(root int32, v View, s *Scratch) *Tree {
	n := g.Len()
	t := newTree(n)
	if !v.Up[root] {
		return t
	}
	s.done = cleared(s.done, n)
	h := s.nodes(n, func(a, b int32) bool {
		return t.Width[a] > t.Width[b] || t.Width[a] == t.Width[b] && (t.Hops[a] < t.Hops[b] || t.Hops[a] == t.Hops[b] && a < b)
	})
	t.Hops[root], t.Width[root] = 0, Unlimited
	h.lift(root)
	for len(h.items) > 0 {
		u := h.pop()
		s.done[u] = true
		if !v.carries(root, u) {
			continue
		}
		for _, half := range g.Halves(u) {
			w, e := half.To, &g.edges[half.Edge]
			if e.Width < v.Least || !v.Up[w] || s.done[w] {
				continue
			}
			hops, width := t.Hops[u]+1, min(t.Width[u], e.Width)
			if t.Hops[w] >= 0 && (width < t.Width[w] || width == t.Width[w] && !sooner(t, w, u, hops)) {
				continue
			}
			t.Parent[w], t.Edge[w], t.Hops[w], t.Width[w], t.Cost[w] = u, half.Edge, hops, width, t.Cost[u]+e.Cost
			h.lift(w)
		}
	}
	s.heap = h.items
	return t
}

// heap is a binary heap of nodes that knows where each one is.
type heap struct {
	items []int32
	place []int32 // 1 + index, 0 outside
	less  func(a, b int32) bool
}

// lift puts a node in, or moves one up that has become better.
func (h *heap) lift(n int32) {
	i := h.place[n] - 1
	if i < 0 {
		i = int32(len(h.items))
		h.items = append(h.items, n)
	}
	for i > 0 {
		up := (i - 1) / 2
		if !h.less(n, h.items[up]) {
			break
		}
		h.items[i] = h.items[up]
		h.place[h.items[i]] = i + 1
		i = up
	}
	h.items[i], h.place[n] = n, i+1
}

// nodes is an empty heap.
func (s *Scratch) nodes(n int, less func(a, b int32) bool) heap {
	s.place = cleared(s.place, n)
	return heap{items: s.heap[:0], place: s.place, less: less}
}

func (h *heap) pop() int32 {
	top := h.items[0]
	h.place[top] = 0
	last := h.items[len(h.items)-1]
	h.items = h.items[:len(h.items)-1]
	if n := int32(len(h.items)); n > 0 {
		i := int32(0)
		for {
			down := 2*i + 1
			if down >= n {
				break
			}
			if down+1 < n && h.less(h.items[down+1], h.items[down]) {
				down++
			}
			if !h.less(h.items[down], last) {
				break
			}
			h.items[i] = h.items[down]
			h.place[h.items[i]] = i + 1
			i = down
		}
		h.items[i], h.place[last] = last, i+1
	}
	return top
}
