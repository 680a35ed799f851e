package bus

import (
	"net"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// cable is a way to a server that can be cut: from then on nothing passes, not
// even that somebody hung up, and nobody is told.
type cable struct {
	addr string
	mu   sync.Mutex
	open chan struct{} // closed while whole
}

func lays(t *testing.T, to string) *cable {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	c := &cable{addr: l.Addr().String(), open: make(chan struct{})}
	close(c.open)
	var work sync.WaitGroup
	work.Go(func() {
		for {
			near, err := l.Accept()
			if err != nil {
				return
			}
			far, err := net.Dial("tcp", to)
			if err != nil {
				near.Close()
				continue
			}
			work.Go(func() { c.carry(near, far) })
			work.Go(func() { c.carry(far, near) })
		}
	})
	t.Cleanup(func() { // after the desks at both ends have closed
		l.Close()
		c.mend()
		work.Wait()
	})
	return c
}

func (c *cable) carry(from, to net.Conn) {
	defer to.Close()
	piece := make([]byte, 64<<10)
	for {
		n, err := from.Read(piece)
		c.mu.Lock()
		open := c.open
		c.mu.Unlock()
		<-open
		if _, bad := to.Write(piece[:n]); err != nil || bad != nil {
			from.Close()
			return
		}
	}
}

func (c *cable) cut() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.open = make(chan struct{})
}

func (c *cable) mend() {
	c.mu.Lock()
	defer c.mu.Unlock()
	select {
	case <-c.open:
	default:
		close(c.open)
	}
}

// A link that dies without a word is known dead on both sides, by pings alone
// since no question is given up here; it comes back when the network does.
func TestDeadLink(t *testing.T) {
	quick := calm()
	quick.ping = 200 * time.Millisecond
	var site roster
	a, b := site.hire("Ann", 1).sitsAt(t, "127.0.0.1:0", quick), site.hire("Ben", 2).sitsAt(t, "", quick)
	way := lays(t, a.addr())
	b.Call(way.addr)
	b.hears(Same, a.id(), 1)
	a.hears(Same, b.id(), 1)

	way.cut()
	b.hears(Down, a.id(), 1)
	b.hears(Left, a.id(), 1)
	a.hears(Left, b.id(), 1)
	require.Empty(t, a.Peers())
	require.Empty(t, b.Peers())
	a.notes(3)
	b.notes(4)

	way.mend()
	b.hears(Up, a.id(), 2)
	b.hears(Here, a.id(), 2)
	a.hears(Here, b.id(), 2)
	a.agrees(b)
	b.agrees(a)
}

// The same in the middle of a log: the rest follows when the network is back.
func TestDeadLinkUnderway(t *testing.T) {
	quick := calm()
	quick.ping = 200 * time.Millisecond
	var site roster
	ann, ben := site.hire("Ann", 1), site.hire("Ben", 2)
	ann.notes(2000)
	a, b := ann.sitsAt(t, "127.0.0.1:0", quick), ben.sitsAt(t, "", quick)
	way := lays(t, a.addr())
	b.Call(way.addr)
	b.until("underway", func() bool { return len(ben.Have().Tips) > 1 })
	way.cut()
	require.False(t, ben.Have().Same(ann.Have()), "too short a log for this")
	ben.notes(2000)
	b.hears(Left, a.id(), 1)
	a.hears(Left, b.id(), 1)
	way.mend()
	a.agrees(b)
	b.agrees(a)
}

// How long it takes at most until a dead link is known: the caller's last ping may
// just have been answered; the server waits a ping longer, as it sends none while
// it hears something, and is then looked at.
func TestDeadLinkIsKnownSoon(t *testing.T) {
	caller := (pingsOut + 1) * usual.ping
	server := (pingsOut+2)*usual.ping + usual.roll
	require.LessOrEqual(t, caller, 10*time.Second)
	require.LessOrEqual(t, server, 11*time.Second)
}
