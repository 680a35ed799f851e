package projection

// Excerpt is what somebody had taken in, as a history of its own. It needs no
// narrowing any more: its facts of a moment are those of h as known to them.
func (h *History) Excerpt(k Known) *History {
	view := h.everything().order
	if !k.Everything() {
		view = h.leastKnown(k)
	}
	out := &History{Site: h.Site}
	for _, n := range view {
		out.ranks.Add(h.ranks.Event(n))
	}
	return out
}
