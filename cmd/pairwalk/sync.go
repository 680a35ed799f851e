package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"slices"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd"
	"pairwalk/syncd/bus"
	"pairwalk/syncd/member"
)

type syncCmd struct {
	NoPhotos bool     `help:"Leave pictures for another time, as over a link that costs."`
	At       []string `arg:"" optional:"" help:"Where: HOST:PORT of a device that serves. Unless given, wherever others were met or were said to be, and those nearby."`
}

func (syncCmd) Help() string {
	return "Example: pairwalk sync 192.0.2.17:24517\n\nExchanges entries with others until both hold the same, and then the pictures that entries speak of. Doing it twice does no harm."
}

// Patience of a sync.
const (
	reachPatience = 12 * time.Second // for the first word from anybody
	stallPatience = 30 * time.Second // with nothing moving
	lookPatience  = 4 * time.Second  // for those nearby
	tries         = 3                // calls at an address that does not answer
)

func (c *syncCmd) Run(a *app) error {
	if err := a.notReading(); err != nil {
		return err
	}
	for _, addr := range c.At {
		if _, _, err := net.SplitHostPort(addr); err != nil {
			return usef("%q is no address: give it as HOST:PORT, such as 192.0.2.17:24517", addr)
		}
	}
	return a.withMember(func(m *member.Member) error {
		if err := m.Stopped(); err != nil {
			return err
		}
		ctx, cancel := context.WithCancel(a.ctx)
		defer cancel()
		var at *meeting
		if a.host != nil {
			at = a.host.meet
		} else {
			face := bus.Party(m)
			if c.NoPhotos {
				face = entriesAlone{m}
			}
			t, err := meetAs(ctx, m, face, "", nil)
			if err != nil {
				return err
			}
			at = t
			defer t.Close()
		}
		before := at.Calls()
		s := &syncing{a: a, m: m, at: at, named: len(c.At) > 0, photos: !c.NoPhotos, base: map[events.Key]bus.Peer{}, began: map[events.Key]syncd.Showing{}, tried: map[string]int{}}
		for _, c := range before {
			s.tried[c.Addr] = c.Attempts
		}
		for _, p := range at.Peers() {
			s.base[p.Key], s.began[p.Key] = p, m.Showing(p.Key)
		}
		s.addrs = c.At
		if !s.named {
			for _, x := range m.Meetings() {
				if !slices.Contains(at.Addrs(), x.Addr) {
					s.addrs = append(s.addrs, x.Addr)
				}
			}
			s.nearby(ctx)
		}
		for _, addr := range s.addrs {
			at.visit(addr)
		}
		err := errors.Join(s.wait(ctx), s.report())
		for _, addr := range s.addrs { // serving goes on without what only this sync called at in vain
			was := slices.ContainsFunc(before, func(c bus.Call) bool { return c.Addr == addr })
			if !was && !reached(at.call(addr)) {
				at.leave(addr)
			}
		}
		return err
	})
}

// syncing is one sync on its way.
type syncing struct {
	a      *app
	m      *member.Member
	at     *meeting
	named  bool     // the addresses were given, so each must be reached
	photos bool     // it goes on until pictures have come across too
	addrs  []string // called at by this sync
	base   map[events.Key]bus.Peer
	began  map[events.Key]syncd.Showing
	tried  map[string]int // calls at addresses before this sync
	end    []bus.Peer     // how it stood with whom as it ended; more may have happened since
}

// nearby looks for others for a while. A network without multicast finds nobody.
func (s *syncing) nearby(ctx context.Context) {
	ctx, cancel := context.WithTimeout(ctx, lookPatience)
	go func() {
		defer cancel()
		_ = s.at.look(ctx, s.m.Info().ID) // nobody nearby is no failure
	}()
}

// wait returns when both sides hold the same wherever somebody was reached, or
// when nothing moves any more.
func (s *syncing) wait(ctx context.Context) error {
	news, stop := s.at.news()
	defer stop()
	bar := s.a.progress(-1, "exchanging")
	defer func() { _ = bar.Finish() }()
	tick := time.NewTicker(250 * time.Millisecond) // a standing may change without a notice
	defer tick.Stop()
	looked, reached, stall := time.NewTimer(lookPatience), time.NewTimer(reachPatience), time.NewTimer(stallPatience)
	var late, searched bool
	var got, lack int
	var bytes int64
	var even bool
	for first := true; ; first = false {
		if err := s.m.Stopped(); err != nil {
			return err
		}
		if s.done(searched || s.named, late) {
			return nil
		}
		if n, left := s.moved(); first || n > got || left < lack {
			_ = bar.Add(max(0, n-got) + max(0, lack-left))
			got, lack = n, left
			stall.Reset(stallPatience)
		}
		if n := s.pictureBytes(); n > bytes || s.even() && !even {
			bar.Describe(s.coming())
			bytes, even = n, s.even()
			stall.Reset(stallPatience)
		}
		select {
		case <-ctx.Done():
			return errors.New("stopped before both held the same; what came across is kept, and the next sync goes on from there")
		case <-news:
		case <-tick.C:
		case <-looked.C:
			searched = true
		case <-reached.C:
			late = true
		case <-stall.C:
			if even {
				return nil // the report says what is to come
			}
			return errors.New("nothing has moved for 30 s: is the network still there, and has the other device room on its disk?")
		}
	}
}

