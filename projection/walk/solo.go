package walk

import (
	"slices"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// OrderOn lists the devices that are to be paired on a hub, mesh ones first, in
// the order for one person: each has a path home when its turn comes, wherever the
// ground knows of one, and the way is short. Without a ground it is that of Order.
func OrderOn(s *projection.Site, g *mesh.Ground, hub events.HubID) []events.Tag {
	var out []events.Tag
	for _, j := range survey(s, g).hubs {
		if j.hub.Hub != hub {
			continue
		}
		for _, t := range j.solo {
			out = append(out, t.d.Device)
		}
		for _, t := range j.tasks {
			if t.star {
				out = append(out, t.d.Device)
			}
		}
	}
	return out
}

// order puts a hub's mesh devices in the order for one person: always the nearest
// that has a path by then, those that did not work before after the others, and
// last those that no order gives a path. Then it shortens the way.
func (y *yard) order(j *job) {
	var open []*task
	for _, t := range j.tasks {
		if !t.star {
			open = append(open, t)
		}
		t.rooted = false
	}
	fellows := backwards(open)
	ready := make([]bool, len(open))
	for i, t := range open {
		t.at = i
		ready[i] = t.free()
	}
	placed := make([]bool, len(open))
	here, firm := j.spot, 0
	for range open {
		i := y.nearest(open, here, func(i int) bool { return !placed[i] && ready[i] && !open[i].late })
		fresh := i >= 0
		if i < 0 {
			i = y.nearest(open, here, func(i int) bool { return !placed[i] && ready[i] })
		}
		if i < 0 {
			i = y.nearest(open, here, func(i int) bool { return !placed[i] })
			y.islands = append(y.islands, open[i].d.Device)
		} else {
			for _, k := range fellows[i] {
				ready[k] = true
			}
			open[i].wake(ready)
		}
		if placed[i] = true; fresh && firm == len(j.solo) {
			firm++
		}
		j.solo = append(j.solo, open[i])
		here = open[i].spot
	}
	w := way{y: y, from: j.spot, stops: j.solo[:firm]}
	w.shorten()
	for i, t := range j.solo {
		t.at = i
	}
}

// backwards lists for every task those that have a sure link to it, by their place
// in the list.
func backwards(open []*task) [][]int {
	at := make(map[*task]int, len(open))
	for i, t := range open {
		at[t] = i
	}
	out := make([][]int, len(open))
	for i, t := range open {
		for _, x := range t.near {
			if k, ok := at[x.to]; ok {
				out[k] = append(out[k], i)
			}
		}
	}
	return out
}

// nearest is the task, of those that will do, that takes the shortest walk; of
// those that take the same the first of Order. It is -1 if none will do.
func (y *yard) nearest(open []*task, here spot, will func(i int) bool) int {
	best, least := -1, time.Duration(0)
	for i, t := range open {
		if !will(i) {
			continue
		}
		if d, _ := y.pace.walk(here, t.spot); best < 0 || d < least {
			best, least = i, d
		}
	}
	return best
}

// way is a walk that is being shortened without taking anybody's path.
type way struct {
	y     *yard
	from  spot
	stops []*task
}

// How far a stretch of a walk may be moved, how long it may be, and how often the
// whole walk is gone over.
const (
	window = 40
	longs  = 3
	passes = 4
)

// shorten moves stretches of a few stops elsewhere, and turns longer ones round,
// as long as that saves time (2-opt: Croes 1958; Or-opt: Or 1976) and every device
// still has a path when its turn comes.
func (w *way) shorten() {
	for i, t := range w.stops {
		t.at = i
	}
	for range passes {
		better := false
		for i := range w.stops {
			better = w.move(i) || better
			better = w.turn(i) || better
		}
		if !better {
			return
		}
	}
}

func (w *way) leg(a, b int) time.Duration {
	from := w.from
	if a >= 0 {
		from = w.stops[a].spot
	}
	if b >= len(w.stops) {
		return 0
	}
	d, _ := w.y.pace.walk(from, w.stops[b].spot)
	return d
}

// turn tries to walk the stops from i on the other way round.
func (w *way) turn(i int) bool {
	for k := i + 1; k < min(i+window, len(w.stops)); k++ {
		if w.leg(i-1, k)+w.leg(i, k+1) < w.leg(i-1, i)+w.leg(k, k+1) {
			w.reverse(i, k)
			if w.holds(i, k) {
				return true
			}
			w.reverse(i, k)
		}
	}
	return false
}

// move tries to walk a few stops from i on at another time.
func (w *way) move(i int) bool {
	for n := 1; n <= longs && i+n <= len(w.stops); n++ {
		gone := w.leg(i-1, i) + w.leg(i+n-1, i+n) - w.leg(i-1, i+n)
		for k := max(-1, i-window); k < min(i+window, len(w.stops)); k++ { // behind stop k
			if k >= i-1 && k < i+n {
				continue
			}
			if w.leg(k, i)+w.leg(i+n-1, k+1)-w.leg(k, k+1) >= gone {
				continue
			}
			lo, hi := k+1, i+n-1
			first := i - k - 1 // the stretch comes before that many others
			if k > i {
				lo, hi, first = i, k, n
			}
			w.rotate(lo, hi, first)
			if w.holds(lo, hi) {
				return true
			}
			w.rotate(lo, hi, hi-lo+1-first)
		}
	}
	return false
}

func (w *way) reverse(lo, hi int) {
	for a, b := lo, hi; a < b; a, b = a+1, b-1 {
		w.stops[a], w.stops[b] = w.stops[b], w.stops[a]
	}
	w.number(lo, hi)
}

// rotate moves the first so many of some stops behind the others.
func (w *way) rotate(lo, hi, first int) {
	part := w.stops[lo : hi+1]
	turned := append(append(make([]*task, 0, len(part)), part[first:]...), part[:first]...)
	copy(part, turned)
	w.number(lo, hi)
}

func (w *way) number(lo, hi int) {
	for i := lo; i <= hi; i++ {
		w.stops[i].at = i
	}
}

// holds says whether all of some stops have a path when their turn comes.
func (w *way) holds(lo, hi int) bool {
	for i := lo; i <= hi; i++ {
		t := w.stops[i]
		if !t.free() &&
			!slices.ContainsFunc(t.near, func(x tie) bool { return w.before(x.to, i) }) &&
			!slices.ContainsFunc(t.rafts, func(x berth) bool { return w.lands(x.to, i) }) {
			return false
		}
	}
	return true
}

// before says whether a task comes before a stop, and is on this walk.
func (w *way) before(t *task, i int) bool {
	return t.at < i && t.at < len(w.stops) && w.stops[t.at] == t
}

// lands says whether a raft comes home before a stop.
func (w *way) lands(r *raft, i int) bool {
	return slices.ContainsFunc(r.beside, func(t *task) bool { return t.router && w.before(t, i) })
}
