package mesh

import (
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh/graph"
)

// Mend is the ground of the same site at another moment, just as Survey would have
// it. Whatever of this one holds there too is shared: the walls, the calibration,
// and a hub's links, of which those are worked out anew that a device has which
// came, went or was moved, and those that were measured, since a measurement ages from
// hour to hour.
func (g *Ground) Mend(s *projection.Site) *Ground { return survey(s, g) }

// Of is the ground of one hub alone. A Net on it answers for the devices of that hub,
// as one on the whole ground does, and of no others; and so do those that are mended
// from it, for which the links of other hubs are not worked out.
func (g *Ground) Of(hub events.HubID) *Ground {
	one := *g
	one.only, one.networks = hub, nil
	for _, w := range g.networks {
		if w.id == hub {
			one.networks = []*network{w}
		}
	}
	return &one
}

// patch is a network that is made from an older one of the same hub.
type patch struct {
	g     *Ground
	w     *network
	old   *network
	now   []int32 // of each node of the old one: its place here, -1 where it is not the same any more
	fresh []int32 // nodes here that are none of the old ones
	whole bool    // every node is at its old place
}

// mend makes a network from the older ground's, if that can be done.
func (g *Ground) mend(w *network, old *Ground) bool {
	before := old.network(w)
	if before == nil || before.thin != "" || before.dumb != w.dumb || !g.sameAir(old) {
		return false
	}
	p := patch{g: g, w: w, old: before}
	if !p.match(old) || len(p.fresh) > len(w.nodes)/2 {
		return false
	}
	if p.whole && g.ratesAs(old) {
		p.share()
		return true
	}
	if len(p.fresh) > 0 {
		cells := newGrid(g, w)
		if g.thinned(w, &cells) > 0 {
			return false
		}
		p.apply(&cells)
		return true
	}
	p.apply(nil)
	return true
}

// network is the older network of the same hub, nil where there is none.
func (g *Ground) network(w *network) *network {
	for _, x := range g.networks {
		if x.id == w.id {
			return x
		}
	}
	return nil
}

// sameAir says whether what is predicted between two places is what it was.
func (g *Ground) sameAir(old *Ground) bool {
	for b := range g.bands {
		if g.bands[b].pred != old.bands[b].pred {
			return false
		}
	}
	return g.sameWalls(old) && g.fade == old.fade
}

// sameWalls says whether the very walls of an older ground are this one's.
func (g *Ground) sameWalls(old *Ground) bool {
	a, b := g.walls.list, old.walls.list
	return len(a) == 0 && len(b) == 0 || len(a) > 0 && len(b) > 0 && &a[0] == &b[0]
}

// ratesAs says whether what was measured comes to what it did.
func (g *Ground) ratesAs(old *Ground) bool {
	return g.measuredAs(old) && g.now == old.now && g.doubt == old.doubt && g.measuredDays == old.measuredDays
}

// match finds the old nodes again; false where they are in another order, or the
// hub is not where it was.
func (p *patch) match(old *Ground) bool {
	g, w := p.g, p.w
	if g.nodes[w.nodes[0]] != old.nodes[p.old.nodes[0]] {
		return false
	}
	p.now = make([]int32, len(p.old.nodes))
	for v := range p.now[1:] {
		p.now[v+1] = -1
	}
	last := int32(0)
	for v := int32(1); int(v) < len(w.nodes); v++ {
		n := &g.nodes[w.nodes[v]]
		i, known := old.index[n.tag]
		u, here := int32(0), false
		if known && i < old.firstHub && old.nodes[i] == *n {
			u, here = p.old.local(i)
		}
		switch {
		case !here:
			p.fresh = append(p.fresh, v)
		case u <= last:
			return false
		default:
			p.now[u], last = v, u
		}
	}
	p.whole = len(p.fresh) == 0 && len(w.nodes) == len(p.old.nodes)
	return true
}

