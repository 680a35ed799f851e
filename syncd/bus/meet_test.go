package bus

import (
	"errors"
	"fmt"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

func TestTwoMeet(t *testing.T) {
	var site roster
	ann, ben := site.hire("Ann", 1), site.hire("Ben", 2)
	ann.notes(5)
	ben.notes(7)
	rounds := calm() // what is lost is made up for in a round
	rounds.again, rounds.answer = 8*time.Second, 4*time.Second
	a, b := ann.sitsAt(t, "127.0.0.1:0", rounds), ben.sitsAt(t, "", rounds)
	b.Call(a.addr())
	b.hears(Up, ann.id(), 1)
	b.hears(Same, ann.id(), 1)
	a.hears(Same, ben.id(), 1)
	require.True(t, ann.Have().Same(ben.Have()))
	a.until("both compared clocks", func() bool { return ann.comparedWith(ben) > 0 && ben.comparedWith(ann) > 0 })
	require.Equal(t, 1, a.count(Took, ben.id()))
	p, q := a.Peers()[0], b.Peers()[0]
	require.Equal(t, []int{8, 6}, []int{p.From, p.To})
	require.Equal(t, []int{6, 8}, []int{q.From, q.To})
	require.True(t, p.Same)
	require.Equal(t, []string{a.addr(), a.addr()}, []string{p.At, q.At})
}

// What is logged on one side arrives by news, with no question due for an hour.
func TestLive(t *testing.T) {
	var site roster
	a, b := site.hire("Ann", 1).sitsAt(t, "127.0.0.1:0", calm()), site.hire("Ben", 2).sitsAt(t, "", calm())
	b.Call(a.addr())
	a.hears(Same, b.id(), 1)
	b.hears(Same, a.id(), 1)
	for range 20 {
		a.notes(1)
		b.agrees(a)
		b.notes(3)
		a.agrees(b)
	}
}

// Large logs take many replies.
func TestMany(t *testing.T) {
	var site roster
	ann, ben := site.hire("Ann", 1), site.hire("Ben", 2)
	ann.notes(3000)
	a, b := ann.sits(t, "127.0.0.1:0"), ben.sits(t, "")
	b.Call(a.addr())
	b.hears(Same, ann.id(), 1)
	require.Equal(t, 3001, b.Peers()[0].From)
	require.Equal(t, 1, b.count(Took, ann.id()), "told once it rests")
}

// Two servers, and a third member who calls at both: what one side says reaches
// the other through it.
func TestSeveralBuses(t *testing.T) {
	var site roster
	a, b, c := site.hire("Ann", 1).sits(t, "127.0.0.1:0"), site.hire("Ben", 2).sits(t, "127.0.0.1:0"), site.hire("Cem", 3).sits(t, "")
	c.Call(a.addr())
	c.Call(b.addr())
	a.notes(4)
	b.notes(5)
	c.notes(6)
	a.agrees(c)
	b.agrees(c, a)
	require.Zero(t, a.count(Here, b.id()), "they never meet")
}

// Two who call at each other are on two buses together, and talk once.
func TestPeerOnTwoBuses(t *testing.T) {
	var site roster
	rounds := calm()                                           // what is lost is made up for in a round
	rounds.again, rounds.answer = 8*time.Second, 4*time.Second // what goes down with a line is made up for in a round
	a, b := site.hire("Ann", 1).sitsAt(t, "127.0.0.1:0", rounds), site.hire("Ben", 2).sitsAt(t, "127.0.0.1:0", rounds)
	a.Call(b.addr())
	b.Call(a.addr())
	a.hears(Up, b.id(), 1)
	b.hears(Up, a.id(), 1)
	a.notes(9)
	b.agrees(a)
	a.until("clocks compared", func() bool { return a.comparedWith(b.hand) > 0 })
	a.hears(Here, b.id(), 1)
	require.Equal(t, 1, a.count(Here, b.id()))
	for _, d := range []struct{ of, to *desk }{{a, b}, {b, a}} {
		d.of.until("both lines lead to the other", func() bool { return d.of.linesTo(d.to.id()) == 2 })
	}

	require.NoError(t, b.hub.nats.DisconnectClientByID(clientOf(t, b, a))) // one of the two lines breaks
	a.hears(Down, b.id(), 1)
	a.notes(1)
	b.agrees(a)
	require.Zero(t, a.count(Left, b.id()))
	require.Zero(t, b.count(Left, a.id()))
}

// linesTo counts the lines on which a peer is met.
func (d *desk) linesTo(key events.Key) int {
	d.Bus.mu.Lock()
	p := d.Bus.peers[key]
	d.Bus.mu.Unlock()
	if p == nil {
		return 0
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	return len(p.lines)
}

// clientOf is the id by which a server knows a caller.
func clientOf(t *testing.T, server, caller *desk) uint64 {
	t.Helper()
	server.hub.gate.mu.Lock()
	defer server.hub.gate.mu.Unlock()
	for id, c := range server.hub.gate.in {
		if c.key == caller.id() && server.hub.nats.GetClient(id) != nil {
			return id
		}
	}
	require.FailNow(t, "is not there")
	return 0
}

func TestServerComesBack(t *testing.T) {
	var site roster
	ann := site.hire("Ann", 1)
	a, b := ann.sits(t, "127.0.0.1:0"), site.hire("Ben", 2).sits(t, "")
	addr := a.addr()
	b.Call(addr)
	b.hears(Same, ann.id(), 1)
	require.NoError(t, a.Close())
	b.hears(Left, ann.id(), 1)
	b.hears(Down, ann.id(), 1)
	b.notes(2)
	a = ann.sits(t, addr)
	b.hears(Up, ann.id(), 2)
	a.agrees(b)
	b.hears(Here, ann.id(), 2)
}

// Who goes says so; nobody waits for silence.
func TestGoing(t *testing.T) {
	var site roster
	a, b, c := site.hire("Ann", 1).sitsAt(t, "127.0.0.1:0", calm()), site.hire("Ben", 2).sitsAt(t, "", calm()), site.hire("Cem", 3).sitsAt(t, "", calm())
	b.Call(a.addr())
	c.Call(a.addr())
	c.hears(Here, b.id(), 1)
	a.hears(Here, b.id(), 1)
	require.NoError(t, b.Close())
	a.hears(Left, b.id(), 1)
	c.hears(Left, b.id(), 1)
}

func TestRevoked(t *testing.T) {
	var site roster
	a, b, c := site.hire("Ann", 1).sits(t, "127.0.0.1:0"), site.hire("Ben", 2).sits(t, ""), site.hire("Cem", 3).sits(t, "")
	b.Call(a.addr())
	c.Call(a.addr())
	a.hears(Here, b.id(), 1)
	a.hears(Here, c.id(), 1)
	site.bar(b.id(), "was revoked", a.hand)
	a.hears(Revoked, b.id(), 1)
	a.hears(Left, b.id(), 1)
	b.hears(Down, a.id(), 1)
	b.until("refused", func() bool { return strings.Contains(why(b, a.addr()), "refused us") })
	a.hears(Refused, b.id(), 1)
	a.notes(1)
	c.agrees(a)
	require.False(t, a.Have().Same(b.Have()))
	require.Zero(t, a.count(Revoked, c.id()))
}

// A server whose member was revoked loses our line, and is not called any more.
func TestServerRevoked(t *testing.T) {
	var site roster
	a, b := site.hire("Ann", 1).sits(t, "127.0.0.1:0"), site.hire("Ben", 2).sits(t, "")
	b.Call(a.addr())
	b.hears(Here, a.id(), 1)
	site.bar(a.id(), "was revoked", b.hand)
	b.hears(Revoked, a.id(), 1)
	b.hears(Left, a.id(), 1)
	b.until("not called", func() bool { return why(b, a.addr()) == errNotMember.Error() })
}

// full has a member's disk fail.
func (h *hand) fails(err error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.full = err
}

func TestOwnTrouble(t *testing.T) {
	var site roster
	ben := site.hire("Ben", 2)
	ben.fails(errors.New("disk is full"))
	a, b := site.hire("Ann", 1).sits(t, "127.0.0.1:0"), ben.sits(t, "")
	a.notes(3)
	b.Call(a.addr())
	b.hears(Trouble, a.id(), 1)
	require.Zero(t, b.count(Complaint, a.id()), "no fault of hers")
	ben.fails(nil)
	b.agrees(a)
}

// A thousand strangers at the door neither get in nor keep a member out.
func TestThousandStrangers(t *testing.T) {
	var site roster
	a := site.hire("Ann", 1).sits(t, "127.0.0.1:0")
	stranger := site.stranger("Sam", 3)
	var crowd sync.WaitGroup
	for range 10 {
		crowd.Go(func() {
			for range 100 {
				w := rings(t, a.addr())
				w.presents(stranger.key, w.sign(stranger.key), stranger.joined)
				said, open := w.hears()
				if open || !strings.Contains(said, "Authorization Violation") {
					t.Errorf("a stranger was told %q", said)
				}
				w.Close()
			}
		})
	}
	b := site.hire("Ben", 2).sits(t, "")
	b.Call(a.addr())
	b.hears(Same, a.id(), 1)
	crowd.Wait()
	require.Len(t, a.refusals, 1000)
	require.Equal(t, 1, a.count(Refused, stranger.id()), "told once")
	a.hub.gate.mu.Lock()
	defer a.hub.gate.mu.Unlock()
	require.Less(t, len(a.hub.gate.in), 3)
}

// What the exchange started, Close ends.
func TestCloseLeavesNothing(t *testing.T) {
	var site roster
	before := runtime.NumGoroutine()
	var desks []*desk
	for i := range 4 {
		desks = append(desks, site.hire(fmt.Sprint("hand ", i), uint64(i+1)).sits(t, "127.0.0.1:0"))
	}
	for _, d := range desks {
		for _, o := range desks {
			if d != o {
				d.Call(o.addr())
			}
		}
		d.Call("127.0.0.1:1")
	}
	desks[0].notes(10)
	for _, d := range desks[1:] {
		d.agrees(desks[0])
	}
	for _, d := range desks {
		require.NoError(t, d.Close())
		require.NoError(t, d.Close(), "a second time")
		d.Call(desks[0].addr())
		require.Empty(t, d.watchers)
	}
	for i := 0; runtime.NumGoroutine() > before; i++ { // goroutines of NATS end a little after it says so
		if i > 10_000_000 {
			stacks := make([]byte, 1<<20)
			require.FailNow(t, "goroutines left", "%s", stacks[:runtime.Stack(stacks, true)])
		}
		runtime.Gosched()
	}
}

func TestBadOptions(t *testing.T) {
	var site roster
	a := site.hire("Ann", 1).sits(t, "127.0.0.1:0")
	for name, listen := range map[string]string{"taken": a.addr(), "no port": "127.0.0.1", "not ours": "192.0.2.1:0"} {
		t.Run(name, func(t *testing.T) {
			_, err := Open(t.Context(), site.hire("Ben", 2), Options{Listen: listen})
			require.ErrorContains(t, err, "listen on "+listen)
		})
	}
}

// Listening on all addresses, the bus names some that others can reach.
func TestAddrs(t *testing.T) {
	var site roster
	a, b := site.hire("Ann", 1).sits(t, ":0"), site.hire("Ben", 2).sits(t, "")
	require.NotEmpty(t, a.Addrs())
	require.Empty(t, b.Addrs())
	b.Call(a.addr())
	b.hears(Up, a.id(), 1)
}

// More peers than a team ever has are not met, whoever a server says is there.
func TestPeersAreBounded(t *testing.T) {
	var site roster
	b := site.hire("Ben", 1).sits(t, "").Bus
	b.mu.Lock()
	for i := range peersMost {
		b.peers[events.Key(fmt.Sprint(i))] = &peer{}
	}
	b.mu.Unlock()
	require.Nil(t, b.meet(keyText(busKey(2)), newLine(b, "")))
	b.mu.Lock()
	clear(b.peers)
	b.mu.Unlock()
	require.NotNil(t, b.meet(keyText(busKey(2)), newLine(b, "")))
}

// HangUp ends a call for good, whether it was up or not.
func TestHangUp(t *testing.T) {
	var site roster
	a, b := site.hire("Ann", 1).sits(t, "127.0.0.1:0"), site.hire("Ben", 2).sits(t, "")
	b.Call(a.addr())
	b.Call("127.0.0.1:1")
	b.hears(Up, a.id(), 1)
	b.hears(Unreachable, "", 1)
	a.hears(Here, b.id(), 1)
	b.HangUp("127.0.0.1:1")
	b.HangUp(a.addr())
	b.HangUp("never called")
	require.Empty(t, b.Calls())
	a.hears(Left, b.id(), 1)
	b.Call(a.addr())
	b.hears(Up, a.id(), 2)
}
