package projection

// SetPace has stages laid so often that short stories have them.
func (h *History) SetPace(every int) { h.pace = pace(every) }