// apply takes over the links that hold, and works out the others.
func (p *patch) apply(cells *grid) {
	again := p.again()
	made := &network{id: p.w.id, nodes: p.w.nodes}
	for _, x := range again {
		if p.g.isMeasured(p.w, x.a, x.b) || p.w.near(p.g, x.a, x.b) {
			made.add(p.g, x.a, x.b)
		}
	}
	for i, v := range p.fresh {
		p.join(made, cells, v, p.fresh[:i])
	}
	made.sort()
	if p.whole && p.unchanged(made, again) {
		p.share()
		return
	}
	p.merge(made, again)
	p.w.connect()
}

// share takes over all links.
func (p *patch) share() {
	p.w.edges, p.w.facts, p.w.any, p.w.sure = p.old.edges, p.old.facts, p.old.any, p.old.sure
}

// again lists the pairs of nodes that were there whose link is worked out anew:
// those that are measured, and those that were.
func (p *patch) again() []pair {
	var out []pair
	for _, x := range p.old.known {
		if a, b := p.now[x.a], p.now[x.b]; a >= 0 && b >= 0 {
			out = append(out, pair{a, b})
		}
	}
	for _, x := range p.w.known {
		if !p.isFresh(x.a) && !p.isFresh(x.b) {
			out = append(out, x)
		}
	}
	slices.SortFunc(out, pair.compare)
	return slices.Compact(out)
}

func (p *patch) isFresh(v int32) bool {
	_, fresh := slices.BinarySearch(p.fresh, v)
	return fresh
}

// near says whether a link between two nodes is looked for where none is measured.
func (w *network) near(g *Ground, v, u int32) bool {
	a, b := w.node(g, v), w.node(g, u)
	return a.placed && b.placed && w.talks(g, v, u) && g.within(a, b)
}

// join works out the links of a node that was not there, but for those to others of
// that sort that had their turn.
func (p *patch) join(made *network, cells *grid, v int32, done []int32) {
	g, w := p.g, p.w
	for _, x := range w.known {
		if other := x.a + x.b - v; (x.a == v || x.b == v) && !slices.Contains(done, other) {
			made.add(g, x.a, x.b)
		}
	}
	if w.near(g, 0, v) && !g.isMeasured(w, 0, v) {
		made.add(g, 0, v)
	}
	for _, u := range g.around(w, cells, v, 1, nil) {
		if !slices.Contains(done, u) && !g.isMeasured(w, v, u) {
			made.add(g, v, u)
		}
	}
}

// unchanged says whether all that was worked out anew came out as it was.
func (p *patch) unchanged(made *network, again []pair) bool {
	i := 0
	for _, x := range again {
		at, was := slices.BinarySearchFunc(p.old.edges, x, comparePlace)
		is := i < len(made.edges) && made.edges[i].A == x.a && made.edges[i].B == x.b
		if was != is || is && (made.edges[i] != p.old.edges[at] || made.facts[i] != p.old.facts[at]) {
			return false
		}
		if is {
			i++
		}
	}
	return true
}

func comparePlace(e graph.Edge, x pair) int { return pair{e.A, e.B}.compare(x) }

// merge puts what was made anew among the links that hold, all by their ends.
func (p *patch) merge(made *network, again []pair) {
	w := p.w
	w.edges = make([]graph.Edge, 0, len(p.old.edges)+len(made.edges))
	w.facts = make([]fact, 0, cap(w.edges))
	touched := make([]bool, len(w.nodes))
	for _, x := range again {
		touched[x.a] = true
	}
	next := 0
	take := func(upto pair) {
		for ; next < len(made.edges) && comparePlace(made.edges[next], upto) < 0; next++ {
			w.edges, w.facts = append(w.edges, made.edges[next]), append(w.facts, made.facts[next])
		}
	}
	for i := range p.old.edges {
		e := p.old.edges[i]
		e.A, e.B = p.now[e.A], p.now[e.B]
		if e.A < 0 || e.B < 0 {
			continue
		}
		if touched[e.A] {
			if _, anew := slices.BinarySearchFunc(again, pair{e.A, e.B}, pair.compare); anew {
				continue
			}
		}
		take(pair{e.A, e.B})
		w.edges, w.facts = append(w.edges, e), append(w.facts, p.old.facts[i])
	}
	take(pair{int32(len(w.nodes)), 0})
}
