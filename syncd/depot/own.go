package depot

import (
	"context"
	"errors"
	"fmt"
	"sync"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/seal"
)

// errTaken means that a number of the own feed was given to another line: a second
// process has this relay's secret.
var errTaken = errors.New("another process speaks with this relay's secret, and was first; run one relay with each secret")

// queue holds own lines that wait for the cluster.
type queue struct {
	mu      sync.Mutex // taken before Store.mu
	waiting []*ticket
	tail    events.Head // what the next line must follow
}

// ticket is one caller's lines. It is guarded by Store.speak.
type ticket struct {
	lines []seal.Verified
	done  bool
	err   error
}

// Own is the feed that this relay may append to. Its head is the line that the next
// one must follow, on its way to the cluster or there.
func (s *Store) Own() journal.Own {
	s.queue.mu.Lock()
	defer s.queue.mu.Unlock()
	return s.ownNow()
}

// ownNow is Own for who holds the queue.
func (s *Store) ownNow() journal.Own {
	s.mu.Lock()
	defer s.mu.Unlock()
	own := s.own
	own.Head = s.queue.tail
	return own
}

// Queue takes lines in and returns at once. A quorum of the cluster keeps them once
// wait returns nil. Where it returns an error, Own says what to go on from: lines
// that were sent and not confirmed stay in their place, and are sent again before
// anything else; lines that were not sent are forgotten.
func (s *Store) Queue(lines ...seal.Verified) (wait func() error, err error) {
	if err := s.refusal(); err != nil {
		return nil, fmt.Errorf("append to own feed: %w", err)
	}
	s.queue.mu.Lock()
	defer s.queue.mu.Unlock()
	own := s.ownNow()
	for _, v := range lines {
		if err := s.fits(own, v); err != nil {
			return nil, fmt.Errorf("append event %d: %w", v.Seq(), err)
		}
		own.Head = v.Head()
	}
	t := &ticket{lines: lines}
	s.queue.waiting = append(s.queue.waiting, t)
	s.queue.tail = own.Head
	return func() error {
		more, err := s.commit(t)
		s.tell(more)
		return err
	}, nil
}

// commit gives the cluster what waits, unless that was done for this ticket.
func (s *Store) commit(t *ticket) (settled []seal.Verified, err error) {
	s.speak.Lock()
	defer s.speak.Unlock()
	s.write.Lock()
	defer s.write.Unlock()
	if !t.done {
		settled = s.commitQueue()
	}
	return settled, t.err
}

func (s *Store) fits(own journal.Own, v seal.Verified) error {
	switch {
	case v.Header().Site != s.site:
		return journal.ErrWrongSite
	case own.Replace != "":
		return fmt.Errorf("%w (%s)", journal.ErrReplaced, own.Replace)
	case own.Feed == "":
		return journal.ErrNoFeed
	case v.Feed() != own.Feed || v.Seq() != own.Head.Seq+1 || v.Prev() != own.Head.Hash:
		return journal.ErrNotNext
	}
	return nil
}

// commitQueue gives the cluster everything that waits, after what was sent before
// and is not settled. It returns lines of before that are settled now. The caller
// holds speak and write.
func (s *Store) commitQueue() (settled []seal.Verified) {
	s.queue.mu.Lock()
	batch := s.queue.waiting
	s.queue.waiting = nil
	s.queue.mu.Unlock()
	if len(batch) == 0 {
		return nil
	}
	settled, err := s.settle()
	var lines []seal.Verified
	for _, t := range batch {
		lines = append(lines, t.lines...)
	}
	for _, c := range chunksOf(lines) {
		if err == nil {
			err = s.say(c)
		}
	}
	if err != nil {
		err = fmt.Errorf("append to own feed: %w", err)
		s.rewindTail()
	}
	for _, t := range batch {
		t.done, t.err = true, err
	}
	return settled
}

// rewindTail lets the own feed go on after what was sent, and fails what was queued
// behind that.
func (s *Store) rewindTail() {
	s.queue.mu.Lock()
	defer s.queue.mu.Unlock()
	s.mu.Lock()
	feed := s.own.Feed
	s.mu.Unlock()
	s.queue.tail = s.held.Heads()[feed]
	if s.outbox != nil && s.outbox.feed == feed {
		s.queue.tail = s.outbox.chunk.head()
	}
	for _, t := range s.queue.waiting {
		t.done, t.err = true, fmt.Errorf("append to own feed: %w", journal.ErrNotNext)
	}
	s.queue.waiting = nil
}

