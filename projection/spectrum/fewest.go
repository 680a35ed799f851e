package spectrum

import (
	"cmp"
	"math/rand/v2"
	"slices"
)

// Spread is a channel, counted from 0, for each of a number of nodes, so that no
// two are nearer than they may be.
type Spread struct {
	At         []int
	Span       int // from the lowest channel to the highest; Span + 1 channels are needed
	LowerBound int // no assignment has a smaller span
	Exact      bool
}

// Fewest finds an assignment of least span with |At[i] - At[j]| at least
// apart[i][j]. Where every distance is 1 it colours a graph, and Span + 1 is the
// number of colours. It is proved the least on small sites, as with Least; else
// the bound says how far off it may be.
func Fewest(apart [][]int) Spread {
	f := &fitting{apart: apart, n: len(apart)}
	if f.n == 0 {
		return Spread{Exact: true}
	}
	f.lower()
	f.greedy()
	if f.span > f.bound && f.n <= provable {
		f.colour()
		f.prove()
	}
	return Spread{f.at, f.span, f.bound, f.span == f.bound}
}

// provable is the most nodes that a proof is tried for.
const provable = 100

// fitting is the search for a least span.
type fitting struct {
	apart [][]int
	n     int
	at    []int // the best so far
	span  int
	bound int
	nodes int
	far   int // the largest distance
	ends  []int
}

// most is the largest distance that two nodes have to keep.
func (f *fitting) most() int {
	if f.far == 0 {
		for _, row := range f.apart {
			f.far = max(f.far, slices.Max(row))
		}
	}
	return f.far
}

// lower bounds the span by nodes that all have to be apart from each other: put in
// the order of their channels, the distances along the way add up to no less than
// those of a least spanning tree. Such a group is grown from every node, among
// those at least as far apart as each distance there is.
func (f *fitting) lower() {
	load := f.loads()
	for far := 1; far <= f.most(); far++ {
		for start, row := range f.apart {
			if start > 0 && row[start-1] > 0 && load[start] == load[start-1] {
				continue // most likely just like the one before
			}
			group := []int{start}
			var near []int
			for j, d := range row {
				if j != start && d >= far {
					near = append(near, j)
				}
			}
			slices.SortStableFunc(near, func(a, b int) int {
				return cmp.Or(cmp.Compare(row[b], row[a]), cmp.Compare(load[b], load[a]))
			})
			for _, i := range near {
				if !slices.ContainsFunc(group, func(j int) bool { return f.apart[i][j] < far }) {
					group = append(group, i)
				}
			}
			f.bound = max(f.bound, f.tree(group))
		}
	}
}

// loads is how much each node has to keep away from all the others.
func (f *fitting) loads() []int {
	load := make([]int, f.n)
	for i, row := range f.apart {
		for _, d := range row {
			load[i] += d
		}
	}
	return load
}

// tree is the weight of a least spanning tree of a group (Prim).
func (f *fitting) tree(group []int) int {
	sum := 0
	dist := make([]int, len(group))
	for i := range dist {
		dist[i] = f.apart[group[0]][group[i]]
	}
	in := make([]bool, len(group))
	in[0] = true
	for range len(group) - 1 {
		best := -1
		for i := range group {
			if !in[i] && (best < 0 || dist[i] < dist[best]) {
				best = i
			}
		}
		in[best] = true
		sum += dist[best]
		for i := range group {
			if !in[i] {
				dist[i] = min(dist[i], f.apart[group[best]][group[i]])
			}
		}
	}
	return sum
}

// How often the order of the greedy construction is mended.
const rounds = 600

