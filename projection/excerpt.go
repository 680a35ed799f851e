package projection

// Excerpt is what somebody had taken in, as a history of its own. It needs no
// narrowing any more: its facts of a moment are those of h as known to them.
func (h *History) Excerpt(k Known) *History {
	h.everything()
	view := h.order
	if !k.Everything() {
		view = h.leastKnown(k)
	}
	out := &History{Site: h.Site}
	for _, e := range view {
		out.Add(*e)
	}
	return out
}
