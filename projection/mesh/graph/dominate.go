package graph

// walk is the memory of a search in depth.
type walk struct {
	found  []int32 // when a node was first come upon, from 1; 0 not yet
	low    []int32 // the earliest node that is reached from below it by one more link
	parent []int32
	next   []int32 // which of its links to try next
	depth  []int32 // in the tree of dominators
	stack  []int32
	order  []int32 // nodes as they were come upon
}

// Dominators gives for every node the nearest other one that all its paths to the
// root run through: the root itself where nothing else does. It is -1 for the
// root and for nodes without a path.
func (g *Graph) Dominators(root int32, v View, s *Scratch) []int32 {
	idom := make([]int32, g.Len())
	for i := range idom {
		idom[i] = -1
	}
	if !v.Up[root] {
		return idom
	}
	w := &s.walk
	g.descend(root, v, w)
	w.depth = cleared(w.depth, g.Len())
	for _, c := range w.order[1:] {
		u := w.parent[c]
		if idom[c] = u; w.low[c] < w.found[u] {
			idom[c] = idom[u] // c is in one block with u and what u hangs on
		}
		w.depth[c] = w.depth[idom[c]] + 1
	}
	for n := range int32(g.Len()) {
		if n != root && v.Up[n] && !v.Relays[n] {
			idom[n] = g.carried(n, root, v, idom, w)
		}
	}
	return idom
}

// carried is what a leaf hangs on: the nearest node that all its relays hang on.
func (g *Graph) carried(n, root int32, v View, idom []int32, w *walk) int32 {
	on, all := int32(-1), g.all(v)
	for _, h := range g.Halves(n) {
		if f := w.found[h.To]; f == 0 || f == passedOver || !all && g.edges[h.Edge].Width < v.Least {
			continue
		}
		if on < 0 {
			on = h.To
		} else {
			on = shared(on, h.To, idom, w.depth)
		}
		if on == root {
			break // nothing is nearer to the root
		}
	}
	return on
}

// shared is the nearest node that both a and b hang on, or are.
func shared(a, b int32, idom, depth []int32) int32 {
	for a != b {
		if depth[a] < depth[b] {
			a, b = b, a
		}
		a = idom[a]
	}
	return a
}

// descend searches the root and the relays in depth, and notes how far up each
// can get past its parent.
func (g *Graph) descend(root int32, v View, w *walk) {
	n := g.Len()
	w.found, w.low, w.parent, w.next = cleared(w.found, n), cleared(w.low, n), cleared(w.parent, n), cleared(w.next, n)
	for u := range w.found {
		if !v.Up[u] || !v.carries(root, int32(u)) {
			w.found[u] = passedOver
		}
	}
	w.order = append(w.order[:0], root)
	w.stack = append(w.stack[:0], root)
	w.found[root], w.low[root], w.parent[root] = 1, 1, -1
	all := g.all(v)
	for len(w.stack) > 0 {
		u := w.stack[len(w.stack)-1]
		to := g.deeper(u, v.Least, all, w)
		if to < 0 {
			w.stack = w.stack[:len(w.stack)-1]
			if p := w.parent[u]; p >= 0 {
				w.low[p] = min(w.low[p], w.low[u])
			}
			continue
		}
		w.order = append(w.order, to)
		w.found[to], w.parent[to] = int32(len(w.order)), u
		w.low[to] = w.found[to]
		w.stack = append(w.stack, to)
	}
}

// passedOver stands for when a node was found that carries nothing. It is later
// than all, so that it makes nothing low.
const passedOver = int32(1<<31 - 1)

// deeper is the next node to go to from u, -1 for none; and notes how far up the
// links before it lead. That to the parent leads no further than the parent.
func (g *Graph) deeper(u, least int32, all bool, w *walk) int32 {
	halves, low := g.Halves(u), w.low[u]
	for i := w.next[u]; int(i) < len(halves); i++ {
		h := halves[i]
		f := w.found[h.To]
		if !all && g.edges[h.Edge].Width < least {
			continue
		}
		if f == 0 {
			w.next[u], w.low[u] = i+1, low
			return h.To
		}
		low = min(low, f)
	}
	w.next[u], w.low[u] = int32(len(halves)), low
	return -1
}

// Hanging is a tree of dominators laid out so that whatever hangs on a node is one
// stretch of a list.
type Hanging struct {
	order []int32 // the root and what has a path, each before what hangs on it
	from  []int32 // where each node stands in order
	to    []int32 // where what hangs on it ends
}

// Hang lays out the tree of some dominators.
func Hang(root int32, idom []int32) *Hanging {
	n := len(idom)
	t := &Hanging{from: make([]int32, n), to: make([]int32, n)}
	child, sibling := make([]int32, n), make([]int32, n) // 1 + node
	for v := int32(n) - 1; v >= 0; v-- {
		if p := idom[v]; p >= 0 {
			sibling[v], child[p] = child[p], v+1
		}
	}
	t.order = append(make([]int32, 0, n), root)
	for v := root; ; {
		if child[v] > 0 {
			v = child[v] - 1
			t.from[v] = int32(len(t.order))
			t.order = append(t.order, v)
			continue
		}
		for v != root && sibling[v] == 0 {
			t.to[v] = int32(len(t.order))
			v = idom[v]
		}
		t.to[v] = int32(len(t.order))
		if v == root {
			return t
		}
		v = sibling[v] - 1
		t.from[v] = int32(len(t.order))
		t.order = append(t.order, v)
	}
}

// On lists what hangs on a node, itself left out. It must not be changed.
func (t *Hanging) On(v int32) []int32 {
	if t.to[v] == 0 {
		return nil
	}
	return t.order[t.from[v]+1 : t.to[v]]
}

// hangs says whether v is u or hangs on it; both have a path.
func (t *Hanging) hangs(v, u int32) bool { return t.from[u] <= t.from[v] && t.from[v] < t.to[u] }

// Strands gives for every relay the nodes that lose every path if it goes, itself
// left out; nil for none, and for the root. The lists share memory and must not be
// changed.
func (g *Graph) Strands(root int32, v View, s *Scratch) [][]int32 {
	out := make([][]int32, g.Len())
	if !v.Up[root] {
		return out
	}
	t := Hang(root, g.Dominators(root, v, s))
	for n := range out {
		if on := t.On(int32(n)); int32(n) != root && len(on) > 0 {
			out[n] = on
		}
	}
	return out
}

// Disjoint says which nodes have two paths to the root with nothing in common but
// their ends, given the dominators of the same view. A link to the root is one
// path.
func (g *Graph) Disjoint(root int32, v View, idom []int32, _ *Scratch) []bool {
	out := make([]bool, g.Len())
	if !v.Up[root] {
		return out
	}
	t := Hang(root, idom)
	for n := range int32(g.Len()) {
		out[n] = idom[n] == root && g.apart(n, root, v, idom, t)
	}
	return out
}

// apart says whether a node that hangs on nothing but the root has two paths to it
// with nothing in common (Menger): it has unless its only one is a link.
func (g *Graph) apart(n, root int32, v View, idom []int32, t *Hanging) bool {
	direct := false
	for _, h := range g.Halves(n) {
		switch u := h.To; {
		case g.edges[h.Edge].Width < v.Least || !v.Up[u]:
		case u == root:
			direct = true
		case v.Relays[u] && idom[u] >= 0 && !t.hangs(u, n):
			return true
		}
	}
	return !direct
}