// servers are those whose devices were reached by this sync's calls, each once:
// at the addresses given, or else anywhere.
func (s *syncing) servers() []bus.Peer {
	var out []bus.Peer
	for _, c := range s.at.Calls() {
		if s.named && !slices.Contains(s.addrs, c.Addr) {
			continue
		}
		p, here := s.at.peer(c.Server)
		if reached(c) && here && !slices.ContainsFunc(out, func(o bus.Peer) bool { return o.Key == p.Key }) {
			out = append(out, p)
		}
	}
	if s.a.host != nil { // those who called at us are as good
		for _, p := range s.at.Peers() {
			if !s.named && !slices.ContainsFunc(out, func(o bus.Peer) bool { return o.Key == p.Key }) {
				out = append(out, p)
			}
		}
	}
	return out
}

// done says whether all is done that can be: everybody reached holds the same,
// and those not reached were given enough time. Who is waited for is looked at before
// who was reached: somebody who comes in between is then neither, and waited for.
func (s *syncing) done(searched, late bool) bool {
	pending := s.pending()
	s.end = s.servers()
	for _, p := range s.end {
		if !p.Same {
			return false
		}
		if x := s.m.Showing(p.Key); s.photos && !x.Mute && (!x.Said || x.Want+x.Lack > 0) {
			return false
		}
	}
	if pending {
		return late && len(s.end) > 0 || late && len(s.unreached()) == len(s.addrs)
	}
	return len(s.end) > 0 || s.named || searched
}

// pending says whether somebody may still be reached at an address.
func (s *syncing) pending() bool {
	return slices.ContainsFunc(s.addrs, func(addr string) bool {
		c := s.at.call(addr)
		_, here := s.at.peer(c.Server)
		attempts := c.Attempts - s.tried[addr]
		return !reached(c) && (attempts == 0 || s.named && attempts <= tries) || c.Up && !here
	})
}

// moved counts what came from others so far, and what they lack yet.
func (s *syncing) moved() (got, lack int) {
	for _, p := range s.at.Peers() {
		got, lack = got+p.From, lack+p.Lack
	}
	return got, lack
}

// reached says whether the device at an address is, by this address or another.
func reached(c bus.Call) bool { return c.Up || c.Spare }

func (s *syncing) unreached() []bus.Call {
	var out []bus.Call
	for _, addr := range s.addrs {
		if c := s.at.call(addr); !reached(c) {
			out = append(out, c)
		}
	}
	return out
}

// syncedWith is what was exchanged with one member.
type syncedWith struct {
	Name string     `json:"name"`
	Key  events.Key `json:"key"`
	At   string     `json:"at"`
	From int        `json:"from"`
	To   int        `json:"to"`
	Same bool       `json:"same"`
	Come int        `json:"pictures_to_come"`
	Lack int        `json:"pictures_they_lack"`
}

// notReached is an address where nobody was met, and why.
type notReached struct {
	Addr string `json:"addr"`
	Why  string `json:"why"`
}

// report says what was exchanged with whom, and what is missing.
func (s *syncing) report() error {
	lines, misses := []syncedWith{}, []notReached{}
	for _, p := range s.end {
		was, x := s.base[p.Key], s.m.Showing(p.Key)
		lines = append(lines, syncedWith{s.m.NameOf(p.Key), p.Key, p.At, p.From - was.From, p.To - was.To, p.Same, x.Want, x.Lack})
	}
	for _, c := range s.unreached() {
		misses = append(misses, notReached{c.Addr, c.Why})
	}
	if s.a.cli.JSON {
		if err := s.a.printJSON(map[string]any{"v": member.AnswerVersion, "peers": lines, "unreached": misses}); err != nil {
			return err
		}
	} else {
		s.tell(lines)
	}
	for _, x := range misses {
		if s.named || len(lines) == 0 {
			fmt.Fprintf(s.a.stderr, "pairwalk: not reached: %s: %s\n", x.Addr, x.Why)
		}
	}
	return s.shortfall(lines, misses)
}

// tell says in words what was exchanged, what is still away, and whose clock is off.
func (s *syncing) tell(lines []syncedWith) {
	for _, l := range lines {
		end := "the same now"
		if !l.Same {
			end = "not the same yet"
		}
		s.a.printf("%d from %s, %d to them; %s.\n", l.From, l.Name, l.To, end)
		if s.photos {
			s.pictures(l.Key)
		}
	}
	s.a.picturesAway(s.m.Pictures(projection.Moment{}))
	for _, words := range clocksApart(s.m) {
		s.a.println(s.a.warn(words + "."))
	}
}

// shortfall is what a sync did not come to, nil where it came to all it could.
func (s *syncing) shortfall(lines []syncedWith, misses []notReached) error {
	switch {
	case len(lines) == 0 && len(s.addrs) == 0:
		return fmt.Errorf("nobody of this site was found nearby, and no other place to meet is known; give an address (%s sync HOST:PORT), or carry a bundle", s.a.name)
	case len(lines) == 0:
		return errors.New("nobody was reached; what is logged here stays here until somebody is")
	case slices.ContainsFunc(lines, func(l syncedWith) bool { return !l.Same }):
		return fmt.Errorf("not everything got across; run %s sync again when the network is better: it goes on where it stopped", s.a.name)
	case s.named && len(misses) > 0:
		return errors.New("some were not reached")
	}
	return nil
}
