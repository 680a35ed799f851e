package depot

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"slices"
	"sync"
	"sync/atomic"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/seal"
	"pairwalk/syncd/member"
)

// Store keeps one site's sealed entries in the cluster, for one relay. It keeps
// the laws of a [journal.Journal], for reading as for writing. Its methods may be
// called from many goroutines.
type Store struct {
	c    *cluster
	site events.SiteID
	self events.Key // whose feeds are our own
	now  func() events.Stamp

	shown atomic.Pointer[journal.Journal] // what the cluster confirmed, in memory

	speak sync.Mutex // held by whoever says something in the own feed; taken first
	// write is held by whoever changes what is held. Under it are:
	write   sync.Mutex
	held    *journal.Journal          // the one shown, but while the cluster is read anew
	newest  map[events.FeedID]uint64  // the number of the newest message of each feed
	waiting map[events.FeedID][]chunk // in the cluster, and something before them is missing
	outbox  *letter                   // own lines that were sent, and nobody knows whether they arrived
	stamp   events.Stamp              // when the cluster took what is being applied; zero: now

	queue queue

	mu       sync.Mutex // taken last
	at       uint64     // the number of the newest message that was applied
	moved    chan struct{}
	own      journal.Own // without its head
	problems []journal.Problem
	arrived  func([]seal.Verified)
	early    []seal.Verified // that arrived before anybody wanted to know
	closed   bool

	rewinding sync.Mutex // one at a time
	life      context.Context
	stop      context.CancelFunc // of life
	halt      context.CancelFunc // of the follower
	work      sync.WaitGroup
	follower  sync.WaitGroup
}

var _ member.Log = (*Store)(nil)

// openStore reads what the cluster holds of a site, and follows it from there on.
func openStore(ctx context.Context, c *cluster, site events.SiteID, self events.Key, now func() events.Stamp) (*Store, error) {
	s := &Store{
		c: c, site: site, self: self, now: now,
		newest: map[events.FeedID]uint64{}, waiting: map[events.FeedID][]chunk{}, moved: make(chan struct{}),
	}
	if err := s.empty(); err != nil {
		return nil, err
	}
	s.shown.Store(s.held)
	s.life, s.stop = context.WithCancel(context.WithoutCancel(ctx))
	s.begin()
	if err := s.catchUp(ctx); err != nil {
		return nil, errors.Join(fmt.Errorf("open site: %w", err), s.Close())
	}
	s.mu.Lock()
	s.early = nil // whoever opens the store reads all that is held
	s.mu.Unlock()
	c.open(s)
	return s, nil
}

// begin starts the follower.
func (s *Store) begin() {
	ctx, halt := context.WithCancel(s.life)
	s.halt = halt
	s.follower.Go(func() { s.follow(ctx) })
}

// empty puts an empty journal in memory. All lines are others' to it: which feed is
// our own, and whether it may be gone on with, the cluster says.
func (s *Store) empty() error {
	// Its files are in memory as well: a line is in memory once, as a file's bytes.
	j, err := journal.Open(journal.Memory(), journal.Memory(), s.site, journal.Env{Now: s.clock, Log: s.c.log})
	if err != nil {
		return fmt.Errorf("open site: %w", err)
	}
	s.held = j
	return nil
}

// clock is the time that receipts bear. What came in before this process was there
// has the time at which the cluster took it, which proves no elapsed time. The
// caller holds write, or nobody else knows the store yet.
func (s *Store) clock() events.Stamp {
	if s.stamp != (events.Stamp{}) {
		return s.stamp
	}
	return s.now()
}

// Follow has lines told that came into the cluster by others, from now on and those
// since the store was opened. What was told before may be told again.
func (s *Store) Follow(arrived func([]seal.Verified)) {
	s.mu.Lock()
	s.arrived = arrived
	early := s.early
	s.early = nil
	s.mu.Unlock()
	if len(early) > 0 {
		arrived(early)
	}
}