// greedy puts one node after the other on the lowest channel that is free, in
// several orders; then it mends the best order, moving forward some that came out
// high.
func (f *fitting) greedy() {
	f.span = int(^uint(0) >> 1)
	load := f.loads()
	byLoad := make([]int, f.n)
	for i := range byLoad {
		byLoad[i] = i
	}
	slices.SortStableFunc(byLoad, func(a, b int) int { return cmp.Compare(load[b], load[a]) })
	f.try(byLoad)
	f.saturate(load)
	f.sweep(load)
	order := slices.Clone(byLoad)
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(f.at[a], f.at[b]) })
	dice := rand.New(rand.NewPCG(2, uint64(f.n)))
	for range max(rounds/2, rounds*500/max(500, f.n)) {
		if f.span == f.bound {
			return
		}
		next := slices.Clone(order)
		for range 1 + dice.IntN(3) {
			from := f.n - 1 - dice.IntN(max(1, f.n/3))
			to := dice.IntN(from + 1)
			x := next[from]
			next = slices.Insert(slices.Delete(next, from, from+1), to, x)
		}
		if f.try(next) {
			order = next
		}
	}
}

// try assigns in an order, and keeps it if it is no worse than the best.
func (f *fitting) try(order []int) bool {
	at := make([]int, f.n)
	done := make([]int, 0, f.n)
	for _, v := range order {
		at[v] = f.lowest(at, done, v)
		done = append(done, v)
	}
	return f.take(at)
}

func (f *fitting) take(at []int) bool {
	span := slices.Max(at) - slices.Min(at)
	if span > f.span {
		return false
	}
	f.at, f.span = at, span
	return true
}

// lowest is the lowest channel that a node may have beside those that are done.
func (f *fitting) lowest(at, done []int, v int) int {
	top := 0
	for _, u := range done {
		if d := f.apart[v][u]; d > 0 {
			top = max(top, at[u]+d)
		}
	}
	f.ends = cleared(f.ends, top+1)
	for _, u := range done { // each forbids the channels from begin up to end
		if d := f.apart[v][u]; d > 0 {
			f.ends[max(0, at[u]-d+1)]++
			f.ends[at[u]+d]--
		}
	}
	closed := 0
	for c, change := range f.ends {
		if closed += change; closed == 0 {
			return c
		}
	}
	return 0 // none is closed
}

func cleared(old []int, n int) []int {
	if cap(old) < n {
		return make([]int, n)
	}
	old = old[:n]
	clear(old)
	return old
}

// saturate takes next whoever has the lowest free channel highest, as they have the
// least choice (after DSATUR: Brélaz 1979).
func (f *fitting) saturate(load []int) {
	at, low := make([]int, f.n), make([]int, f.n)
	open := make([]bool, f.n)
	for i := range open {
		open[i] = true
	}
	var done []int
	for range f.n {
		best := -1
		for i := range f.n {
			if open[i] && (best < 0 || low[i] > low[best] || low[i] == low[best] && load[i] > load[best]) {
				best = i
			}
		}
		at[best] = low[best]
		open[best] = false
		done = append(done, best)
		for i := range f.n {
			d := f.apart[best][i]
			if open[i] && low[i] > at[best]-d && low[i] < at[best]+d {
				low[i] = f.lowest(at, done, i)
			}
		}
	}
	f.take(at)
}

// sweep goes up the channels and gives each to whoever may have it, the most loaded
// first; what a node is loaded with counts only those still open.
func (f *fitting) sweep(load []int) {
	at, free, left := make([]int, f.n), make([]int, f.n), slices.Clone(load)
	open := make([]bool, f.n)
	for i := range open {
		open[i] = true
	}
	for c, rest := 0, f.n; rest > 0; c++ {
		for {
			best := -1
			for i := range f.n {
				if open[i] && free[i] <= c && (best < 0 || left[i] > left[best]) {
					best = i
				}
			}
			if best < 0 {
				break
			}
			at[best], open[best] = c, false
			rest--
			for i := range f.n {
				if d := f.apart[best][i]; open[i] && d > 0 {
					free[i] = max(free[i], c+d)
					left[i] -= d
				}
			}
		}
	}
	f.take(at)
}
