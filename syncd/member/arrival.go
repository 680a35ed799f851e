package member

import (
	"context"
	"errors"
	"slices"
	"sync"

	"pairwalk/events"
	"pairwalk/events/seal"
	"pairwalk/syncd"
)

// arrivals are the replies that have come and are not kept yet. While one lot of them
// is written and synced, the next are opened and still others are on their way; then
// all that are open by then are kept with one sync. Of one feed they are kept in the
// order in which they came.
type arrivals struct {
	keep sync.Mutex // held while replies are kept; taken before talk and mu

	mu    sync.Mutex
	queue []*arrival
}

// arrival is one reply.
type arrival struct {
	ask    syncd.Ask
	before *arrival      // of the same feed, come before; looked at by who opens this one alone
	ready  chan struct{} // closed once this one is open, and all before it

	batch syncd.Batch
	lines []seal.Verified // of all its runs
	evs   []events.Event  // what they say
	joins bool            // somebody joins by one of them

	done bool // under keep
	got  syncd.Got
	err  error
}

// add queues a reply.
func (q *arrivals) add(ask syncd.Ask) *arrival {
	q.mu.Lock()
	defer q.mu.Unlock()
	a := &arrival{ask: ask, ready: make(chan struct{})}
	for _, b := range q.queue {
		if b.ask.Pull.Tip.Feed == ask.Pull.Tip.Feed {
			a.before = b
		}
	}
	q.queue = append(q.queue, a)
	return a
}

// of is the reply that Came announced, or a new one.
func (q *arrivals) of(ask syncd.Ask) *arrival {
	q.mu.Lock()
	i := slices.IndexFunc(q.queue, func(a *arrival) bool { return a.ask.ID == ask.ID })
	if i >= 0 {
		defer q.mu.Unlock()
		return q.queue[i]
	}
	q.mu.Unlock()
	return q.add(ask)
}

// open takes those out of the queue that can be kept now.
func (q *arrivals) open() []*arrival {
	q.mu.Lock()
	defer q.mu.Unlock()
	var out []*arrival
	q.queue = slices.DeleteFunc(q.queue, func(a *arrival) bool {
		select {
		case <-a.ready:
			out = append(out, a)
			return true
		default:
			return false
		}
	})
	return out
}

// Came notes that a reply has come, before Answered takes it in: Asks may have more
// to ask of its peer meanwhile. A carrier need not call it; where it does, Answered
// must follow.
func (m *Member) Came(ask syncd.Ask, reply []byte) {
	m.arrivals.add(ask)
	m.talk.Lock()
	defer m.talk.Unlock()
	m.exchange.Came(ask.ID, reply)
}

// Answered takes in a reply: what is authentic in it is on disk and folded when
// it returns. The error is a *syncd.Complaint where the peer is at fault, and
// otherwise says why nothing could be kept. A lead's installation admits members
// it hears of whose invite is plainly good.
func (m *Member) Answered(ctx context.Context, ask syncd.Ask, reply []byte) (syncd.Got, error) {
	a := m.arrivals.of(ask)
	a.open(m.world, syncd.OpenReply(m.keys.Site, ask, reply))
	if a.before != nil {
		<-a.before.ready
		a.before = nil
	}
	close(a.ready)
	m.arrivals.keep.Lock()
	defer m.arrivals.keep.Unlock()
	if !a.done {
		m.keepAll(ctx, m.arrivals.open())
	}
	return a.got, a.err
}

// open notes what a reply holds and says.
func (a *arrival) open(w World, batch syncd.Batch) {
	a.batch = batch
	for _, run := range batch.Runs {
		a.lines = behind(a.lines, run.Lines)
	}
	a.evs = w.decode(a.lines)
	a.joins = anyJoin(a.evs)
}

// keepAll keeps replies: those that simply go on where others ended, or begin,
// together, and each of the rest by itself.
func (m *Member) keepAll(ctx context.Context, all []*arrival) {
	for len(all) > 0 {
		n := 0
		for n < len(all) && all[n].batch.Plain() && !m.stranger(all[n].batch) {
			n++
		}
		m.keepSome(ctx, all[:max(1, n)])
		all = all[max(1, n):]
	}
}

func (m *Member) stranger(b syncd.Batch) bool {
	m.talk.Lock()
	defer m.talk.Unlock()
	return m.exchange.Stranger(b)
}

// keepSome keeps replies with one sync, and tells the exchange.
func (m *Member) keepSome(ctx context.Context, some []*arrival) {
	var err error
	if len(some) > 1 || !m.stranger(some[0].batch) { // of several, none is
		err = m.takeBatches(ctx, some)
	}
	for _, a := range some {
		a.done, a.err = true, err
		if err != nil {
			a.got = syncd.Got{}
			m.Unanswered(a.ask)
			continue
		}
		m.talk.Lock()
		a.err = m.exchange.Took(a.batch, a.got.Fresh+a.got.Healed)
		m.talk.Unlock()
	}
}

// takeBatches keeps what replies hold, and folds it.
func (m *Member) takeBatches(ctx context.Context, some []*arrival) error {
	if slices.ContainsFunc(some, func(a *arrival) bool { return a.joins }) {
		m.deciding.Lock()
		defer m.deciding.Unlock()
	}
	t := taking{m: m, ctx: ctx}
	for _, a := range some {
		for _, run := range a.batch.Runs {
			if err := t.run(run.Hole, run.Lines); err != nil && !gap(err) {
				return err
			}
		}
	}
	if err := t.flush(); err != nil && !gap(err) {
		return err
	}
	said := m.share(t.sum.Fresh, some)
	some[len(some)-1].got.Healed = t.sum.Healed
	m.mu.Lock()
	for _, evs := range said {
		m.takeIn(evs, m.world.wall())
	}
	m.forked()
	for _, a := range some {
		m.hearOut(a.ask.Peer)
	}
	m.mu.Unlock()
	if !slices.ContainsFunc(said, anyJoin) {
		return nil
	}
	_, _, err := m.admitPlain(ctx)
	return errors.Join(err, m.comparedBefore(ctx))
}

// anyJoin says whether somebody joins by an entry.
func anyJoin(evs []events.Event) bool {
	for i := range evs {
		if _, yes := evs[i].Payload.(events.MemberJoined); yes {
			return true
		}
	}
	return false
}

// share counts which reply brought which of the fresh lines, and is what they say,
// reply by reply, which was found out as these were opened.
func (m *Member) share(fresh []seal.Verified, some []*arrival) [][]events.Event {
	var said [][]events.Event
	for _, a := range some {
		n := 0
		for i := range a.lines {
			if n == len(fresh) || fresh[n].Hash() != a.lines[i].Hash() {
				continue
			}
			if i > n {
				a.evs[n] = a.evs[i]
			}
			n++
		}
		clear(a.evs[n:])
		said, fresh, a.got.Fresh = append(said, a.evs[:n]), fresh[n:], n
	}
	if len(fresh) > 0 { // some stand elsewhere now than where they were offered
		some[len(some)-1].got.Fresh += len(fresh)
		said = append(said, m.world.decode(fresh))
	}
	return said
}
