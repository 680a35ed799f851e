package mesh

import "pairwalk/events"

// Joins says what a device that is not on the net yet would join its hub through,
// as the net is now, and over which link: that with the best path home. A sure
// link to a device that is sure to reach the hub comes before a doubtful one. Of a
// device that has a path it is the first step of that. It is false where no link is
// known, or none that leads home.
func (n *Net) Joins(t events.Tag) (via events.Tag, l Link, ok bool) {
	i, known := n.indexOf(t)
	if !known {
		return "", Link{}, false
	}
	d := &n.s.Devices[i]
	hub, on := n.hubOf(d)
	if !on {
		hub = d.Hub
	}
	f := n.field(hub)
	j, known := n.g.deviceNode(i, t)
	if f == nil || f.down != nil || !known {
		return "", Link{}, false
	}
	v, here := f.w.local(j)
	if !here {
		return "", Link{}, false
	}
	if r, on := n.Reach(t); on && r.Path != nil {
		p := &f.sure
		if !p.reaches(v) {
			p = &f.any
		}
		parent, edge := p.up(v)
		return r.Path[1], f.link(n.g, v, parent, edge), true
	}
	best, found := way{}, false
	for _, h := range f.w.any.Halves(v) {
		if w, leads := n.wayBy(f, h.To, h.Edge); leads && (!found || w.better(best)) {
			best, found = w, true
		}
	}
	if !found {
		return "", Link{}, false
	}
	return f.w.node(n.g, best.to).tag, f.link(n.g, v, best.to, best.edge), true
}

// way is one link that a device may join by.
type way struct {
	to, edge int32
	doubts   int   // 0: all sure
	cost     int64 // ETX of the whole way home, as far as it is known
	hops     int32
}

func (a way) better(b way) bool {
	switch {
	case a.doubts != b.doubts:
		return a.doubts < b.doubts
	case a.cost != b.cost:
		return a.cost < b.cost
	case a.hops != b.hops:
		return a.hops < b.hops
	}
	return a.to < b.to
}

// wayBy says how well a link to a neighbour leads home, if at all.
func (n *Net) wayBy(f *field, u, edge int32) (way, bool) {
	if !f.up[u] || !f.relays[u] {
		return way{}, false
	}
	x := f.w.strength(edge)
	w := way{to: u, edge: edge, cost: x.etx}
	if !x.sure {
		w.doubts += 2
	}
	switch {
	case f.sure.reaches(u):
		w.cost, w.hops = w.cost+f.sure.tree.Cost[u], f.sure.tree.Hops[u]
	case n.observed(f, u):
		w.doubts++
	case f.any.reaches(u):
		w.doubts += 2
		w.cost, w.hops = w.cost+f.any.tree.Cost[u], f.any.tree.Hops[u]
	default:
		return way{}, false
	}
	return w, true
}

// observed says whether a node was observed to have a path.
func (n *Net) observed(f *field, v int32) bool {
	if f.devices[v] == nil {
		return false
	}
	r, _ := n.Reach(f.devices[v].Device)
	return r.Answer == Yes
}
