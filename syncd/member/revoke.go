package member

import (
	"context"
	"errors"
	"fmt"

	"pairwalk/events"
	"pairwalk/projection"
)

// Revoking says how a member's say is ended.
type Revoking struct {
	Why   string
	Sheet string        // the recovery sheet, which revoking a lead takes
	Last  *events.Event // their last entry that still counts; nil: all that counts now
}

// Revoke ends a member's say. What they said up to the cut still counts; of several
// revocations the latest cut holds, so an earlier one can't be set afterwards.
func (m *Member) Revoke(ctx context.Context, who *projection.Member, r Revoking) (events.Event, error) {
	if err := m.mustLead("revoke"); err != nil {
		return events.Event{}, err
	}
	cut, err := m.cut(who, r.Last)
	if err != nil {
		return events.Event{}, err
	}
	p := events.MemberRevoked{Key: who.Key, Heads: cut, Why: r.Why}
	if who.Role == events.Lead {
		if r.Sheet == "" {
			return events.Event{}, errors.New("only the root revokes a lead: give the twelve words of the recovery sheet with --sheet")
		}
		root, err := m.root(r.Sheet)
		if err != nil {
			return events.Event{}, err
		}
		p = root.Revoke(p)
	}
	return m.recordOne(ctx, Entry{Payload: p})
}

// cut says how far a member's feeds still count. Where their last entry is named,
// their other feeds count as far as it and those before it tell of them: a feed begun
// afterwards counts for nothing. What of an older feed they did not tell of can be
// added, by revoking again with the last entry of that one. Of somebody who never
// counted, or is revoked already, nothing more begins to count by it.
func (m *Member) cut(who *projection.Member, last *events.Event) (map[events.FeedID]events.Head, error) {
	heads := map[events.FeedID]events.Head{}
	if last == nil {
		for feed, head := range m.journal.Heads() {
			if feed.Key() != who.Key || who.Standing == projection.Quarantined {
				continue
			}
			if who.Standing == projection.Revoked && head.Seq > who.Cut[feed].Seq {
				if head = who.Cut[feed]; head.Seq == 0 {
					continue
				}
			}
			heads[feed] = head
		}
		return heads, nil
	}
	if last.Member() != who.Key {
		return nil, fmt.Errorf("revoke: entry %s is another member's; name the last one of theirs that still counts", last.ID)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.toldUpTo(last, heads)
	return heads, nil
}

// toldUpTo notes an entry, and what it and those before it tell of its author's other
// feeds: the feed they went on from, and lines of their own that came back to them.
func (m *Member) toldUpTo(last *events.Event, heads map[events.FeedID]events.Head) {
	if last.Seq <= heads[last.Feed].Seq {
		return
	}
	heads[last.Feed] = events.Head{Seq: last.Seq, Hash: last.Hash}
	for e, ok := last, true; ok; e, ok = m.history.Find(events.Ref{Feed: e.Feed, Seq: e.Seq - 1, Hash: e.Prev.Short()}) {
		for _, ref := range e.Seen {
			if told, found := m.history.Find(ref); found && ref.Feed.Key() == last.Member() {
				m.toldUpTo(told, heads)
			}
		}
		p, begins := e.Payload.(events.FeedStarted)
		if !begins {
			continue
		}
		if was := p.Last.Value; p.Last.Known && p.Previous.Key() == last.Member() {
			if told, found := m.history.Find(events.Ref{Feed: p.Previous, Seq: was.Seq, Hash: was.Hash.Short()}); found {
				m.toldUpTo(told, heads)
			}
		}
		return
	}
}
