package projection

import "pairwalk/events"

// SetPace has stages laid so often that short stories have them.
func (h *History) SetPace(every int) { h.pace = pace(every) }

// Alone says whether a device at a moment is folded by itself.
func (h *History) Alone(m Moment, tag events.Tag) bool {
	_, alone := h.view(m.Known).deviceAlone(m, tag)
	return alone
}

// Stages is how many are kept.
func (h *History) Stages() int { return len(h.everything().pathOf(nil).stages) }
