package mesh

import (
	"cmp"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh/graph"
)

// network is the links of one hub: those of the devices scheduled on it or paired
// to it, that are at least possible.
type network struct {
	id    events.HubID
	nodes []int32     // ground's indices; the hub's first, then rising
	extra []node      // supposed relays; they come last
	dumb  [bands]bool // radios the hub does not have
	known []pair      // those measured, by their places here
	thin  string      // why not all of its links are drawn, "" if all are

	edges []graph.Edge // all, by their ends
	facts []fact       // of edges
	any   *graph.Graph // of all edges
	sure  *graph.Graph // of those that are sure, by the same numbers
}

// fact is what there is to a link beside its edge.
type fact struct {
	lo, hi, from, to int32
	sure, measured   bool
}

// strength is that of an edge.
func (w *network) strength(edge int32) strength {
	e, x := &w.edges[edge], &w.facts[edge]
	return strength{e.Width, x.lo, x.hi, x.from, x.to, e.Cost, x.sure, x.measured}
}

// local is a node's place in the network.
func (w *network) local(i int32) (int32, bool) {
	if w.nodes[0] == i {
		return 0, true
	}
	v, ok := slices.BinarySearch(w.nodes[1:], i)
	return int32(v + 1), ok
}

// node is a node of the network by its place in it.
func (w *network) node(g *Ground, v int32) *node {
	if n := int(v) - len(w.nodes); n >= 0 {
		return &w.extra[n]
	}
	return &g.nodes[w.nodes[v]]
}

func (w *network) len() int { return len(w.nodes) + len(w.extra) }

// talks says whether two nodes have a radio in common that carries anything: star
// devices talk to the hub alone, and mesh devices that sleep only to those that
// don't.
func (w *network) talks(g *Ground, v, u int32) bool {
	a, b := w.node(g, v), w.node(g, u)
	if a.hub && b.hub || w.dumb[bandOf(a.star || b.star)] {
		return false
	}
	if a.star || b.star {
		return a.hub || b.hub
	}
	return a.hub || b.hub || a.router || b.router
}

// addNetworks draws the links of every hub, or of the only one that is asked for.
func (g *Ground) addNetworks(s *projection.Site, old *Ground) {
	at := map[events.HubID]*network{}
	for i := range s.Hubs {
		h := &s.Hubs[i]
		if g.only != "" && g.only != h.Hub {
			continue
		}
		w := &network{id: h.Hub, nodes: []int32{g.firstHub + int32(i)}}
		w.dumb[meshBand], w.dumb[starBand] = h.Radio == events.Star, h.Radio == events.Mesh
		at[h.Hub] = w
		g.networks = append(g.networks, w)
	}
	for i := range s.Devices {
		d := &s.Devices[i]
		if d.Struck != nil {
			continue
		}
		if w := at[d.Hub]; w != nil {
			w.nodes = append(w.nodes, int32(i))
		}
		if d.Paired != nil && d.Paired.Hub != d.Hub {
			if w := at[d.Paired.Hub]; w != nil {
				w.nodes = append(w.nodes, int32(i))
			}
		}
	}
	for _, w := range g.networks {
		g.findMeasured(w, old)
		if !g.mend(w, old) {
			g.draw(w)
		}
		g.note(w.thin)
	}
}

// findMeasured lists the measured pairs of a network, or takes them over.
func (g *Ground) findMeasured(w *network, old *Ground) {
	if before := old.network(w); before != nil && g.measuredAs(old) && before.dumb == w.dumb && slices.Equal(before.nodes, w.nodes) {
		w.known = before.known
		return
	}
	for _, p := range g.pairs {
		a, okA := w.local(p.a)
		b, okB := w.local(p.b)
		if okA && okB && w.talks(g, a, b) {
			w.known = append(w.known, pairOf(a, b))
		}
	}
}

// draw finds the links of a network that are at least possible.
func (g *Ground) draw(w *network) {
	known := &network{id: w.id, nodes: w.nodes}
	for _, p := range w.known {
		known.add(g, p.a, p.b)
	}
	known.sort()
	next := 0
	take := func(upto pair) {
		for ; next < len(known.edges) && comparePlace(known.edges[next], upto) < 0; next++ {
			w.edges, w.facts = append(w.edges, known.edges[next]), append(w.facts, known.facts[next])
		}
	}
	g.near(w, func(a, b int32) {
		take(pairOf(a, b))
		if !g.isMeasured(w, a, b) {
			w.add(g, a, b)
		}
	})
	take(pair{int32(len(w.nodes)), 0})
	w.connect()
}

// isMeasured says whether there is a measurement between two nodes of a network.
func (g *Ground) isMeasured(w *network, a, b int32) bool {
	return len(g.measured) > 0 && g.measured[pairOf(w.nodes[a], w.nodes[b])] != nil
}

// add puts in a link, if it is at least possible.
func (w *network) add(g *Ground, a, b int32) {
	x, _, ok := g.rateLink(w.nodes[a], w.nodes[b])
	if !ok || !x.possible() {
		return
	}
	w.put(min(a, b), max(a, b), x)
}

func (w *network) put(a, b int32, x strength) {
	w.edges = append(w.edges, graph.Edge{A: a, B: b, Width: x.mean, Cost: x.etx})
	w.facts = append(w.facts, fact{x.lo, x.hi, x.from, x.to, x.sure, x.measured})
}

// sort brings the edges into the order of their ends.
func (w *network) sort() {
	order := make([]int32, len(w.edges))
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortFunc(order, func(i, j int32) int {
		return cmp.Or(cmp.Compare(w.edges[i].A, w.edges[j].A), cmp.Compare(w.edges[i].B, w.edges[j].B))
	})
	edges, facts := make([]graph.Edge, len(order)), make([]fact, len(order))
	for to, from := range order {
		edges[to], facts[to] = w.edges[from], w.facts[from]
	}
	w.edges, w.facts = edges, facts
}

// connect makes the graphs of what was put in, which is in the order of its ends,
// each pair once: so a graph numbers it in the same way.
func (w *network) connect() {
	w.any = graph.New(w.len(), w.edges)
	w.edges, w.sure = w.any.Edges(), w.any
	if slices.ContainsFunc(w.facts, func(x fact) bool { return !x.sure }) {
		w.sure = w.any.Only(func(edge int32) bool { return w.facts[edge].sure })
	}
}
