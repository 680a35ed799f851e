package projection

import (
	"bytes"
	"slices"

	"pairwalk/events"
)

// History is every event known here, and answers for any moment. The zero value
// is an empty one; set Site before the first question. It is not safe for use by
// several goroutines.
type History struct {
	Site events.SiteID

	ranks  events.Ranks
	proofs proofs
	held   map[events.Hash]bool
	fresh  []*events.Event     // added since the last question
	full   *timeline           // the view of everything, kept between questions
	others map[Known]*timeline // views of what somebody knew, kept until more comes
	order  []*events.Event     // record order of everything, valid if fresh is empty
	pace   pace                // of stages; zero for the usual one
}

// Add takes in events, in any order. An event already there is passed over; the
// slice stays the caller's.
func (h *History) Add(evs ...events.Event) { h.Adopt(slices.Clone(evs)) }

// Adopt is Add for a slice that becomes the history's: nobody may change it from
// then on, and no event of it is copied.
func (h *History) Adopt(evs []events.Event) {
	if h.held == nil {
		h.held, h.proofs = map[events.Hash]bool{}, proofs{}
	}
	for i := range evs {
		e := &evs[i]
		if h.held[e.Hash] {
			continue
		}
		h.held[e.Hash] = true
		h.ranks.Add(e)
		h.fresh = append(h.fresh, e)
	}
}

// Len is the number of events held.
func (h *History) Len() int { return len(h.held) }

// Find is the event that ref names.
func (h *History) Find(ref events.Ref) (*events.Event, bool) { return h.ranks.Find(ref) }

// Ordered lists every event in record order. The slice must not be changed.
func (h *History) Ordered() []*events.Event {
	h.everything()
	return h.order
}

// At folds the history into the facts of a moment.
func (h *History) At(m Moment) *Site {
	return h.view(m.Known).fold(m)
}

// view is the timeline of what somebody knew.
func (h *History) view(k Known) *timeline {
	t := h.everything()
	if k.Everything() {
		return t
	}
	if h.others[k] == nil {
		if h.others == nil || len(h.others) >= othersMost {
			h.others = map[Known]*timeline{}
		}
		h.others[k] = h.newTimeline(h.leastKnown(k))
	}
	return h.others[k]
}

// othersMost bounds how many views of what somebody knew are kept.
const othersMost = 8

// everything brings the view of everything up to date.
func (h *History) everything() *timeline {
	if h.full != nil && len(h.fresh) == 0 {
		return h.full
	}
	h.order, h.others = h.ranks.Ordered(), nil
	if h.full == nil || !h.full.extend(h.order, len(h.fresh)) {
		h.full = h.newTimeline(h.order)
	}
	h.fresh = nil
	return h.full
}

// KnownTo says what a member had taken in by a time: at least everything their
// last entry before it had seen, and at most everything their next one had; all
// there is, if they have said nothing since. Each is given as heads.
func (h *History) KnownTo(k Known) (atLeast, atMost map[events.FeedID]events.Head) {
	return headsOf(h.leastKnown(k)), headsOf(h.mostKnown(k))
}

func (h *History) leastKnown(k Known) []*events.Event {
	t := h.everything()
	had := map[*events.Event]bool{}
	for i, e := range h.order {
		if e.Member() == k.Member && (!k.At.Known || t.laid[i].said <= k.At.Value) {
			h.past(e, had)
		}
	}
	return pick(h.order, had)
}

func (h *History) mostKnown(k Known) []*events.Event {
	if !k.At.Known {
		return h.leastKnown(k)
	}
	t := h.everything()
	had := map[*events.Event]bool{}
	nexts := map[events.FeedID]events.Seq{}
	for i, e := range h.order {
		if e.Member() != k.Member {
			continue
		}
		next, spoke := nexts[e.Feed]
		switch {
		case t.laid[i].said <= k.At.Value:
			h.past(e, had)
		case !spoke || e.Seq == next:
			nexts[e.Feed] = e.Seq
			for _, before := range h.ranks.Before(e) {
				h.past(before, had)
			}
		}
	}
	if len(nexts) == 0 {
		return h.order
	}
	return pick(h.order, had)
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
	var out []Hearing
	for i, x := range h.order {
		if (x == e || t.sight.sees(x, e)) && !slices.ContainsFunc(out, func(k Hearing) bool { return k.Member == x.Member() }) {
			out = append(out, Hearing{x.Member(), x, t.laid[i].said})
		}
	}
	return out
}

// past collects an event and all that came before it, as far as its author and
// theirs had seen.
func (h *History) past(e *events.Event, into map[*events.Event]bool) {
	stack := []*events.Event{e}
	for len(stack) > 0 {
		e := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if into[e] {
			continue
		}
		into[e] = true
		stack = append(stack, h.ranks.Before(e)...)
	}
}

func pick(order []*events.Event, in map[*events.Event]bool) []*events.Event {
	out := make([]*events.Event, 0, len(in))
	for _, e := range order {
		if in[e] {
			out = append(out, e)
		}
	}
	return out
}

func headsOf(view []*events.Event) map[events.FeedID]events.Head {
	heads := map[events.FeedID]events.Head{}
	for _, e := range view {
		if h, ok := heads[e.Feed]; !ok || e.Seq > h.Seq || e.Seq == h.Seq && bytes.Compare(e.Hash[:], h.Hash[:]) < 0 {
			heads[e.Feed] = events.Head{Seq: e.Seq, Hash: e.Hash}
		}
	}
	return heads
}
