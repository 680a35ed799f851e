package member

import (
	"errors"
	"fmt"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/album"
)

// Look opens a site to be read where its disk takes nothing more. Every question
// has its answer, and whatever would be recorded is refused with
// [journal.ErrBroken]. See Find for the name.
func (h *Home) Look(name string) (*Member, error) {
	info, err := h.Find(name)
	if err != nil {
		return nil, err
	}
	at := h.folder(info.ID)
	keys, err := readKeys(at)
	if err != nil {
		return nil, err
	}
	if keys, err = h.unlock(keys); err != nil {
		return nil, err
	}
	if h.world.MadeUp && !keys.Practice {
		return nil, ErrNotPractice
	}
	var said [][]events.Event
	j, err := journal.Look(at, journal.Within(h.at, marksDir), keys.Site, h.env(&said))
	if err != nil {
		return nil, fmt.Errorf("look at site %s: %w", keys.SiteName, err)
	}
	a, err := album.Open(at)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("look at site %s: %w", keys.SiteName, err), j.Close())
	}
	m := newMember(at, keys, j, a, h.world)
	m.start(nil, said...)
	return m, nil
}

// disk is what a log that is kept on this device's disk can say about it.
type disk interface {
	Stopped() error
	Room() error
}

// Stopped says why nothing is recorded any more, as after a write that failed, or
// nil. The site must be opened again then, once there is Room.
func (m *Member) Stopped() error {
	if d, ok := m.journal.(disk); ok {
		return d.Stopped()
	}
	return nil
}

// Room tries whether the disk would take what opening the site again writes.
func (m *Member) Room() error {
	if d, ok := m.journal.(disk); ok {
		return d.Room()
	}
	return nil
}
