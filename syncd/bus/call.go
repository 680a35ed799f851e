package bus

import (
	"context"
	"errors"
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"pairwalk/events"
)

// calling is one address that we keep calling at.
type calling struct {
	Call
	ctx    context.Context // until we hang up
	hangUp context.CancelFunc
	kick   chan struct{}
}

// Call calls at a server and keeps calling, with pauses that grow to half a
// minute, until Close. A second Call of an address tries at once.
func (b *Bus) Call(addr string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.closing {
		return
	}
	if c := b.calls[addr]; c != nil {
		select {
		case c.kick <- struct{}{}:
		default:
		}
		return
	}
	c := &calling{Call: Call{Addr: addr, Why: "not tried yet"}, kick: make(chan struct{}, 1)}
	c.ctx, c.hangUp = context.WithCancel(b.ctx)
	b.calls[addr] = c
	b.work.Go(func() { b.keepCalling(c) })
}

// HangUp ends what Call of that address began.
func (b *Bus) HangUp(addr string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if c := b.calls[addr]; c != nil {
		delete(b.calls, addr)
		c.hangUp()
	}
}

// Calls is how it goes with each address, sorted.
func (b *Bus) Calls() []Call {
	b.mu.Lock()
	defer b.mu.Unlock()
	var out []Call
	for _, c := range b.calls {
		out = append(out, c.Call)
	}
	slices.SortFunc(out, func(a, b Call) int { return strings.Compare(a.Addr, b.Addr) })
	return out
}

func (b *Bus) keepCalling(c *calling) {
	defer c.hangUp()
	pause := b.pace.first
	for c.ctx.Err() == nil {
		lasted, err := b.callOnce(c)
		if lasted {
			pause = b.pace.first
		}
		t := time.NewTimer(pause/2 + rand.N(pause/2+1))
		next := t.C
		if errors.Is(err, errSelf) {
			next = nil // it won't be another device by itself
		}
		select {
		case <-c.ctx.Done():
		case <-next:
			pause = min(2*pause, b.pace.most)
		case <-c.kick:
			pause = b.pace.first
		}
		t.Stop()
	}
}

// callOnce calls, and stays on the line while it is up. It says whether that
// lasted, so that a server which takes calls and drops them is not called every
// second.
func (b *Bus) callOnce(c *calling) (lasted bool, err error) {
	b.mu.Lock()
	c.Attempts++
	b.mu.Unlock()
	l, err := b.connect(c.ctx, c.Addr)
	if err != nil {
		b.failed(c, err)
		return false, err
	}
	if !b.lineUp(l) {
		l.nc.Close()
		err := &twice{l.server}
		b.failed(c, err)
		return false, err
	}
	b.mu.Lock()
	c.Up, c.Spare, c.Server, c.Why = true, false, l.server, ""
	b.mu.Unlock()
	b.tell(Notice{Kind: Up, Peer: l.server, Addr: c.Addr})
	proof := time.AfterFunc(b.pace.lasts, func() {})
	b.stay(c.ctx, l)
	lasted = !proof.Stop()
	why := l.over()
	b.mu.Lock()
	c.Up, c.Why = false, why
	b.mu.Unlock()
	if c.ctx.Err() == nil {
		b.tell(Notice{Kind: Down, Peer: l.server, Addr: c.Addr, Why: why})
	}
	return lasted, nil
}

// failed notes why a call failed, and tells people if it is news. A spare call is
// none: nobody who could be reached is out of reach for it.
func (b *Bus) failed(c *calling, err error) {
	why, spare := plain(err), errors.Is(err, errSelf) || errors.Is(err, errTwice)
	b.mu.Lock()
	known := c.Why == why
	c.Why, c.Spare = why, spare
	var t *twice
	if errors.As(err, &t) {
		c.Server = t.server
	}
	b.mu.Unlock()
	if !known && !spare && c.ctx.Err() == nil {
		b.tell(Notice{Kind: Unreachable, Addr: c.Addr, Why: why})
	}
}

// lineUp takes a line into use, unless there is one to that server already.
func (b *Bus) lineUp(l *line) bool {
	b.mu.Lock()
	if b.closing || b.to(l.server) != nil {
		b.mu.Unlock()
		return false
	}
	b.lines = append(b.lines, l)
	b.mu.Unlock()
	l.say(sayHere, nil)
	return true
}

// stay waits until a line is over or ctx is done, and takes it out of use.
func (b *Bus) stay(ctx context.Context, l *line) {
	select {
	case <-l.ended:
	case <-ctx.Done():
		l.close()
	}
	b.mu.Lock()
	b.lines = slices.DeleteFunc(b.lines, func(o *line) bool { return o == l })
	peers := b.everybody()
	b.mu.Unlock()
	for _, p := range peers {
		p.drop(l)
	}
}

// to is the line to a server, if there is one. The bus is locked.
func (b *Bus) to(server events.Key) *line {
	i := slices.IndexFunc(b.lines, func(l *line) bool { return l.server == server })
	if i < 0 {
		return nil
	}
	return b.lines[i]
}

func (b *Bus) reaches(server events.Key) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.to(server) != nil
}

// callRoll looks every so often who has fallen off our server without a word, for
// instance because the server gave up on a dead line.
func (b *Bus) callRoll() {
	tick := time.NewTicker(b.pace.roll)
	defer tick.Stop()
	for {
		select {
		case <-b.ctx.Done():
			return
		case <-tick.C:
		}
		lost := b.hub.gate.lost()
		b.mu.Lock()
		own := b.to(b.self)
		b.mu.Unlock()
		if own == nil {
			continue // whom it reached has gone with it
		}
		for _, k := range lost {
			b.part(k, own)
		}
	}
}

// attend keeps a line to our own server, for as long as it runs.
func (b *Bus) attend(ctx context.Context) {
	for ctx.Err() == nil {
		l, err := b.connect(ctx, "")
		if err == nil && b.lineUp(l) {
			b.stay(ctx, l)
			continue
		}
		if err == nil {
			l.nc.Close()
		}
		b.log.Warn("bus: no line to our own server", "why", err)
		t := time.NewTimer(b.pace.first)
		select {
		case <-ctx.Done():
		case <-t.C:
		}
		t.Stop()
	}
}
