package mesh

import (
	"cmp"
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection/mesh/graph"
)

// Advice is where one more relay would help most.
type Advice struct {
	Hub   events.HubID
	Place events.Point
	Floor events.FloorID
	Gains []events.Tag // their answer becomes yes
	Frees []events.Tag // no longer hang on a single device
	Why   string
}

// BestRelay looks for the place where one more mesh relay would help most: where
// most devices get a sure path, then where most are freed from hanging on a
// single device. It tries a lattice of places on the floors where such devices
// are, so another place a little aside may do as well. It is false where none
// helps.
func (n *Net) BestRelay() (Advice, bool) {
	var best []*try
	most := 0
	for _, x := range n.tries() {
		var home bool
		if x.gains, home = x.f.gains(n, x.node); !home || len(x.gains) < most {
			continue // it would be on an island itself, or helps fewer
		}
		if len(x.gains) > most {
			best, most = best[:0], len(x.gains)
		}
		best = append(best, x)
	}
	for _, x := range afford(best) {
		x.frees = x.f.frees(n, x.node)
	}
	if len(best) == 0 {
		return Advice{}, false
	}
	for _, x := range best {
		x.spare = x.weakest(n.g)
	}
	x := slices.MinFunc(best, func(a, b *try) int {
		return cmp.Or(cmp.Compare(len(b.gains), len(a.gains)), cmp.Compare(len(b.frees), len(a.frees)), cmp.Compare(b.spare, a.spare))
	})
	return n.advice(x)
}

// try is a place tried for a relay.
type try struct {
	f            *field
	node         node
	gains, frees []int32
	spare        int32 // what its use hangs on: the weaker of its links home and on
}

// weakest is the mean margin of what a relay's use hangs on: its best link to
// those it helps, and its best link home; the second best where it only adds
// another way.
func (x *try) weakest(g *Ground) int32 {
	on, home, second := int32(-1), int32(-1), int32(-1)
	for v := range int32(x.f.w.len()) {
		l, ok := x.f.toRelay(g, v, &x.node)
		_, gained := slices.BinarySearch(x.gains, v)
		_, freed := slices.BinarySearch(x.frees, v)
		switch {
		case !ok || !l.sure:
		case gained || freed:
			on = max(on, l.mean)
		case v == 0 || x.f.sure.reaches(v) && x.f.relays[v]:
			home, second = max(home, l.mean), max(second, min(home, l.mean))
		}
	}
	if len(x.gains) == 0 && second >= 0 {
		home = second
	}
	return min(on, home)
}

// maxTries bounds how many places are tried on a site, and maxEdges how much
// graph is built anew to see who is freed.
const (
	maxTries = 1_500
	maxEdges = 6_000_000
)

// afford spreads the tries whose graph is built over all there are.
func afford(all []*try) []*try {
	size := 1
	for _, x := range all {
		size = max(size, x.f.w.sure.Links())
	}
	can := max(maxEdges/size, 8)
	if len(all) <= can {
		return all
	}
	out := make([]*try, 0, can)
	for i := range can {
		out = append(out, all[i*len(all)/can])
	}
	return out
}

func (n *Net) advice(x *try) (Advice, bool) {
	a := Advice{
		Hub: x.f.hub.Hub, Place: x.node.at, Floor: x.node.floor,
		Gains: n.tags(x.f, x.gains), Frees: n.tags(x.f, x.frees),
	}
	if len(a.Gains)+len(a.Frees) == 0 {
		return Advice{}, false
	}
	where := fmt.Sprintf("a relay at x %.1f, y %.1f, z %.1f m", float64(a.Place.X)/1000, float64(a.Place.Y)/1000, float64(a.Place.Z)/1000)
	if a.Floor != "" {
		where += " on floor " + string(a.Floor)
	}
	gives, frees := "", ""
	if len(a.Gains) > 0 {
		gives = "gives " + count(len(a.Gains), "device") + " of " + string(a.Hub) + " a sure path"
	}
	if len(a.Frees) > 0 {
		frees = "frees " + count(len(a.Frees), "device") + " of " + string(a.Hub) + " from hanging on a single one"
	}
	a.Why = where + " " + joined(" and ", gives, frees)
	return a, true
}

