package projection

import (
	"maps"

	"pairwalk/events"
)

// History is every event known here, and answers for any moment. The zero value
// is an empty one; set Site before the first question. It is not safe for use by
// several goroutines.
type History struct {
	Site events.SiteID

	ranks events.Ranks
	size  int
	fresh []*events.Event // added since the last question
	full  *timeline       // the view of everything, kept between questions
	order []*events.Event // record order of everything, valid if fresh is empty
}

// Add takes in events, in any order. An event already there is passed over.
func (h *History) Add(evs ...events.Event) {
	for i := range evs {
		e := &evs[i]
		if _, held := h.ranks.Find(e.Ref()); held {
			continue
		}
		h.ranks.Add(e)
		h.fresh = append(h.fresh, e)
		h.size++
	}
}

// Len is the number of events held.
func (h *History) Len() int { return h.size }

// Find is the event that ref names.
func (h *History) Find(ref events.Ref) (*events.Event, bool) { return h.ranks.Find(ref) }

// Ordered lists every event in record order. The slice must not be changed.
func (h *History) Ordered() []*events.Event {
	h.everything()
	return h.order
}

// At folds the history into the facts of a moment.
func (h *History) At(m Moment) *Site {
	t := h.everything()
	if !m.Known.Everything() {
		view, _ := h.knownTo(m.Known)
		t = newTimeline(h.Site, &h.ranks, view)
	}
	return t.fold(m)
}

// everything brings the view of everything up to date.
func (h *History) everything() *timeline {
	if h.full != nil && len(h.fresh) == 0 {
		return h.full
	}
	h.order = h.ranks.Ordered()
	if h.full == nil || !h.full.extend(h.order, len(h.fresh)) {
		h.full = newTimeline(h.Site, &h.ranks, h.order)
	}
	h.fresh = nil
	return h.full
}

// KnownTo says what a member had taken in by a time: at least everything their
// last entry before it had seen, and at most everything their next one had.
// Each is given as heads.
func (h *History) KnownTo(k Known) (atLeast, atMost map[events.FeedID]events.Head) {
	least, most := h.knownTo(k)
	return headsOf(least), headsOf(most)
}

func (h *History) knownTo(k Known) (atLeast, atMost []*events.Event) {
	t := h.everything()
	had, may := map[*events.Event]bool{}, map[*events.Event]bool{}
	for _, e := range h.order {
		if e.Member() != k.Member {
			continue
		}
		if !k.At.Known || t.said[e] <= k.At.Value {
			h.past(e, had)
		}
	}
	maps.Copy(may, had)
	if k.At.Known {
		nexts := map[events.FeedID]*events.Event{}
		for _, e := range h.order {
			if e.Member() == k.Member && t.said[e] > k.At.Value {
				if n := nexts[e.Feed]; n == nil || e.Seq < n.Seq {
					nexts[e.Feed] = e
				}
			}
		}
		for _, e := range nexts {
			for _, before := range h.ranks.Before(e) {
				h.past(before, may)
			}
		}
	}
	return pick(h.order, had), pick(h.order, may)
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
		if h, ok := heads[e.Feed]; !ok || e.Seq > h.Seq || e.Seq == h.Seq && e.Hash.String() < h.Hash.String() {
			heads[e.Feed] = events.Head{Seq: e.Seq, Hash: e.Hash}
		}
	}
	return heads
}
