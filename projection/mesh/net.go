package mesh

import (
	"cmp"
	"slices"
	"sync/atomic"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh/graph"
)

// Net is who is on the air at a moment, and who reaches whom. It does not change
// once made, and may be shared.
type Net struct {
	g       *Ground
	s       *projection.Site
	what    What
	without without
	clock   clock
	notes   []string

	fields  []*field // one for each hub, in the site's order
	byHub   map[events.HubID]*field
	spots   []spot // by device, in the site's order
	reaches []Reach
	at      []int32      // a device's place in reaches, -1 none
	paper   []events.Tag // where paths are written, see room
	sheet   int          // how much of that there was last
	ink     []byte       // where words are, see through
}

// spot is where a device is in the net. Node is 0 for one that the survey did not
// know there.
type spot struct {
	field *field
	node  int32
}

// Net puts a moment's devices on the ground: that of the same site and moment.
func (g *Ground) Net(s *projection.Site, w What) *Net { return g.net(s, w, nil) }

// net takes over what holds of an older net, if there is one.
func (g *Ground) net(s *projection.Site, w What, old *Net) *Net {
	n := &Net{g: g, s: s, what: w, clock: clock{s.Location(), s.Moment.When.Value, cmp.Or(w.Now, s.Moment.When.Value)}}
	n.takeAway(w.Without)
	n.addFields()
	n.seat()
	for _, f := range n.fields {
		f.down = n.whyDown(f)
		f.depart(n)
	}
	if len(w.Relays) > 0 {
		n.addRelays(w.Relays)
	}
	n.solve(n.inherit(old))
	return n
}

// Ground is what the net stands on.
func (n *Net) Ground() *Ground { return n.g }

// Model names the propagation model; it belongs beside every answer.
func (n *Net) Model() string { return n.g.Model() }

// Notes lists suppositions that could not be taken up, and why.
func (n *Net) Notes() []string { return append([]string(nil), n.notes...) }

// field is a hub's network at a moment.
type field struct {
	w       *network
	hub     *projection.Hub
	down    *down
	devices []*projection.Device // by node; nil for the hub and supposed relays
	up      []bool               // by node: paired here, powered, not taken away
	relays  []bool
	gone    []departure // latest first
	unknown int         // routers here whose place is not known

	sure, any paths // trees of best paths, by sure links and by possible ones
	idom      []int32
	disjoint  []bool
	islands   []int32 // see carriers
	stranded  atomic.Pointer[stranded]
}

func (n *Net) addFields() {
	n.byHub = make(map[events.HubID]*field, len(n.s.Hubs))
	networks := map[events.HubID]*network{}
	for _, w := range n.g.networks {
		networks[w.id] = w
	}
	for i := range n.s.Hubs {
		h := &n.s.Hubs[i]
		w := networks[h.Hub]
		if w == nil {
			continue // it came up after the survey
		}
		f := &field{w: w, hub: h, devices: make([]*projection.Device, w.len()), up: make([]bool, w.len()), relays: make([]bool, w.len())}
		n.fields = append(n.fields, f)
		n.byHub[h.Hub] = f
	}
}

func (n *Net) field(id events.HubID) *field { return n.byHub[id] }

// seat puts every device that is paired, or taken to be, on its hub's network.
func (n *Net) seat() {
	n.spots, n.at = make([]spot, len(n.s.Devices)), make([]int32, len(n.s.Devices))
	for i := range n.s.Devices {
		d := &n.s.Devices[i]
		n.at[i] = -1
		hub, ok := n.hubOf(d)
		f := n.field(hub)
		if !ok || f == nil {
			continue
		}
		n.spots[i].field = f
		j, known := n.g.deviceNode(i, d.Device)
		if !known {
			continue
		}
		v, here := f.w.local(j)
		if !here {
			continue
		}
		n.spots[i].node = v
		f.devices[v] = d
		f.up[v] = n.powered(d)
		f.relays[v] = d.IsRouter()
		if f.up[v] && f.relays[v] && !n.g.nodes[j].placed {
			f.unknown++
		}
	}
	for _, f := range n.fields {
		f.up[0], f.relays[0] = true, true
	}
}

// deviceNode is a device's node: at its own place in the list where ground and
// site agree.
func (g *Ground) deviceNode(i int, t events.Tag) (int32, bool) {
	if i < int(g.firstHub) && g.nodes[i].tag == t {
		return int32(i), true
	}
	j, ok := g.index[t]
	return j, ok && j < g.firstHub
}

// hubOf is the hub a device is paired to, or taken to be.
func (n *Net) hubOf(d *projection.Device) (events.HubID, bool) {
	switch {
	case d.Struck != nil:
		return "", false
	case d.Paired != nil:
		return d.Paired.Hub, true
	case n.what.Planned && d.Is.Pairs():
		return d.Hub, true
	}
	return "", false
}

// powered says whether a device is on the air as far as power goes.
func (n *Net) powered(d *projection.Device) bool {
	return (d.Dark == nil || n.what.Planned) && n.without.devices[d.Device] == ""
}

// solve finds the best paths and answers for every device, where it is no heir to them.
func (n *Net) solve(x heir) {
	scratch := new(graph.Scratch)
	for _, f := range n.fields {
		if !x.paths(f) {
			f.solve(n, scratch)
		}
	}
	n.answerAll(x)
}

func (f *field) view() graph.View { return graph.View{Up: f.up, Relays: f.relays, Least: noLeast} }

// noLeast lets every edge of a graph count.
const noLeast = -1 << 31

// solve finds the best paths by sure links, and by possible ones where those do
// not reach everybody. Star devices have the one link or none, so nothing needs to
// be searched for them.
func (f *field) solve(n *Net, s *graph.Scratch) {
	f.sure, f.any, f.disjoint, f.idom = paths{}, paths{}, nil, nil
	if f.down != nil {
		return
	}
	v := f.view()
	v.Up = slices.Clone(f.up)
	var stars []int32
	for u := range v.Up {
		if v.Up[u] && f.w.node(n.g, int32(u)).star {
			stars, v.Up[u] = append(stars, int32(u)), false
		}
	}
	f.sure = newPaths(f.w.sure, f.w.sure.Cheapest(0, v, s))
	f.idom = f.w.sure.Dominators(0, v, s)
	f.disjoint = f.w.sure.Disjoint(0, v, f.idom, s)
	f.sure.straight(stars)
	missing := func(u int32) bool { return !f.sure.reaches(u) }
	for u := range v.Up {
		if v.Up[u] && missing(int32(u)) {
			f.any = newPaths(f.w.any, f.w.any.Cheapest(0, v, s))
			f.any.straight(stars)
			return
		}
	}
	if slices.ContainsFunc(stars, missing) {
		f.any = newPaths(f.w.any, nowhere(f.w.any, s))
		f.any.straight(stars)
	}
}
