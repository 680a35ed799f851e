package projection

// SetPace has stages laid so often, and so many kept, that short stories have them.
func (h *History) SetPace(every, most int) { h.pace = pace{every, most} }
