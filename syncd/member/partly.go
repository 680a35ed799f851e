package member

import (
	"context"
	"fmt"

	"pairwalk/events"
	"pairwalk/events/seal"
	"pairwalk/projection"
)

// partly is how a member knows its log that was opened to record something about a
// few names; see "A part of the log".
type partly struct {
	brief    bool          // nobody will ask for an entry again
	on       bool          // the rest is not read
	said     []events.Hash // here, since
	outgrown bool          // what was said since bears on what was not read
}

// OpenAbout is Open for one entry about a few names, as people write them: tags,
// serials, hubs, circuits, places. Of what others things are named in, no more is
// read than that it was said; ReadRest makes up for that.
func (h *Home) OpenAbout(name string, about ...string) (*Member, error) {
	info, err := h.Find(name)
	if err != nil {
		return nil, err
	}
	keys, err := readKeys(h.folder(info.ID))
	if err != nil {
		return nil, err
	}
	return h.open(keys, about...)
}

// adopt adds events to the history.
func (m *Member) adopt(evs []events.Event) {
	if !m.partly.on {
		m.history.Adopt(evs)
		return
	}
	for i := range evs {
		m.partly.said = append(m.partly.said, evs[i].Hash)
	}
	m.partly.outgrown = !m.history.AddLast(evs...) || m.partly.outgrown
}

// Partly says whether a part of the log was left unread.
func (m *Member) Partly() bool {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.partly.on
}

// ReadRest reads what OpenAbout left out.
func (m *Member) ReadRest() error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if !m.partly.on {
		return nil
	}
	_, err := m.readRest()
	return err
}

// readRest makes whole what is known here, and gives the facts there were before
// anything was said here.
func (m *Member) readRest() (before *projection.Site, err error) {
	ours := make(map[events.Hash]bool, len(m.partly.said))
	for _, h := range m.partly.said {
		ours[h] = true
	}
	var lines []seal.Verified
	for v, err := range m.journal.All() {
		if err != nil {
			return nil, fmt.Errorf("read journal: %w", err)
		}
		lines = append(lines, v)
	}
	all := m.world.decode(lines)
	var earlier, late []events.Event
	for i := range all {
		m.pictured = m.pictured || speaksOfPicture(&all[i])
		if ours[all[i].Hash] {
			late = append(late, all[i])
		} else {
			earlier = append(earlier, all[i])
		}
	}
	m.history = projection.History{Site: m.keys.Site, Together: m.world.Together}
	m.history.Adopt(earlier)
	if len(late) > 0 {
		before = m.history.At(projection.Moment{})
	}
	m.history.Adopt(late)
	m.now, m.partly = nil, partly{}
	return before, nil
}

// RecordMarked records entries, and says what to say about them. Where they bear on
// what was left unread, that is read first.
func (m *Member) RecordMarked(ctx context.Context, entries ...Entry) ([]events.Event, Marks, error) {
	before := m.Now()
	evs, err := m.Record(ctx, entries...)
	if err != nil {
		return nil, Marks{}, err
	}
	m.mu.Lock()
	if m.partly.outgrown {
		before, err = m.readRest()
	}
	m.mu.Unlock()
	if err != nil {
		return evs, Marks{}, fmt.Errorf("it is recorded, and what there is to say of it can't be told: %w", err)
	}
	return evs, MarksOf(before, m.Now(), evs), nil
}
