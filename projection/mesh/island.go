package mesh

import (
	"pairwalk/events"
	"pairwalk/projection/mesh/graph"
)

// Islands lists the groups of powered devices without a path home: linked by
// sure links among themselves, and not with their hub. Where neither place nor
// link tells whether there is a path, it is on no island, since nobody knows.
func (n *Net) Islands() []Island {
	var out []Island
	for _, f := range n.fields {
		if f.down != nil {
			if all := n.tags(f, f.everybody()); len(all) > 0 {
				out = append(out, Island{Hub: f.hub.Hub, Devices: all, Sure: true, Why: f.down.why})
			}
			continue
		}
		for _, group := range f.w.sure.Islands(0, f.view(), new(graph.Scratch)) {
			if x, ok := n.island(f, group); ok {
				out = append(out, x)
			}
		}
	}
	return out
}

// island is what a group without a sure path amounts to. Those that were observed
// to have one are not on it.
func (n *Net) island(f *field, group []int32) (Island, bool) {
	x := Island{Hub: f.hub.Hub, Sure: true}
	var on []int32
	for _, v := range group {
		d := f.devices[v]
		if d == nil {
			continue // a supposed relay
		}
		r, _ := n.Reach(d.Device)
		if r.Answer == Yes || r.Answer == Unknown && r.Path == nil {
			continue // or nobody knows, for want of a place or a link
		}
		on = append(on, v)
		x.Sure = x.Sure && r.Answer == No
		if x.Why == "" {
			x.Why = r.Why
		}
	}
	if x.Sure {
		x.Why = "no link, not even a doubtful one, leads from it to " + string(f.hub.Hub) + " or what reaches that"
	}
	x.Devices = n.tags(f, on)
	return x, len(on) > 0
}

// everybody lists the nodes of the devices that have power.
func (f *field) everybody() []int32 {
	var out []int32
	for v, d := range f.devices {
		if d != nil && f.up[v] {
			out = append(out, int32(v))
		}
	}
	return out
}

// tags names nodes; they come in the site's order, which is that of the nodes.
func (n *Net) tags(f *field, nodes []int32) []events.Tag {
	var out []events.Tag
	for _, v := range nodes {
		out = append(out, f.w.node(n.g, v).tag)
	}
	return out
}
