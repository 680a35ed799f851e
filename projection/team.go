package projection

import "pairwalk/events"

// Team is who belongs to the site, as everything known here has it: the Members of
// At without when things were said, and nothing else of a site. Trust alone decides
// it, so no fact is folded for it: whoever only has to know who may come in need
// not wait for a whole history to be laid out.
func (h *History) Team() *Site {
	t := h.trusted()
	s := &Site{Members: t.sorted(func(e *events.Event) Cause { return Cause{Event: e} })}
	s.index(nil)
	return s
}

func everybody(events.Number) bool { return true }

// trusted is who may say what, by the view of everything: as that was laid out, or,
// where more has come since, worked out by itself.
func (h *History) trusted() *trust {
	if h.full != nil && len(h.full.order) == h.ranks.Len() {
		return h.full.trust
	}
	view := h.ranks.Order()
	return newTrust(h.Site, &h.ranks, h.proven(), view, recordsOf(&h.ranks, view), everybody)
}

// recordsOf lists what is no field fact.
func recordsOf(ranks *events.Ranks, view []events.Number) (out []events.Number) {
	for _, n := range view {
		if !isFact(ranks.Event(n)) {
			out = append(out, n)
		}
	}
	return out
}
