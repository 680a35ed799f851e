package main

import (
	"cmp"
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"slices"
	"strings"
	"sync"
	"syscall"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/syncd/bus"
	"pairwalk/syncd/bus/nearby"
	"pairwalk/syncd/member"
)

// meeting is where a member meets others: its bus, and those who wait for news
// of it.
type meeting struct {
	*bus.Bus
	m    *member.Member
	told func(bus.Notice) // for people; may be nil

	mu    sync.Mutex
	asked map[string]bool // addresses that people know of
	waits map[chan struct{}]bool
}

// meet opens a member's bus, with a server of its own unless listen is "".
func meet(ctx context.Context, m *member.Member, listen string, told func(bus.Notice)) (*meeting, error) {
	return meetAs(ctx, m, m, listen, told)
}

// entriesAlone is a member who exchanges no pictures.
type entriesAlone struct{ bus.Party }

// meetAs opens a member's bus by one of its faces.
func meetAs(ctx context.Context, m *member.Member, face bus.Party, listen string, told func(bus.Notice)) (*meeting, error) {
	t := &meeting{m: m, told: told, asked: map[string]bool{}, waits: map[chan struct{}]bool{}}
	var err error
	t.Bus, err = bus.Open(ctx, face, bus.Options{Listen: listen, Notice: t.notice})
	return t, err
}

// notice passes on what the bus says. How it goes with an address that nobody
// asked for is of no interest to people.
func (t *meeting) notice(n bus.Notice) {
	t.mu.Lock()
	for c := range t.waits {
		select {
		case c <- struct{}{}:
		default:
		}
	}
	known := t.asked[n.Addr]
	t.mu.Unlock()
	if n.Kind == bus.Up {
		if err := t.m.Met(n.Addr, n.Peer); err != nil && t.told != nil {
			t.told(bus.Notice{Kind: bus.Trouble, Peer: n.Peer, Why: err.Error()})
		}
	}
	if t.told != nil && (n.Kind != bus.Unreachable || known) {
		t.told(n)
	}
}

// news gives a signal whenever something changed on the bus.
func (t *meeting) news() (c chan struct{}, stop func()) {
	c = make(chan struct{}, 1)
	t.mu.Lock()
	defer t.mu.Unlock()
	t.waits[c] = true
	return c, func() {
		t.mu.Lock()
		defer t.mu.Unlock()
		delete(t.waits, c)
	}
}

// visit calls at an address that people know of, and stays.
func (t *meeting) visit(addr string) {
	t.mu.Lock()
	t.asked[addr] = true
	t.mu.Unlock()
	t.Call(addr)
}

// leave calls at an address no more.
func (t *meeting) leave(addr string) {
	t.mu.Lock()
	delete(t.asked, addr)
	t.mu.Unlock()
	t.HangUp(addr)
}

// look calls at those of this site who make themselves known nearby, until ctx
// ends.
func (t *meeting) look(ctx context.Context, site events.SiteID) error {
	return nearby.Look(ctx, site, slog.New(slog.DiscardHandler), func(addr string) {
		up := slices.ContainsFunc(t.Calls(), func(c bus.Call) bool { return c.Addr == addr && c.Up })
		if !up && !slices.Contains(t.Addrs(), addr) {
			t.Call(addr)
		}
	})
}

// call is how it goes with one address.
func (t *meeting) call(addr string) bus.Call {
	for _, c := range t.Calls() {
		if c.Addr == addr {
			return c
		}
	}
	return bus.Call{Addr: addr}
}

func (t *meeting) peer(key events.Key) (bus.Peer, bool) {
	for _, p := range t.Peers() {
		if p.Key == key {
			return p, true
		}
	}
	return bus.Peer{}, false
}

// defaultListen is where a serving device is called, unless told otherwise.
const defaultListen = ":24517"

