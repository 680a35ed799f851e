package relay

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/syncd/bus"
	"pairwalk/syncd/member"
)

// errHouseFull means that every site that is open has somebody on it.
var errHouseFull = fmt.Errorf("%w: as many sites are open as may be", bus.ErrNotNow)

// wake opens a site that hold found asleep.
func (r *Relay) wake(s *site) {
	done := r.meter.waking()
	m, b, err := r.openSite(s)
	done(err)
	r.mu.Lock()
	defer r.mu.Unlock()
	defer close(s.change)
	if err != nil {
		s.phase = asleep
		r.failed(s, err)
		return
	}
	s.phase, s.member, s.bus = awake, m, b
	s.fails, s.quiet, s.looks, s.barred = 0, 0, 0, map[events.Key]bool{}
	r.turn++
	s.turn = r.turn
	r.log.Debug("site awake", "site", s.seat.Name)
}

// openSite opens a site's log and its bus, once there is room for them.
func (r *Relay) openSite(s *site) (m *member.Member, b *bus.Bus, err error) {
	select {
	case r.openers <- struct{}{}:
		defer func() { <-r.openers }()
	case <-r.ctx.Done():
		return nil, nil, bus.ErrNotNow
	}
	if err := r.makeRoom(); err != nil {
		return nil, nil, err
	}
	defer func() {
		if err != nil {
			r.freed()
		}
	}()
	r.mu.Lock()
	seat := s.seat
	r.mu.Unlock()
	if m, err = r.office.Open(r.ctx, seat.Site); err != nil {
		return nil, nil, err
	}
	for _, p := range m.Problems() {
		r.log.Warn("found wrong when the site was opened", "site", seat.Name, "what", p.String())
	}
	b, err = r.hall.Open(r.ctx, face{m, r.meter}, bus.Options{Log: r.log, Notice: r.notices(seat, m)})
	if err != nil {
		return nil, nil, errors.Join(err, m.Close())
	}
	return m, b, nil
}

// failed notes that a site could not be opened. It is left alone for a while, unless
// that was no fault of its files. The relay is locked.
func (r *Relay) failed(s *site, err error) {
	if errors.Is(err, bus.ErrNotNow) || errors.Is(err, journal.ErrLocked) {
		r.log.Warn("site not opened now", "site", s.seat.Name, "why", err)
		return
	}
	r.meter.storage.Inc()
	s.fails++
	s.broken = true
	again := min(time.Duration(s.fails), retryMost) * r.o.Retry
	r.log.Error("site can't be opened; its members will be turned away until it can", "site", s.seat.Name, "why", err, "again", again)
	time.AfterFunc(again, func() {
		r.mu.Lock()
		defer r.mu.Unlock()
		s.broken = false
	})
}

// makeRoom counts one more site as open. Where as many are as may be, the one that
// nobody has visited for longest, and that nobody is on, goes to sleep before its
// time. Where somebody is on each, the one that woke first gives way, once it has had
// its turn: its members call again, and so every site has its turns.
func (r *Relay) makeRoom() error {
	for {
		r.mu.Lock()
		if r.shut {
			r.mu.Unlock()
			return bus.ErrNotNow
		}
		if r.awake < r.o.Awake {
			r.awake++
			r.peak = max(r.peak, r.awake)
			r.mu.Unlock()
			return nil
		}
		r.mu.Unlock()
		if !slices.ContainsFunc(r.deserted(), r.rest) && !slices.ContainsFunc(r.served(), r.rest) {
			return errHouseFull
		}
	}
}

// served lists the sites that have had their turn, whoever is on them, the one that
// woke first before the others.
func (r *Relay) served() []visit {
	r.mu.Lock()
	defer r.mu.Unlock()
	var out []visit
	for _, s := range r.sites {
		if s.phase == awake && s.holds == 0 && s.looks >= turnTicks {
			out = append(out, visit{s, s.bus, s.turn})
		}
	}
	slices.SortFunc(out, func(a, b visit) int { return b.site.looks - a.site.looks })
	if len(out) > 0 {
		r.log.Warn("every site that is open has members on it, and others wait: they take turns; a larger --awake would let them stay")
	}
	return out
}

func (r *Relay) freed() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.awake--
}

// visit is a site and when it was visited last.
type visit struct {
	site *site
	bus  *bus.Bus
	turn uint64
}

