package projection

import (
	"slices"

	"pairwalk/events"
)

// History is every event known here, and answers for any moment. The zero value
// is an empty one; set Site before the first question. It is not safe for use by
// several goroutines.
type History struct {
	Site     events.SiteID
	Together Together // by which a view is made

	ranks  events.Ranks
	proofs proofs
	full   *timeline           // the view of everything, kept between questions
	others map[Known]*timeline // views of what somebody knew, kept until more comes
	listed []*events.Event     // record order of everything, once it was asked for
	pace   pace                // of stages; zero for the usual one
}

// Together does pieces of work that have nothing to do with each other, side by side,
// and returns when all are done; nil does one after the other. Nothing here starts a
// goroutine.
type Together func(work ...func())

func (side Together) do(work ...func()) {
	if side != nil {
		side(work...)
		return
	}
	for _, do := range work {
		do()
	}
}

// Add takes in events, in any order. An event already there is passed over; the
// slice stays the caller's.
func (h *History) Add(evs ...events.Event) { h.Adopt(slices.Clone(evs)) }

// Adopt is Add for a slice that becomes the history's: nobody may change it from
// then on, and no event of it is copied.
func (h *History) Adopt(evs []events.Event) {
	added := make([]*events.Event, len(evs))
	for i := range evs {
		added[i] = &evs[i]
	}
	h.ranks.Add(added...)
}

// Begin adopts what is there from the beginning and puts it in order. It looks at no
// payload, so those may be read meanwhile, until the first question.
func (h *History) Begin(runs ...[]events.Event) {
	count := 0
	for _, evs := range runs {
		count += len(evs)
	}
	h.ranks.Grow(count)
	for _, evs := range runs {
		h.Adopt(evs)
	}
	h.ranks.Order()
}

// proven is what is known of the signatures inside events.
func (h *History) proven() proofs {
	if h.proofs == nil {
		h.proofs = proofs{}
	}
	return h.proofs
}

// Len is the number of events held.
func (h *History) Len() int { return h.ranks.Len() }

// Holds says whether an event is held.
func (h *History) Holds(e *events.Event) bool {
	_, held := h.ranks.Number(e)
	return held
}

// Find is the event that ref names.
func (h *History) Find(ref events.Ref) (*events.Event, bool) { return h.ranks.Find(ref) }

// Ordered lists every event in record order. The slice must not be changed.
func (h *History) Ordered() []*events.Event {
	if len(h.listed) < h.ranks.Len() {
		h.listed = h.ranks.Ordered()
	}
	return h.listed
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
	if h.full != nil && len(h.full.order) == h.ranks.Len() {
		return h.full
	}
	h.others = nil
	if h.full == nil || !h.full.extend() {
		h.full = h.newTimeline(h.ranks.Order())
	}
	return h.full
}
