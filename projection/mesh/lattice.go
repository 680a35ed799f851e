package mesh

import (
	"slices"

	"pairwalk/events"
)

// level is the devices on one storey of a hub's network that a relay could help.
type level struct {
	f     *field
	at    int32
	nodes []int32
}

// tries lists the places to try a relay at: for every hub a lattice over the plan
// of its devices, on each storey where one could be helped.
func (n *Net) tries() []*try {
	var levels []level
	for _, f := range n.fields {
		if f.down != nil {
			continue
		}
		on := map[int32][]int32{}
		for _, v := range f.wanting(n) {
			l := f.w.node(n.g, v).level
			on[l] = append(on[l], v)
		}
		first := len(levels)
		for at, nodes := range on {
			levels = append(levels, level{f, at, nodes})
		}
		slices.SortFunc(levels[first:], func(a, b level) int { return int(a.at) - int(b.at) })
	}
	side := 12 // places along either side of a lattice
	for side > 3 && side*side*len(levels) > maxTries {
		side--
	}
	var out []*try
	for _, l := range levels {
		for _, at := range l.lattice(n.g, side) {
			out = append(out, &try{f: l.f, node: n.g.relayNode("relay+", at)})
		}
	}
	return out
}

// lattice spreads places evenly over the plan of a hub's devices, two metres
// apart at least, at the height that devices have on the storey.
func (l *level) lattice(g *Ground, side int) []events.Point {
	heights := make([]int64, 0, len(l.nodes))
	low := g.nodes[l.f.w.nodes[l.nodes[0]]].at
	high := low
	for _, v := range l.nodes {
		heights = append(heights, l.f.w.node(g, v).at.Z)
	}
	for v := range int32(l.f.w.len()) {
		if n := l.f.w.node(g, v); n.placed && !n.star && (l.f.up[v]) {
			low = events.Point{X: min(low.X, n.at.X), Y: min(low.Y, n.at.Y)}
			high = events.Point{X: max(high.X, n.at.X), Y: max(high.Y, n.at.Y)}
		}
	}
	slices.Sort(heights)
	z := heights[len(heights)/2]
	var out []events.Point
	for _, y := range steps(low.Y, high.Y, side) {
		for _, x := range steps(low.X, high.X, side) {
			out = append(out, events.Point{X: x, Y: y, Z: z})
		}
	}
	return out
}

// steps are up to so many values from low to high, both ends in it, 2 m apart at
// least.
func steps(low, high int64, most int) []int64 {
	const apart = 2_000
	n := min(int64(most), (high-low)/apart+1)
	if n < 2 {
		return []int64{(low + high) / 2}
	}
	out := make([]int64, n)
	for i := range out {
		out[i] = low + (high-low)*int64(i)/(n-1)
	}
	return out
}