// deserted lists the sites that are open and that nobody is on, the longest so
// first. Buses are asked without the relay's lock: one that is slow must not hold up
// the others.
func (r *Relay) deserted() []visit {
	r.mu.Lock()
	var open []visit
	for _, s := range r.sites {
		if s.phase == awake && s.holds == 0 {
			open = append(open, visit{s, s.bus, s.turn})
		}
	}
	r.mu.Unlock()
	open = slices.DeleteFunc(open, func(v visit) bool { return v.bus.Callers() > 0 })
	slices.SortFunc(open, func(a, b visit) int { return int(int64(a.turn - b.turn)) })
	return open
}

// rest puts a site to sleep, unless somebody has come since.
func (r *Relay) rest(v visit) bool {
	s := v.site
	r.mu.Lock()
	if s.phase != awake || s.holds > 0 || s.turn != v.turn {
		r.mu.Unlock()
		return false
	}
	s.phase, s.change = leaving, make(chan struct{})
	r.mu.Unlock()
	r.close(s)
	return true
}

// close ends what is open of a site that is leaving.
func (r *Relay) close(s *site) {
	err := errors.Join(s.bus.Close(), s.member.Close())
	r.mu.Lock()
	defer r.mu.Unlock()
	if err != nil {
		r.meter.storage.Inc()
		r.log.Error("site not closed cleanly", "site", s.seat.Name, "why", err)
	}
	s.phase, s.bus, s.member = asleep, nil, nil
	r.awake--
	close(s.change)
	r.log.Debug("site asleep", "site", s.seat.Name)
}

// nap looks every so often which sites nobody is on any more.
func (r *Relay) nap() {
	tick := time.NewTicker(r.o.Sleep / restTicks)
	defer tick.Stop()
	for {
		select {
		case <-r.ctx.Done():
			return
		case <-tick.C:
		}
		r.look()
	}
}

// look puts to sleep whichever site nobody was on for long enough.
func (r *Relay) look() {
	deserted := r.deserted()
	r.mu.Lock()
	alone := make(map[*site]bool, len(deserted))
	for _, v := range deserted {
		alone[v.site] = true
	}
	for _, s := range r.sites {
		if s.looks++; !alone[s] {
			s.quiet = 0
		}
	}
	for _, v := range deserted {
		if v.site.quiet++; v.site.quiet >= restTicks && !r.shut {
			r.work.Go(func() { r.rest(v) })
		}
	}
	r.mu.Unlock()
}

// Close lets nobody in any more, says to everybody that the relay goes, keeps what
// has come, and closes every log. It gives up waiting for that when ctx is done; a
// second Close waits for the first.
func (r *Relay) Close(ctx context.Context) error {
	r.mu.Lock()
	first, n := !r.shut, r.awake
	r.shut = true
	r.mu.Unlock()
	if first {
		r.hall.Shut()
		r.log.Info("draining", "sites", n)
		go func() {
			defer close(r.drained)
			r.end = r.drain()
		}()
	}
	select {
	case <-r.drained:
		return r.end
	case <-ctx.Done():
		return fmt.Errorf("the relay did not come to rest in time: %w; what was acknowledged is kept all the same", ctx.Err())
	}
}

// drain closes all sites, several at a time.
func (r *Relay) drain() error {
	r.mu.Lock()
	var all []*site
	for _, s := range r.sites {
		all = append(all, s)
	}
	r.mu.Unlock()
	room := make(chan struct{}, 2*r.o.Openers)
	for _, s := range all {
		room <- struct{}{}
		r.work.Go(func() {
			defer func() { <-room }()
			r.finish(s)
		})
	}
	for range cap(room) {
		room <- struct{}{}
	}
	r.cancel()
	r.work.Wait()
	return errors.Join(r.hall.Close(), r.office.Close())
}

// finish waits until a site is not on its way anywhere, and that nobody needs it,
// and closes it.
func (r *Relay) finish(s *site) {
	r.mu.Lock()
	for s.phase == waking || s.phase == leaving || s.phase == awake && s.holds > 0 {
		change := s.change
		if s.phase == awake {
			r.idle.Wait()
			continue
		}
		r.mu.Unlock()
		<-change
		r.mu.Lock()
	}
	open := s.phase == awake
	if open {
		s.phase, s.change = leaving, make(chan struct{})
	}
	r.mu.Unlock()
	if open {
		r.close(s)
	}
}
