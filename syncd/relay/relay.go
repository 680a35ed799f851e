package relay

import (
	"cmp"
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"pairwalk/events"
	"pairwalk/syncd/bus"
)

// Options of a relay. Zero values are the usual ones.
type Options struct {
	Listen  string        // host:port
	Sleep   time.Duration // a site nobody calls at is closed after that
	Awake   int           // sites open at a time
	Callers int           // members on line at a time
	PerSite int           // of these, of one site; as many may wait for it to be opened
	Openers int           // sites being opened at a time
	Retry   time.Duration // after which a site that could not be opened is tried again, at first
	Log     *slog.Logger
}

const (
	usualSleep   = 5 * time.Minute
	usualAwake   = 256
	usualOpeners = 4
	usualRetry   = 30 * time.Second
	retryMost    = 10 // times the first
	restTicks    = 4  // a site goes to sleep at the fourth look at which nobody is there
	turnTicks    = 2  // a site that others wait for has had its turn at the second look
	rescanEvery  = 2 * time.Second
)

// Relay keeps the sites of an office open for those who call.
type Relay struct {
	office Office
	shared bool // others write to the office's logs as well
	o      Options
	log    *slog.Logger
	hall   *bus.Hall
	meter  *meter

	ctx     context.Context // until Close
	cancel  context.CancelFunc
	work    sync.WaitGroup
	openers chan struct{} // one for each site that is being opened
	drained chan struct{} // closed when all has ended
	end     error         // how, once it has

	mu      sync.Mutex
	sites   map[events.SiteID]*site
	doors   map[string]*site
	idle    *sync.Cond // holds of a site were lowered
	scanned bool       // the office was asked a moment ago
	turn    uint64     // counts visits
	awake   int        // sites that are open, or on the way there or back
	peak    int
	shut    bool
}

// Open listens, and lets nobody wait who has a site here. Close must follow. The
// error is a ListenError where the address is at fault.
func Open(office Office, o Options) (*Relay, error) {
	o.Sleep, o.Retry = cmp.Or(o.Sleep, usualSleep), cmp.Or(o.Retry, usualRetry)
	o.Awake, o.Openers = cmp.Or(o.Awake, usualAwake), cmp.Or(o.Openers, usualOpeners)
	o.Callers, o.PerSite = cmp.Or(o.Callers, bus.UsualCallers), cmp.Or(o.PerSite, bus.UsualPerSite)
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	r := &Relay{
		office: office, o: o, log: o.Log, openers: make(chan struct{}, o.Openers), drained: make(chan struct{}),
		sites: map[events.SiteID]*site{}, doors: map[string]*site{},
	}
	r.idle = sync.NewCond(&r.mu)
	if at, ok := office.(Shared); ok {
		r.shared = at.Shared()
	}
	r.meter = newMeter(r)
	r.ctx, r.cancel = context.WithCancel(context.Background())
	if err := r.scan(); err != nil {
		r.cancel()
		return nil, err
	}
	var err error
	r.hall, err = bus.OpenHall(r, bus.HallOptions{
		Listen: o.Listen, Callers: o.Callers, PerSite: o.PerSite, Rooms: o.Awake, Log: o.Log, Refused: r.meter.refuse,
	})
	if err != nil {
		r.cancel()
		return nil, ListenError{err}
	}
	r.work.Go(r.nap)
	return r, nil
}

// ListenError says why members can't call where the relay was to listen.
type ListenError struct{ error }

// Unwrap is what the system said.
func (e ListenError) Unwrap() error { return e.error }

// Addrs is where members may call, as host:port.
func (r *Relay) Addrs() []string { return r.hall.Addrs() }

// Tally is how much there is of what.
type Tally struct {
	Sites, Awake, Peak int // joined; open now; open at a time at most
	Members            int // lines of members now
}

// Tally counts.
func (r *Relay) Tally() Tally {
	r.mu.Lock()
	out := Tally{Sites: len(r.doors), Awake: r.awake, Peak: r.peak}
	buses := r.open()
	r.mu.Unlock()
	for _, b := range buses {
		out.Members += b.Callers()
	}
	return out
}

// open is the buses of all sites that are awake. The relay is locked.
func (r *Relay) open() []*bus.Bus {
	var out []*bus.Bus
	for _, s := range r.sites {
		if s.phase == awake {
			out = append(out, s.bus)
		}
	}
	return out
}

// scan asks the office what sites there are. One whose keys can't be read is
// reported, and keeps no other from its members.
func (r *Relay) scan() error {
	seats, err := r.office.Sites(r.ctx)
	if err != nil && len(seats) == 0 {
		return fmt.Errorf("list the relay's sites: %w", err)
	}
	if err != nil {
		r.log.Error("some sites can't be read", "why", err)
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	doors := make(map[string]*site, len(seats))
	for _, seat := range seats {
		s := r.sites[seat.Site]
		if s == nil {
			s = &site{}
			r.sites[seat.Site] = s
			r.log.Debug("site joined", "site", seat.Name)
		}
		s.seat = seat
		doors[bus.Door(seat.Site)] = s
	}
	r.doors = doors
	return nil
}

// Behind is the site behind a door. For a door that is not known the office is
// asked, though not for each of many in a row: it may have been joined just now.
func (r *Relay) Behind(door string) (events.SiteID, ed25519.PrivateKey, bool) {
	r.mu.Lock()
	s := r.doors[door]
	ask := s == nil && !r.scanned && !r.shut
	if ask {
		r.scanned = true
		time.AfterFunc(rescanEvery, func() {
			r.mu.Lock()
			defer r.mu.Unlock()
			r.scanned = false
		})
	}
	r.mu.Unlock()
	if ask {
		if err := r.scan(); err != nil {
			r.log.Error("can't look for new sites", "why", err)
			r.meter.storage.Inc()
		}
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if s = r.doors[door]; s == nil {
		return "", nil, false
	}
	return s.seat.Site, s.seat.Bus, true
}

// Check says why the relay should not be sent callers, or nil.
func (r *Relay) Check(ctx context.Context) error {
	r.mu.Lock()
	shut := r.shut
	r.mu.Unlock()
	switch {
	case shut:
		return errors.New("draining: the relay is stopping")
	case !r.hall.Listening():
		return errors.New("the relay listens no more; start it again")
	}
	if err := r.office.Check(ctx); err != nil {
		return fmt.Errorf("entries can't be kept: %w", err)
	}
	return nil
}
