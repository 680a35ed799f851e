package mesh

import "fmt"

// Drawn tells everything that a ground holds, so that two can be compared.
func (g *Ground) Drawn() []string {
	out := append([]string{g.describe()}, g.notes...)
	for i := range g.nodes {
		out = append(out, fmt.Sprint(g.nodes[i]))
	}
	for b := range g.bands {
		out = append(out, fmt.Sprint(g.bands[b].reach, g.bands[b].fitted, g.bands[b].fit.Params))
	}
	for _, w := range g.networks {
		out = append(out, fmt.Sprint(w.id, w.dumb, w.known, w.thin))
		for _, i := range w.nodes {
			out = append(out, string(g.nodes[i].tag))
		}
		for i := range w.edges {
			out = append(out, fmt.Sprint(w.edges[i], w.facts[i]))
		}
		for v := range int32(len(w.nodes)) {
			out = append(out, fmt.Sprint(w.any.Halves(v), w.sure.Halves(v)))
		}
	}
	return out
}

// Shares counts the hubs whose links two grounds have in common.
func (g *Ground) Shares(o *Ground) int {
	n := 0
	for _, w := range g.networks {
		if x := o.network(w); x != nil && x.any == w.any {
			n++
		}
	}
	return n
}

// Inherits counts the hubs whose paths, and the devices whose answers, two nets have in
// common.
func (n *Net) Inherits(o *Net) (hubs, devices int) {
	for _, f := range n.fields {
		if x := o.byHub[f.hub.Hub]; x != nil && f.sure.tree != nil && x.sure.tree == f.sure.tree {
			hubs++
		}
	}
	for i := range n.reaches {
		r, ok := o.Reach(n.reaches[i].Device)
		if ok && len(r.Path) > 0 && len(n.reaches[i].Path) > 0 && &r.Path[0] == &n.reaches[i].Path[0] {
			devices++
		}
	}
	return hubs, devices
}
