package projection

import "pairwalk/events"

// pages holds something of each event by its number. What is on a page stays
// where it is when more come, so that it may be pointed to.
type pages[T any] struct{ list []*[pageLen]T }

const pageLen = 256

// at is the place for an event, which is made if there is none.
func (p *pages[T]) at(n events.Number) *T {
	i := int(n) / pageLen
	for i >= len(p.list) {
		p.list = append(p.list, nil)
	}
	if p.list[i] == nil {
		p.list[i] = new([pageLen]T)
	}
	return &p.list[i][int(n)%pageLen]
}

// look is the place for an event, nil where its page is not there.
func (p *pages[T]) look(n events.Number) *T {
	if i := int(n) / pageLen; i < len(p.list) && p.list[i] != nil {
		return &p.list[i][int(n)%pageLen]
	}
	return nil
}