// mostHelped is the hub that a relay at a place helps most, "" if it helps none.
func (n *Net) mostHelped(at events.Point) events.HubID {
	var best try
	for _, f := range n.fields {
		x := try{f: f, node: n.g.relayNode("relay+", at)}
		if f.down != nil {
			continue
		}
		var home bool
		if x.gains, home = f.gains(n, x.node); !home {
			continue
		}
		x.frees = f.frees(n, x.node)
		if len(x.gains)+len(x.frees) > 0 && cmp.Or(cmp.Compare(len(x.gains), len(best.gains)), cmp.Compare(len(x.frees), len(best.frees))) > 0 {
			best = x
		}
	}
	if best.f == nil {
		return ""
	}
	return best.f.hub.Hub
}

// wanting lists the placed mesh devices of a field that a relay could help: those
// without a sure path, and those that hang on a single device.
func (f *field) wanting(n *Net) []int32 {
	var out []int32
	for v := int32(1); int(v) < f.w.len(); v++ {
		if f.up[v] && f.devices[v] != nil && f.w.node(n.g, v).placed && !f.w.node(n.g, v).star && (f.needy(n, v) || f.hangs(n, v)) {
			out = append(out, v)
		}
	}
	return out
}

// needy says whether a device has no answer yes, and a sure path would give it
// one.
func (f *field) needy(n *Net, v int32) bool {
	d := f.devices[v]
	if d == nil || d.Missed != nil || !f.up[v] {
		return false
	}
	r, _ := n.Reach(d.Device)
	return r.Answer != Yes
}

// hangs says whether a device's sure path is lost with one other device.
func (f *field) hangs(n *Net, v int32) bool {
	if f.devices[v] == nil || !f.sure.reaches(v) || f.idom[v] <= 0 {
		return false
	}
	r, _ := n.Reach(f.devices[v].Device)
	return r.Answer == Yes
}

// gains lists the devices that a relay gives a sure path, and says whether it has
// one itself.
func (f *field) gains(n *Net, relay node) (out []int32, home bool) {
	var seeds []int32
	for v := range int32(f.w.len()) {
		x, ok := f.toRelay(n.g, v, &relay)
		if !ok || !x.sure {
			continue
		}
		if v == 0 || f.sure.reaches(v) && f.relays[v] {
			home = true
		} else if !f.sure.reaches(v) {
			seeds = append(seeds, v)
		}
	}
	if !home {
		return nil, false
	}
	found := make([]bool, f.w.len())
	for len(seeds) > 0 {
		v := seeds[len(seeds)-1]
		seeds = seeds[:len(seeds)-1]
		if found[v] {
			continue
		}
		found[v] = true
		if !f.relays[v] {
			continue
		}
		for _, h := range f.w.sure.Halves(v) {
			if f.up[h.To] && !found[h.To] && !f.sure.reaches(h.To) {
				seeds = append(seeds, h.To)
			}
		}
	}
	for v, yes := range found {
		if yes && f.needy(n, int32(v)) {
			out = append(out, int32(v))
		}
	}
	return out, home
}

// toRelay is the strength of a node's link to a relay at a place.
func (f *field) toRelay(g *Ground, v int32, relay *node) (strength, bool) {
	a := f.w.node(g, v)
	if !f.up[v] || !a.placed || a.star || f.w.dumb[meshBand] || !g.within(a, relay) {
		return strength{}, false
	}
	return g.predict(a, relay, meshBand), true
}

// frees lists the devices that hang on a single device, and with a relay do not.
func (f *field) frees(n *Net, relay node) []int32 {
	r := int32(f.w.len())
	edges := make([]graph.Edge, 0, f.w.sure.Links())
	for i := range f.w.edges {
		if f.w.facts[i].sure {
			edges = append(edges, f.w.edges[i])
		}
	}
	for v := range r {
		if x, ok := f.toRelay(n.g, v, &relay); ok && x.sure {
			edges = append(edges, graph.Edge{A: v, B: r, Width: x.mean, Cost: x.etx})
		}
	}
	up, relays := append(slices.Clone(f.up), true), append(slices.Clone(f.relays), true)
	idom := graph.New(int(r)+1, edges).Dominators(0, graph.View{Up: up, Relays: relays, Least: noLeast}, new(graph.Scratch))
	var out []int32
	for v := range r {
		if idom[v] == 0 && f.hangs(n, v) {
			out = append(out, v)
		}
	}
	return out
}
