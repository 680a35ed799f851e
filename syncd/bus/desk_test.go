package bus

import (
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

// patience is how long a test waits for what must happen; it fails after that.
const patience = 30 * time.Second

// brisk is how fast things go in tests.
var brisk = pace{
	first: 20 * time.Millisecond, most: 100 * time.Millisecond, lasts: time.Second,
	answer: 5 * time.Second, again: 150 * time.Millisecond, gap: 10 * time.Millisecond, trouble: 20 * time.Millisecond,
	ping: usual.ping, roll: 50 * time.Millisecond,
}

// calm is brisk, with no round due for an hour, nor an answer given up: what
// happens is not owed to either.
func calm() pace {
	p := brisk
	p.again, p.answer = time.Hour, time.Hour
	return p
}

// desk is a member on its buses, and what it was told.
type desk struct {
	*hand
	*Bus
	t    *testing.T
	mu   sync.Mutex
	seen []Notice
	news chan struct{} // closed and renewed with each notice
}

// sits opens a bus for a member; "" runs no server.
func (h *hand) sits(t *testing.T, listen string) *desk { return h.sitsAt(t, listen, brisk) }

func (h *hand) sitsAt(t *testing.T, listen string, p pace) *desk {
	t.Helper()
	d := &desk{hand: h, t: t, news: make(chan struct{})}
	b, err := openAlone(t.Context(), h, Options{Listen: listen, Notice: d.told}, p)
	require.NoError(t, err)
	d.Bus = b
	t.Cleanup(func() { require.NoError(t, b.Close()) })
	return d
}

func (d *desk) told(n Notice) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.seen = append(d.seen, n)
	close(d.news)
	d.news = make(chan struct{})
}

// addr is where the desk's server listens.
func (d *desk) addr() string { return d.Addrs()[0] }

// until waits until something holds, looking again at each notice and, since not
// everything is told, every so often besides.
func (d *desk) until(what string, holds func() bool) {
	d.t.Helper()
	late, look := time.NewTimer(patience), time.NewTicker(5*time.Millisecond)
	defer late.Stop()
	defer look.Stop()
	for {
		d.mu.Lock()
		news := d.news
		d.mu.Unlock()
		if holds() {
			return
		}
		select {
		case <-news:
		case <-look.C:
		case <-late.C:
			require.FailNow(d.t, "waited in vain", "%s until %s; told:\n%s", d.name, what, d.story())
		}
	}
}

func (d *desk) story() string {
	d.mu.Lock()
	defer d.mu.Unlock()
	var b strings.Builder
	for _, n := range d.seen {
		fmt.Fprintf(&b, "%s %s %s %d %s\n", n.Kind, n.Peer.Short(), n.Addr, n.N, n.Why)
	}
	return b.String()
}

// count is how many notices of a kind about somebody there were.
func (d *desk) count(kind NoticeKind, who events.Key) int {
	d.mu.Lock()
	defer d.mu.Unlock()
	n := 0
	for _, s := range d.seen {
		if s.Kind == kind && s.Peer == who {
			n++
		}
	}
	return n
}

// took is how many entries from somebody people were told of.
func (d *desk) took(from events.Key) int {
	d.mu.Lock()
	defer d.mu.Unlock()
	n := 0
	for _, s := range d.seen {
		if s.Kind == Took && s.Peer == from {
			n += s.N
		}
	}
	return n
}

// hears waits for the nth notice of a kind about somebody.
func (d *desk) hears(kind NoticeKind, who events.Key, n int) {
	d.t.Helper()
	d.until(fmt.Sprintf("told %d times %s of %s", n, kind, who.Short()), func() bool { return d.count(kind, who) >= n })
}

// agrees waits until a member holds the same as others.
func (d *desk) agrees(others ...*desk) {
	d.t.Helper()
	for _, o := range others {
		d.until("the same as "+o.name, func() bool { return d.Have().Same(o.Have()) })
	}
}
