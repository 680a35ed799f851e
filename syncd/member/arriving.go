package member

import (
	"context"
	"errors"
	"slices"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// This file is for a log that is kept elsewhere than on this device's own disk
// ([Log]): others may write to it as well, and writing may fail for a while.

// Arrived takes in lines that came into the log by another way than through this
// member: whoever keeps the log calls it once they are as durable as any. Lines
// that were taken in before change nothing.
func (m *Member) Arrived(ctx context.Context, lines []seal.Verified) error {
	m.mu.Lock()
	evs := m.world.decode(lines)
	for i := range evs {
		if evs[i].Member() == m.self {
			m.tell(&evs[i])
		}
	}
	m.takeIn(evs, m.world.wall())
	m.goOn()
	for peer := range m.told {
		m.hearOut(peer)
	}
	m.mu.Unlock()
	for i := range evs {
		if _, joins := evs[i].Payload.(events.MemberJoined); joins {
			_, _, err := m.admitPlain(ctx)
			return errors.Join(err, m.comparedBefore(ctx))
		}
	}
	return nil
}

// unfolded leaves out what was folded before.
func (m *Member) unfolded(evs []events.Event) []events.Event {
	known := func(e events.Event) bool {
		_, known := m.history.Find(e.Ref())
		return known
	}
	if !slices.ContainsFunc(evs, known) {
		return evs
	}
	return slices.DeleteFunc(slices.Clone(evs), known)
}

// goOn goes on from where the log says that the own feed stands: what was sealed
// after that was refused, or others with our keys have said more.
func (m *Member) goOn() {
	own := m.journal.Own()
	switch {
	case own.Replace != "":
		m.forked()
	case own.Feed != m.feed || own.Head != m.last:
		m.feed, m.last = own.Feed, own.Head
		m.spoken = map[events.FeedID]events.Ref{} // the next entry names every head again
	}
}

// refused is for entries that the log did not take: the own feed goes on from what
// it did take, some of which may be ours and not folded yet.
func (m *Member) refused() {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.goOn()
	head, ok := m.journal.Heads()[m.feed]
	if !ok {
		return
	}
	var lines []seal.Verified
	for v, err := range m.journal.Descent(events.Ref{Feed: m.feed, Seq: head.Seq, Hash: head.Hash.Short()}, 1) {
		if err != nil {
			return
		}
		lines = append(lines, v)
	}
	m.takeIn(m.world.decode(lines), m.world.wall())
}
