package member

import (
	"errors"
	"slices"
	"sync"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/syncd"
)

// This file is the exchange with others as its carrier drives it. Peers are
// named by their bus keys. Nothing here waits for a network: a carrier takes
// what Asks gives, sends it, and brings back what came of it.

// Stamp reads this device's clocks.
func (m *Member) Stamp() events.Stamp { return m.world.Now() }

// Have is what this member holds of the logs of the site's members. Where somebody
// joins, it is told once a lead's installation has decided: who sees that everything of
// theirs has come, and nothing more is there, may leave.
func (m *Member) Have() syncd.Have {
	m.deciding.RLock()
	defer m.deciding.RUnlock()
	return syncd.HaveOf(m.journal, m.proven)
}

// Answer is the reply to a peer's pull, whatever its bytes are, written into room
// as far as that reaches.
func (m *Member) Answer(pull, room []byte) []byte {
	return syncd.Answer(m.journal, m.proven, pull, room)
}

// proven says whether the join of a feed key is held and holds. Our own need not
// be held: where its line was damaged, others have it, and it must be asked for.
func (m *Member) proven(key events.Key) bool { return key == m.self || m.joined.has(key) }

// joins are the keys whose joins hold. It has a lock of its own, so that peers are
// answered while facts are folded for somebody else.
type joins struct {
	mu   sync.RWMutex
	keys map[events.Key]bool
}

func (j *joins) add(key events.Key) {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.keys == nil {
		j.keys = map[events.Key]bool{}
	}
	j.keys[key] = true
}

func (j *joins) has(key events.Key) bool {
	j.mu.RLock()
	defer j.mu.RUnlock()
	return j.keys[key]
}

// Hear takes in what a peer says it has. Asked is this device's clocks before it
// was asked, or zero where have is only tips that grew, told unasked.
func (m *Member) Hear(peer events.Key, have syncd.Have, asked events.Stamp) {
	m.talk.Lock()
	if asked == (events.Stamp{}) {
		m.exchange.Grown(peer, have)
	} else {
		m.exchange.Hear(peer, have)
	}
	m.talk.Unlock()
	if asked != (events.Stamp{}) {
		m.picturesHeard(peer)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.holding[peer] == nil {
		m.holding[peer] = map[events.FeedID]events.Seq{}
	}
	for _, tip := range have.Tips {
		if !m.journal.Holds(tip) {
			continue
		}
		if tip.Seq > m.holding[peer][tip.Feed] {
			m.holding[peer][tip.Feed] = tip.Seq
			m.dealings++
		}
		if tip.Feed.Key() == m.self {
			m.handed[tip.Feed] = max(m.handed[tip.Feed], tip.Seq)
		}
	}
	if asked != (events.Stamp{}) {
		m.told[peer] = telling{asked, have.Tips, have.Holes}
	}
	m.hearOut(peer)
}

// Left notes that a peer went away.
func (m *Member) Left(peer events.Key) {
	m.talk.Lock()
	m.exchange.Left(peer)
	m.talk.Unlock()
	m.picturesLeft(peer)
	m.mu.Lock()
	defer m.mu.Unlock()
	delete(m.told, peer)
	delete(m.unnamed, peer)
}

// Asks is what to ask now, and of whom. Each must be followed by Answered or
// Unanswered, or its peer by Left.
func (m *Member) Asks() []syncd.Ask {
	m.talk.Lock()
	defer m.talk.Unlock()
	return m.exchange.Asks()
}

// Unanswered notes that nothing came of an ask.
func (m *Member) Unanswered(ask syncd.Ask) {
	m.talk.Lock()
	defer m.talk.Unlock()
	m.exchange.Unanswered(ask.ID)
}

// Towards is how things stand with a peer.
func (m *Member) Towards(peer events.Key) syncd.Standing {
	m.talk.Lock()
	defer m.talk.Unlock()
	return m.exchange.Towards(peer)
}

// gap says whether lines were refused for not connecting to what is held: their
// sender's fault, not ours.
func gap(err error) bool {
	var g *journal.Gap
	return errors.As(err, &g) || errors.Is(err, journal.ErrHole)
}

// telling is what a peer said it has, and when it was asked.
type telling struct {
	asked events.Stamp
	tips  []events.Ref
	holes map[events.FeedID][]events.Seq // that it has itself
}

// hearOut notes how fresh a peer's log is here, once all that it had said of its
// own when it was asked is held, and nothing before it is missing that it has.
func (m *Member) hearOut(peer events.Key) {
	said, ok := m.told[peer]
	who := m.memberOn(peer)
	if !ok || who == nil {
		return
	}
	for _, tip := range said.tips {
		if tip.Feed.Key() == who.Key && !m.journal.Holds(tip) {
			return
		}
	}
	if m.lacks(who.Key, said.holes) {
		return
	}
	delete(m.told, peer)
	m.freshen(who.Key, said.asked)
}

// lacks says whether a line of a member's feeds is missing here that others follow,
// other than those that its author has lost as well: no talk with them brings such
// a line, and a wait for it would be for ever.
func (m *Member) lacks(who events.Key, lost map[events.FeedID][]events.Seq) bool {
	for feed, holes := range m.journal.Holes() {
		for _, hole := range holes {
			there := m.journal.Holds(events.Ref{Feed: feed, Seq: hole.Seq, Hash: hole.Hash.Short()})
			if feed.Key() == who && !there && !slices.Contains(lost[feed], hole.Seq) {
				return true
			}
		}
	}
	return false
}

// Watch gives a signal whenever this member's log has grown. Signals that nobody
// takes are one.
func (m *Member) Watch() (grew <-chan struct{}, stop func()) {
	c := make(chan struct{}, 1)
	m.mu.Lock()
	defer m.mu.Unlock()
	m.watchers[c] = true
	return c, func() {
		m.mu.Lock()
		defer m.mu.Unlock()
		delete(m.watchers, c)
	}
}

// grown tells those who watch.
func (m *Member) grown() {
	for c := range m.watchers {
		select {
		case c <- struct{}{}:
		default:
		}
	}
}