// meetServing opens a bus with a server. The usual address gives way to a free
// one where another program has it.
func meetServing(ctx context.Context, m *member.Member, listen string, told func(bus.Notice)) (t *meeting, note string, err error) {
	switch listen {
	case "none":
		t, err = meet(ctx, m, "", told)
		return t, "", err
	case "":
		t, err = meet(ctx, m, defaultListen, told)
		if !errors.Is(err, syscall.EADDRINUSE) {
			return t, "", err
		}
		t, err = meet(ctx, m, ":0", told)
		return t, "another program has the usual port " + defaultListen[1:] + ", so this one is another", err
	}
	t, err = meet(ctx, m, listen, told)
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		err = fmt.Errorf("another program listens on %s already; choose another port with --listen, or leave it out", listen)
	case err != nil:
		err = fmt.Errorf("%q is no address of this device to listen on (%w); give --listen as HOST:PORT or :PORT", listen, err)
	}
	return t, "", err
}

// clocksApart says to people whose clock differs from this device's.
func clocksApart(m *member.Member) []string {
	var out []string
	for _, x := range m.ClocksApart() {
		which := "ahead of"
		if x.By < 0 {
			which = "behind"
		}
		out = append(out, fmt.Sprintf("%s's clock is %s %s this device's: set the wrong one right; entries stand at the right time all the same", x.Name, span(x.By.Abs()), which))
	}
	return out
}

// meetingPoints are where others may be told to come: addresses given, of this
// member's device unless they name another's, or else those of a serving process,
// the likeliest first and no more than fit an invite well.
func meetingPoints(m *member.Member, given []string, at *meeting) ([]invite.Meeting, error) {
	key := events.KeyOf(m.BusKey().Public().(ed25519.PublicKey))
	addrs := given
	if len(given) == 0 && at != nil {
		addrs = at.Addrs()
		slices.SortStableFunc(addrs, func(a, b string) int { return cmp.Compare(farness(a), farness(b)) })
		addrs = addrs[:min(len(addrs), 2)]
	}
	var out []invite.Meeting
	for _, text := range addrs {
		point := invite.Meeting{Addr: text, Key: key}
		if name, addr, ok := strings.Cut(text, "@"); ok {
			who, err := m.Person(name)
			if err != nil {
				return nil, err
			}
			point = invite.Meeting{Addr: addr, Key: who.Bus}
		}
		if _, _, err := net.SplitHostPort(point.Addr); err != nil {
			return nil, fmt.Errorf("%q is no meeting point: give it as HOST:PORT, or MEMBER@HOST:PORT for another's device", text)
		}
		out = append(out, point)
	}
	return out, nil
}

// farness puts the addresses of an ordinary local network first.
func farness(addr string) int {
	host, _, _ := net.SplitHostPort(addr)
	ip := net.ParseIP(host)
	switch {
	case ip.To4() != nil && ip.IsPrivate():
		return 0
	case ip.To4() != nil:
		return 1
	}
	return 2
}

// words says a notice to people, "" if it is nothing to them.
func (t *meeting) words(n bus.Notice) string {
	who := ""
	if n.Peer != "" {
		who = t.m.NameOf(n.Peer)
	}
	switch n.Kind {
	case bus.Up:
		return fmt.Sprintf("reached %s's device at %s", who, n.Addr)
	case bus.Down:
		return fmt.Sprintf("lost %s's device at %s: %s; calling again", who, n.Addr, n.Why)
	case bus.Unreachable:
		return fmt.Sprintf("can't reach %s: %s; calling again", n.Addr, n.Why)
	case bus.Here:
		return who + " is within reach"
	case bus.Left:
		return who + " is out of reach"
	case bus.Took:
		return fmt.Sprintf("%s from %s", plural(n.N, "entry"), who)
	case bus.Pictured:
		return fmt.Sprintf("%s from %s", plural(n.N, "picture"), who)
	case bus.Same:
		return who + " and this device hold the same now"
	case bus.Refused:
		return fmt.Sprintf("refused a caller from %s: %s", n.Addr, strings.TrimPrefix(n.Why, "refused: "))
	case bus.Complaint:
		return fmt.Sprintf("%s's device %s; its entries are fetched from others where they have them", who, n.Why)
	case bus.Revoked:
		return fmt.Sprintf("cut off %s: %s", who, n.Why)
	case bus.Trouble:
		return fmt.Sprintf("could not keep what came from %s: %s", who, n.Why)
	}
	return ""
}
