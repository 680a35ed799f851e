package depot

import (
	"context"
	"errors"
	"time"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/seal"
)

// refillBatch is how many lines are offered to the cluster at a time.
const refillBatch = 512

// open notes that a site is open, and closed that it no longer is.
func (c *cluster) open(s *Store) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.stores[s] = true
}

func (c *cluster) closed(s *Store) {
	c.mu.Lock()
	defer c.mu.Unlock()
	delete(c.stores, s)
}

// watch looks at the stream every so often. One that holds less than it did, or
// that was made anew, was put back from a backup or lost: every site that is open
// reads it anew, and gives it what it lacks.
func (c *cluster) watch(ctx context.Context) {
	high, made := c.look(ctx)
	doubts := 0
	for pause(ctx, lookEvery) == nil {
		last, now := c.look(ctx)
		high = max(high, c.read())
		switch {
		case now.IsZero():
			continue // nobody answers, or the stream was made anew only now
		case last >= high && now.Equal(made):
			high, doubts = last, 0
			continue
		case doubts == 0 && now.Equal(made): // a server may lag behind for a moment
			doubts++
			continue
		}
		c.log.Warn("the cluster's stream was put back or lost: what this relay holds is given to it again", "had", high, "has", last)
		high, made, doubts = last, now, 0
		c.mu.Lock()
		for s := range c.stores {
			s.work.Go(s.rewind)
		}
		c.mu.Unlock()
	}
}

// read is the newest message that any site was told.
func (c *cluster) read() (at uint64) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for s := range c.stores {
		s.mu.Lock()
		at = max(at, s.at)
		s.mu.Unlock()
	}
	return at
}

// look is how many messages the stream ever had, and when it was made. Where it is
// gone, it is made anew.
func (c *cluster) look(ctx context.Context) (last uint64, made time.Time) {
	ctx, cancel := context.WithTimeout(ctx, attemptWithin)
	defer cancel()
	info, err := c.stream.Info(ctx)
	if errors.Is(err, errNoStream) {
		err = c.ensure(ctx)
		if err == nil {
			info, err = c.stream.Info(ctx)
		}
	}
	if err != nil {
		return 0, time.Time{}
	}
	return info.State.LastSeq, info.Created
}

// rewind reads the site anew from the first message on, and then gives the cluster
// what was held and is not there any more. What was held stays shown meanwhile.
func (s *Store) rewind() {
	s.rewinding.Lock()
	defer s.rewinding.Unlock()
	old, own := s.shown.Load(), s.Own()
	s.halt()
	s.follower.Wait()
	if err := s.restart(); err != nil {
		s.c.log.Error("can't read site anew", "site", string(s.site), "error", err)
		return
	}
	s.begin()
	for s.life.Err() == nil {
		err := s.catchUp(s.life)
		if err == nil {
			err = s.refill(old)
		}
		if err == nil {
			err = s.endLost(own)
		}
		if err == nil {
			break
		}
		s.c.log.Warn("giving the cluster what it lacks: waiting", "site", string(s.site), "error", err)
		_ = pause(s.life, pauseBetween)
	}
	s.write.Lock()
	s.shown.Store(s.held)
	s.write.Unlock()
	s.nudge()
}

// restart forgets all that was read.
func (s *Store) restart() error {
	s.speak.Lock()
	defer s.speak.Unlock()
	s.write.Lock()
	defer s.write.Unlock()
	if err := s.empty(); err != nil {
		return err
	}
	clear(s.newest)
	clear(s.waiting)
	s.outbox = nil
	s.forget()
	s.mu.Lock()
	s.at = 0
	s.mu.Unlock()
	return nil
}

// refill gives the cluster lines that it lacks. Those after a hole are left to
// peers, who fill it first.
func (s *Store) refill(from *journal.Journal) error {
	var batch []seal.Verified
	give := func() error {
		_, err := s.Take(s.life, batch)
		batch = batch[:0]
		var gap *journal.Gap
		if errors.As(err, &gap) {
			return nil
		}
		return err
	}
	for v, err := range from.All() {
		if err != nil {
			return err
		}
		if batch = append(batch, v); len(batch) == refillBatch {
			if err := give(); err != nil {
				return err
			}
		}
	}
	return give()
}

// endLost ends an own feed of which the cluster held nothing any more: what is there
// now was given to it anew, and may not be all.
func (s *Store) endLost(was journal.Own) error {
	if was.Feed == "" || s.Own().Feed != "" {
		return nil
	}
	s.write.Lock()
	defer s.write.Unlock()
	s.mu.Lock()
	s.own.Feed = was.Feed
	s.mu.Unlock()
	return s.endOwn(s.life, events.Restored)
}

// nudge has whoever follows look at where the own feed stands.
func (s *Store) nudge() {
	s.mu.Lock()
	to := s.arrived
	s.mu.Unlock()
	if to != nil {
		to(nil)
	}
}