// ownElsewhere ends the own feed where somebody shows lines of it that the cluster
// does not have: it was put back to what it held before, or a copy of this relay is
// at work. That is written down first of all. The caller holds write.
func (s *Store) ownElsewhere(ctx context.Context, fresh []seal.Verified) error {
	own := s.Own()
	if own.Feed == "" || own.Replace != "" {
		return nil
	}
	for _, v := range fresh {
		if v.Feed() != own.Feed {
			continue
		}
		to, err := s.c.last(ctx, feedSubject(s.site, own.Feed))
		if err != nil {
			return fmt.Errorf("%w (%w)", ErrNoQuorum, err)
		}
		if to != s.newest[own.Feed] {
			return errMoved
		}
		why := events.Restored
		if known := s.held.HashAt(own.Feed, v.Seq()); known != (events.Hash{}) && known != v.Hash() {
			why = events.Diverged
		}
		return s.endOwn(ctx, why)
	}
	return nil
}

// endOwn writes down in the cluster that the own feed must not be gone on with. The
// caller holds write.
func (s *Store) endOwn(ctx context.Context, why events.StartWhy) error {
	l := s.letter(s.Own().Feed)
	l.ended, l.head = why, s.held.Heads()[l.feed]
	if err := s.send(ctx, l); err != nil {
		return err
	}
	s.ended(l.feed, why, l.head)
	return nil
}

// ended notes that the own feed must not be gone on with, for the first reason.
func (s *Store) ended(feed events.FeedID, why events.StartWhy, last events.Head) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.own.Feed == feed && s.own.Replace == "" {
		s.own.Replace, s.own.Last = why, last
	}
}

// forget is a relay that knows of no own feed.
func (s *Store) forget() {
	s.queue.mu.Lock()
	defer s.queue.mu.Unlock()
	s.mu.Lock()
	defer s.mu.Unlock()
	s.own, s.queue.tail = journal.Own{}, events.Head{}
}

// say gives the cluster a chunk of own lines, which nobody else may have said.
func (s *Store) say(c chunk) error {
	if own := s.Own(); own.Feed != c.feed || own.Replace != "" { // since it was queued
		return fmt.Errorf("%w (%s)", journal.ErrReplaced, own.Replace)
	}
	if head := s.held.Heads()[c.feed]; c.lines[0].Seq() != head.Seq+1 || c.lines[0].Prev() != head.Hash {
		return errTaken
	}
	l := s.letter(c.feed)
	l.chunk = c
	s.outbox = &l
	_, err := s.settle()
	return err
}

// settle finds out what became of the own lines that were sent last, sending them
// again if need be. Only then may others be sent. It returns those that are held now
// and were not.
func (s *Store) settle() ([]seal.Verified, error) {
	if s.outbox == nil {
		return nil, nil
	}
	l := *s.outbox
	err := s.send(context.Background(), l) // once sent, nobody's patience but ours counts
	if errors.Is(err, errMoved) {
		err = s.whoWasFirst(l)
	}
	if err != nil {
		return nil, err
	}
	s.outbox = nil
	fresh, _ := s.apply(l.chunk)
	return fresh, nil
}

// whoWasFirst finds out whether it was our own lines that stand in the way of
// sending them. Write is let go meanwhile, and speak is not.
func (s *Store) whoWasFirst(l letter) error {
	s.write.Unlock()
	err := s.catchUp(context.Background())
	s.write.Lock()
	switch {
	case err != nil:
		return err
	case s.held.Holds(l.chunk.lines[len(l.chunk.lines)-1].Ref()):
		return nil
	case s.newest[l.feed] <= l.after: // nothing came: it was not sure yet
		return ErrNoQuorum
	}
	s.outbox = nil
	return errTaken
}

// Begin makes a new feed the own one, once a quorum keeps its first line.
func (s *Store) Begin(ctx context.Context, first seal.Verified) error {
	if err := errors.Join(ctx.Err(), s.refusal()); err != nil {
		return err
	}
	s.speak.Lock()
	defer s.speak.Unlock()
	s.write.Lock()
	defer s.write.Unlock()
	if err := s.mayBegin(first); err != nil {
		return fmt.Errorf("begin feed: %w", err)
	}
	s.outbox = nil // of a feed that ends: whoever has its lines may show them
	if err := s.sendChunk(ctx, chunk{feed: first.Feed(), lines: []seal.Verified{first}}); err != nil {
		return fmt.Errorf("begin feed: %w", err)
	}
	s.apply(chunk{feed: first.Feed(), lines: []seal.Verified{first}})
	s.begun(first)
	return nil
}

func (s *Store) mayBegin(first seal.Verified) error {
	own := s.Own()
	switch {
	case first.Header().Site != s.site:
		return journal.ErrWrongSite
	case own.Feed != "" && own.Replace == "":
		return journal.ErrHaveFeed
	case first.Seq() != 1 || first.Feed().Key() != s.self || s.held.Heads()[first.Feed()].Seq > 0:
		return journal.ErrNotNext
	}
	return nil
}

// begun makes the feed the own one whose first line the cluster holds.
func (s *Store) begun(first seal.Verified) {
	s.queue.mu.Lock()
	defer s.queue.mu.Unlock()
	s.mu.Lock()
	defer s.mu.Unlock()
	s.own = journal.Own{Feed: first.Feed()}
	s.queue.tail = first.Head()
}
