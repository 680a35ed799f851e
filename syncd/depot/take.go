package depot

import (
	"context"
	"errors"
	"fmt"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/seal"
)

// Take stores lines as [journal.Journal.Take] does, and returns when a quorum of the
// cluster keeps what was new of them. Where it fails, some of them may be in the
// cluster already; those are told to whoever follows.
func (s *Store) Take(ctx context.Context, lines []seal.Verified) (journal.Taken, error) {
	if err := errors.Join(ctx.Err(), s.refusal()); err != nil {
		return journal.Taken{}, err
	}
	var taken journal.Taken
	more, err := s.change(ctx, func() (err error) {
		want, err := s.held.Wants(lines)
		if err != nil {
			return err
		}
		fresh := s.notWaiting(want.Lines)
		if err := s.ownElsewhere(ctx, fresh); err != nil {
			return err
		}
		for _, c := range chunksOf(fresh) {
			if err := s.sendChunk(ctx, c); err != nil {
				return err
			}
		}
		taken, err = s.held.Take(context.WithoutCancel(ctx), lines)
		return err
	})
	s.tell(more)
	if err != nil && len(taken.Gaps) == 0 {
		return journal.Taken{}, fmt.Errorf("take lines: %w", err)
	}
	return taken, err
}

// TakeHole is [journal.Journal.TakeHole] on the same terms.
func (s *Store) TakeHole(ctx context.Context, feed events.FeedID, missing events.Head, next seal.Verified) (journal.Taken, error) {
	if err := errors.Join(ctx.Err(), s.refusal()); err != nil {
		return journal.Taken{}, err
	}
	var taken journal.Taken
	more, err := s.change(ctx, func() (err error) {
		hole, line, err := s.held.WantsHole(feed, missing, next)
		if err != nil {
			return err
		}
		c := chunk{feed: feed, lines: []seal.Verified{next}}
		if hole {
			c.hole = missing
		}
		if hole || line {
			if err := s.ownElsewhere(ctx, c.lines); err != nil {
				return err
			}
			if err := s.sendChunk(ctx, c); err != nil {
				return err
			}
		}
		taken, err = s.held.TakeHole(context.WithoutCancel(ctx), feed, missing, next)
		return err
	})
	s.tell(more)
	return taken, err
}

// change does something under write, and again from its beginning, after catching
// up, as often as another relay was first. It returns the lines that what was done
// let in besides: those that had waited for it.
func (s *Store) change(ctx context.Context, do func() error) ([]seal.Verified, error) {
	ctx, cancel := context.WithTimeout(ctx, 2*s.c.opts.Patience)
	defer cancel()
	for {
		s.write.Lock()
		err := do()
		more := s.connect()
		s.ownGrew(more)
		s.write.Unlock()
		if !errors.Is(err, errMoved) {
			return more, err
		}
		s.tell(more)
		if err := s.catchUp(ctx); err != nil {
			return nil, err
		}
		if pause(ctx, pauseBetween/10) != nil { // what was in the way may not be settled yet
			return nil, ErrNoQuorum
		}
	}
}

func (s *Store) sendChunk(ctx context.Context, c chunk) error {
	l := s.letter(c.feed)
	l.chunk = c
	return s.send(ctx, l)
}

// notWaiting leaves out lines that are in the cluster and wait there for what is
// missing before them.
func (s *Store) notWaiting(lines []seal.Verified) []seal.Verified {
	if len(s.waiting) == 0 {
		return lines
	}
	there := map[events.Ref]bool{}
	for _, chunks := range s.waiting {
		for _, c := range chunks {
			for _, v := range c.lines {
				there[v.Ref()] = true
			}
		}
	}
	var out []seal.Verified
	for _, v := range lines {
		if !there[v.Ref()] {
			out = append(out, v)
		}
	}
	return out
}

// connect applies chunks that waited, as far as what they waited for is here, and
// returns what is new with them. The caller holds write.
func (s *Store) connect() []seal.Verified {
	var out []seal.Verified
	for feed := range s.waiting {
		for again := true; again; {
			again = false
			rest := s.waiting[feed][:0:0]
			for _, c := range s.waiting[feed] {
				fresh, ok := s.apply(c)
				out = append(out, fresh...)
				if again = again || ok; !ok {
					rest = append(rest, c)
				}
			}
			s.waiting[feed] = rest
		}
		if len(s.waiting[feed]) == 0 {
			delete(s.waiting, feed)
		}
	}
	return out
}

// apply takes a chunk into memory, and says whether it connected.
func (s *Store) apply(c chunk) (fresh []seal.Verified, connected bool) {
	ctx := context.Background() // memory does not wait
	lines := c.lines
	if c.hole.Seq > 0 {
		taken, err := s.held.TakeHole(ctx, c.feed, c.hole, lines[0])
		if err != nil {
			return nil, false
		}
		fresh, lines = taken.Fresh, lines[1:]
	}
	taken, err := s.held.Take(ctx, lines)
	return append(fresh, taken.Fresh...), err == nil
}