// tell passes on lines that came by others. The caller does not hold write.
func (s *Store) tell(lines []seal.Verified) {
	if len(lines) == 0 {
		return
	}
	s.mu.Lock()
	to := s.arrived
	if to == nil {
		s.early = append(s.early, lines...)
	}
	s.mu.Unlock()
	if to != nil {
		to(lines)
	}
}

// Close ends following. What waits in the queue is given to the cluster first.
func (s *Store) Close() error {
	s.mu.Lock()
	was := s.closed
	s.closed = true
	s.mu.Unlock()
	if was {
		return nil
	}
	s.speak.Lock()
	s.write.Lock()
	s.commitQueue()
	_, unsettled := s.settle()
	s.write.Unlock()
	s.speak.Unlock()
	if unsettled != nil {
		s.c.log.Warn("closing a site with own lines that the cluster did not confirm", "site", string(s.site), "error", unsettled)
	}
	s.c.closed(s)
	s.stop()
	s.work.Wait()
	s.follower.Wait()
	s.write.Lock()
	defer s.write.Unlock()
	return s.held.Close()
}

// refusal says why nothing can be written, or nil.
func (s *Store) refusal() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.closed {
		return journal.ErrClosed
	}
	return nil
}

// problem notes what is wrong in the cluster, once.
func (s *Store) problem(p journal.Problem) {
	s.mu.Lock()
	known := slices.Contains(s.problems, p)
	if !known {
		s.problems = append(s.problems, p)
	}
	s.mu.Unlock()
	if !known {
		s.c.log.Warn("site in the cluster is not whole", "site", string(s.site), "fault", string(p.Fault), "place", p.String())
	}
}

// Problems is what was found wrong in the cluster since the store was opened,
// mended since or not.
func (s *Store) Problems() []journal.Problem {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.problems)
}

// What is held is read in memory; see [journal.Journal] for each.

// Tips are the newest lines of all branches.
func (s *Store) Tips() []events.Ref { return s.shown.Load().Tips() }

// Holes are the places whose line is missing.
func (s *Store) Holes() map[events.FeedID][]events.Head { return s.shown.Load().Holes() }

// Holds says whether that very line is held.
func (s *Store) Holds(ref events.Ref) bool { return s.shown.Load().Holds(ref) }

// HashAt is the hash known of a place.
func (s *Store) HashAt(feed events.FeedID, q events.Seq) events.Hash {
	return s.shown.Load().HashAt(feed, q)
}

// Descent yields the branch a line stands on.
func (s *Store) Descent(of events.Ref, from events.Seq) iter.Seq2[seal.Verified, error] {
	return s.shown.Load().Descent(of, from)
}

// Copies yields the bytes of that branch.
func (s *Store) Copies(of events.Ref, from events.Seq) iter.Seq2[events.Seq, []byte] {
	return s.shown.Load().Copies(of, from)
}

// Heads are the newest lines of the main branches.
func (s *Store) Heads() map[events.FeedID]events.Head { return s.shown.Load().Heads() }

// Forks are the branches beside the main ones.
func (s *Store) Forks() []journal.Fork { return s.shown.Load().Forks() }

// Lines yields a feed's main branch.
func (s *Store) Lines(feed events.FeedID, from events.Seq) iter.Seq2[seal.Verified, error] {
	return s.shown.Load().Lines(feed, from)
}

// All yields every line held.
func (s *Store) All() iter.Seq2[seal.Verified, error] { return s.shown.Load().All() }

// Receipt says when an entry of others came into the cluster, or here where this
// process took it in itself.
func (s *Store) Receipt(ref events.Ref) (events.Stamp, bool) {
	if ref.Feed.Key() == s.self {
		return events.Stamp{}, false
	}
	return s.shown.Load().Receipt(ref)
}

// FirstOpened is since when elapsed time is proven: since this process has the site
// open.
func (s *Store) FirstOpened() events.Stamp { return s.shown.Load().FirstOpened() }
