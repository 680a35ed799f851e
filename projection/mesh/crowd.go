package mesh

import (
	"cmp"
	"fmt"
	"slices"
)

// maxPairs is how many pairs of one hub's devices are looked at one by one. Some
// 2,000 devices all within reach of each other make so many.
const maxPairs = 2_000_000

// thinned says how many links of each device to look at where there are too many
// pairs, 0 for all of them.
func (g *Ground) thinned(w *network, c *grid) int {
	pairs, devices := 0, 0
	for at, in := range c.in {
		devices += len(in)
		for x := at.x - 1; x <= at.x+1; x++ {
			for y := at.y - 1; y <= at.y+1; y++ {
				pairs += len(in) * len(c.in[square{x, y}])
			}
		}
	}
	if pairs/2 <= maxPairs {
		return 0
	}
	most := 2 * maxPairs / devices
	w.thin = fmt.Sprintf("%s has so many devices close together that of each the %d nearest links and %d of the others are drawn", w.id, most/2, most-most/2)
	return most
}

// nearMost visits what is left of the pairs: those that either end chose.
func (g *Ground) nearMost(w *network, c *grid, most int, visit func(a, b int32)) {
	var pairs []uint64
	var found []int32
	for v := int32(1); int(v) < w.len(); v++ {
		found = g.around(w, c, v, 1, found[:0])
		for _, u := range g.choose(w, v, found, most) {
			pairs = append(pairs, uint64(min(v, u))<<32|uint64(max(v, u)))
		}
	}
	slices.Sort(pairs)
	for _, p := range slices.Compact(pairs) {
		visit(int32(p>>32), int32(p&0xffffffff))
	}
}

// neighbour is a device near another, by what it takes to reach it.
type neighbour struct {
	far float64
	v   int32
}

// choose thins the devices within reach of one: half of what is left are the
// nearest, a slab counting as 10 m; half are spread over all the others. Where
// many sit in one spot each begins at another of them, so that not all choose the
// same.
func (g *Ground) choose(w *network, v int32, found []int32, most int) []int32 {
	if len(found) <= most {
		return found
	}
	a, n := w.node(g, v), int32(w.len())
	list := make([]neighbour, len(found))
	for i, u := range found {
		b := w.node(g, u)
		list[i] = neighbour{metres(a.at, b.at) + 10*float64(slabs(a, b)), u}
	}
	slices.SortFunc(list, func(x, y neighbour) int {
		return cmp.Or(cmp.Compare(x.far, y.far), cmp.Compare((x.v-v+n)%n, (y.v-v+n)%n))
	})
	out := found[:0]
	for _, x := range list[:most/2] {
		out = append(out, x.v)
	}
	rest := list[most/2:]
	for i := range most - most/2 {
		out = append(out, rest[i*len(rest)/(most-most/2)].v)
	}
	return out
}
