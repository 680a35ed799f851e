package projection

import (
	"bytes"
	"slices"

	"pairwalk/events"
)

// KnownTo says what a member had taken in by a time: at least everything their
// last entry before it had seen, and at most everything their next one had; all
// there is, if they have said nothing since. Each is given as heads.
func (h *History) KnownTo(k Known) (atLeast, atMost map[events.FeedID]events.Head) {
	return h.headsOf(h.leastKnown(k)), h.headsOf(h.mostKnown(k))
}

func (h *History) leastKnown(k Known) []events.Number {
	t := h.everything()
	had := make([]bool, len(t.order))
	for _, n := range t.order {
		if x := t.laid.at(n); x.Member() == k.Member && (!k.At.Known || x.said <= k.At.Value) {
			h.past(n, had)
		}
	}
	return pick(t.order, had)
}

func (h *History) mostKnown(k Known) []events.Number {
	if !k.At.Known {
		return h.leastKnown(k)
	}
	t := h.everything()
	had := make([]bool, len(t.order))
	nexts := map[events.FeedID]events.Seq{}
	for _, n := range t.order {
		x := t.laid.at(n)
		e := x.Event
		if e.Member() != k.Member {
			continue
		}
		next, spoke := nexts[e.Feed]
		switch {
		case x.said <= k.At.Value:
			h.past(n, had)
		case !spoke || e.Seq == next:
			nexts[e.Feed] = e.Seq
			for _, before := range h.ranks.Prior(n) {
				h.past(before, had)
			}
		}
	}
	if len(nexts) == 0 {
		return t.order
	}
	return pick(t.order, had)
}

// Hearing is how a member is known to have taken an entry in: by their first entry
// that had seen it, or that is it.
type Hearing struct {
	Member events.Key
	By     *events.Event
	Said   events.Instant // when By was recorded, in site time: the latest they can first have known
}

// HeardOf lists who is known to have taken an entry in, in record order of what
// shows it. Whoever said nothing since may have heard of it all the same.
func (h *History) HeardOf(ref events.Ref) []Hearing {
	t := h.everything()
	e, ok := h.Find(ref)
	if !ok {
		return nil
	}
	number, _ := h.ranks.Number(e)
	from, _ := slices.BinarySearchFunc(t.order, number, h.ranks.Compare) // nobody had seen it before
	waiting := 0
	for _, last := range t.lastWords() {
		if last >= from {
			waiting++
		}
	}
	var out []Hearing
	for _, n := range t.order[from:] {
		if len(out) == waiting {
			break
		}
		x := t.laid.at(n)
		told := slices.ContainsFunc(out, func(k Hearing) bool { return k.Member == x.Member() })
		if !told && (x.Event == e || t.sight.sees(x.Event, e)) {
			out = append(out, Hearing{x.Member(), x.Event, x.said})
		}
	}
	return out
}

// lastWords is where in record order everybody spoke last.
func (t *timeline) lastWords() map[events.Key]int {
	if t.spoke == nil || t.spokeUpTo != len(t.order) {
		t.spoke, t.spokeUpTo = map[events.Key]int{}, len(t.order)
		feeds := map[events.FeedID]int{}
		for i, n := range t.order {
			feeds[t.ranks.Event(n).Feed] = i
		}
		for feed, last := range feeds {
			t.spoke[feed.Key()] = max(t.spoke[feed.Key()], last)
		}
	}
	return t.spoke
}

// past collects an event and all that came before it, as far as its author and
// theirs had seen.
func (h *History) past(n events.Number, into []bool) {
	stack := []events.Number{n}
	for len(stack) > 0 {
		n := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if !into[n] {
			into[n] = true
			stack = append(stack, h.ranks.Prior(n)...)
		}
	}
}

func pick(order []events.Number, in []bool) []events.Number {
	var out []events.Number
	for _, n := range order {
		if in[n] {
			out = append(out, n)
		}
	}
	return out
}

func (h *History) headsOf(view []events.Number) map[events.FeedID]events.Head {
	heads := newHeads(&h.ranks)
	for _, n := range view {
		heads.take(n)
	}
	return heads.named()
}

// heads finds the newest line of each feed.
type heads struct {
	ranks *events.Ranks
	best  []*events.Event // by the numbers of feeds
}

func newHeads(r *events.Ranks) heads { return heads{r, make([]*events.Event, r.Feeds())} }

// take looks at a line. Of two at one place the one with the lower hash is taken.
func (x *heads) take(n events.Number) {
	e, at := x.ranks.Event(n), x.ranks.Feed(n)
	for at >= len(x.best) {
		x.best = append(x.best, nil)
	}
	if h := x.best[at]; h == nil || e.Seq > h.Seq || e.Seq == h.Seq && bytes.Compare(e.Hash[:], h.Hash[:]) < 0 {
		x.best[at] = e
	}
}

func (x *heads) named() map[events.FeedID]events.Head {
	out := make(map[events.FeedID]events.Head, len(x.best))
	for _, e := range x.best {
		if e != nil {
			out[e.Feed] = events.Head{Seq: e.Seq, Hash: e.Hash}
		}
	}
	return out
}
