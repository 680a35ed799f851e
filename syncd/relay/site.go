package relay

import (
	"context"
	"errors"

	"pairwalk/events"
	"pairwalk/syncd/bus"
	"pairwalk/syncd/member"
)

// phase is where a site is between asleep and awake.
type phase int

const (
	asleep phase = iota
	waking
	awake
	leaving // on the way to sleep
)

// site is one site of the relay. All but the seat belong to the relay's lock.
type site struct {
	seat   Seat
	phase  phase
	change chan struct{} // closed when waking or leaving is over
	bus    *bus.Bus
	member *member.Member
	waits  int    // who wait for it to be opened
	holds  int    // who need it open now
	turn   uint64 // when somebody did last
	quiet  int    // looks in a row at which nobody was there
	looks  int    // since it woke
	fails  int    // openings in a row that failed
	broken bool   // not to be opened for a while
	// barred are those whom the log sent away when the site was open last. While it
	// sleeps its log can't change, so neither can that, and they wake nobody. There are
	// none where others write to the log as well.
	barred map[events.Key]bool
}

// barredMost bounds who is remembered: each has shown a join that an invite proves.
const barredMost = 256

var errBarred = errors.New("was sent away when the site was open last, and its log has not grown since")

// Enter is the bus of a site, for the hall.
func (r *Relay) Enter(ctx context.Context, id events.SiteID, who events.Key) (*bus.Bus, func(error), error) {
	s, err := r.hold(ctx, id, who)
	if err != nil {
		return nil, nil, err
	}
	return s.bus, func(why error) {
		r.mu.Lock()
		defer r.mu.Unlock()
		s.holds--
		r.idle.Broadcast()
		switch {
		case why == nil:
			delete(s.barred, who)
		case !errors.Is(why, bus.ErrNotNow) && !errors.Is(why, bus.ErrFull) && len(s.barred) < barredMost && !r.shared:
			s.barred[who] = true
		}
	}, nil
}

// Lend gives a site's member to somebody else for as long as f takes, opening the
// site if need be. Close waits for f.
func (r *Relay) Lend(ctx context.Context, id events.SiteID, f func(*member.Member) error) error {
	s, err := r.hold(ctx, id, "")
	if err != nil {
		return err
	}
	defer func() {
		r.mu.Lock()
		defer r.mu.Unlock()
		s.holds--
		r.idle.Broadcast()
	}()
	return f(s.member)
}

// hold has a site opened, if it is not, and keeps it open until holds is lowered.
func (r *Relay) hold(ctx context.Context, id events.SiteID, who events.Key) (*site, error) {
	for woken := false; ; {
		r.mu.Lock()
		s := r.sites[id]
		if s == nil || r.shut {
			r.mu.Unlock()
			return nil, bus.ErrNotNow
		}
		switch s.phase {
		case awake:
			s.holds++
			s.quiet = 0
			r.turn++
			s.turn = r.turn
			r.mu.Unlock()
			return s, nil
		case asleep:
			if err := s.mayWake(who, woken); err != nil {
				r.mu.Unlock()
				return nil, err
			}
			s.phase, s.change = waking, make(chan struct{})
			r.work.Go(func() { r.wake(s) })
		}
		woken = s.phase == waking
		change, full := s.change, s.waits >= r.o.PerSite
		s.waits++
		r.mu.Unlock()
		err := await(ctx, change, full)
		r.mu.Lock()
		s.waits--
		r.mu.Unlock()
		if err != nil {
			return nil, err
		}
	}
}

// await waits until a site has changed, unless too many do already.
func await(ctx context.Context, change <-chan struct{}, full bool) error {
	if full {
		return bus.ErrFull
	}
	select {
	case <-change:
		return nil
	case <-ctx.Done():
		return errors.Join(bus.ErrNotNow, ctx.Err())
	}
}

// mayWake says whether a site that sleeps is to be woken for a caller, who is "" for
// this relay itself. Woken: it was, a moment ago, and that came to nothing.
func (s *site) mayWake(who events.Key, woken bool) error {
	switch {
	case s.barred[who]:
		return errBarred
	case s.broken, woken:
		return bus.ErrNotNow
	}
	return nil
}
