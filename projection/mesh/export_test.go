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
