package spectrum

import "slices"

// colour looks for a colouring with fewer channels, where all distances are 1, as
// an assignment in which nobody disturbs anybody.
func (f *fitting) colour() {
	if f.most() != 1 {
		return
	}
	for f.span > f.bound {
		p := Problem{Hubs: f.n, Channels: make([]int, f.span), Pair: make([][]int64, f.n)}
		for k := range p.Channels {
			p.Channels[k] = k
		}
		for i, row := range f.apart {
			p.Pair[i] = make([]int64, f.n)
			for j, d := range row {
				p.Pair[i][j] = int64(d)
			}
		}
		s, err := newSearch(p)
		if err != nil {
			return
		}
		if s.settle(); s.bestCost > 0 {
			return
		}
		at := make([]int, f.n)
		for v, k := range s.best {
			at[s.hub[v]] = k
		}
		f.take(at)
	}
}

// prove looks for a smaller span, one channel fewer at a time, until there is none
// or the budget is used up.
func (f *fitting) prove() {
	for f.span > f.bound {
		t := &trial{fitting: f, span: f.span - 1, at: make([]int, f.n), ban: make([][]int32, f.n), open: make([]int, f.n), used: -1}
		for v := range f.n {
			t.at[v], t.ban[v], t.open[v] = -1, make([]int32, t.span+1), t.span+1
		}
		found, lasted := t.place(0)
		switch {
		case found:
			low := slices.Min(t.at)
			for v := range t.at {
				t.at[v] -= low
			}
			f.take(t.at)
		case lasted:
			f.bound = f.span
		default:
			return
		}
	}
}

// tries is how many partial assignments the proof of a span may look at.
const tries = 4_000_000

// trial is the search for an assignment within a span.
type trial struct {
	*fitting
	span int
	at   []int     // -1: open
	ban  [][]int32 // by node and channel: how many keep it from that
	open []int     // by node: channels left
	used int       // the highest channel in use
}

// place gives a channel to whoever has fewest left, and so on. It tells whether
// all have one, and whether the budget lasted.
func (t *trial) place(done int) (found, lasted bool) {
	if done == t.n {
		return true, true
	}
	if t.nodes++; t.nodes > tries {
		return false, false
	}
	v := t.tightest()
	last := t.span
	if t.colours() {
		last = min(last, t.used+1) // channels nobody has are all alike
	}
	if done == 0 {
		last = min(last, (t.span+1)/2) // the rest is the same, mirrored
	}
	for c := 0; c <= last; c++ {
		if t.ban[v][c] > 0 {
			continue
		}
		used := t.used
		t.at[v], t.used = c, max(t.used, c)
		if t.forbid(v, c, 1) {
			if found, lasted = t.place(done + 1); found || !lasted {
				return found, lasted
			}
		}
		t.forbid(v, c, -1)
		t.at[v], t.used = -1, used
	}
	return false, true
}

// colours says whether every distance is 1, so that channels have no order.
func (t *trial) colours() bool { return t.most() == 1 }

// tightest is the open node with the fewest channels left, of those the one with
// most to do with other open ones.
func (t *trial) tightest() int {
	best, ties := -1, 0
	for v := range t.n {
		if t.at[v] >= 0 || best >= 0 && t.open[v] > t.open[best] {
			continue
		}
		n := 0
		for u, d := range t.apart[v] {
			if d > 0 && t.at[u] < 0 {
				n += d
			}
		}
		if best < 0 || t.open[v] < t.open[best] || n > ties {
			best, ties = v, n
		}
	}
	return best
}

// forbid keeps the others from channels too near to v's, or frees them again. It
// tells whether everybody open has one left.
func (t *trial) forbid(v, c int, by int32) bool {
	all := true
	for u, d := range t.apart[v] {
		if d == 0 || u == v || t.at[u] >= 0 {
			continue
		}
		for k := max(0, c-d+1); k <= min(t.span, c+d-1); k++ {
			if by > 0 && t.ban[u][k] == 0 {
				t.open[u]--
			}
			if t.ban[u][k] += by; by < 0 && t.ban[u][k] == 0 {
				t.open[u]++
			}
		}
		all = all && t.open[u] > 0
	}
	return all
}
