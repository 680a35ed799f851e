package bus

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/syncd"
	"pairwalk/testdata/cable"
)

// A link that dies without a word is known dead on both sides, by pings alone
// since no question is given up here; it comes back when the network does.
func TestDeadLink(t *testing.T) {
	quick := calm()
	quick.ping = 200 * time.Millisecond
	var site roster
	a, b := site.hire("Ann", 1).sitsAt(t, "127.0.0.1:0", quick), site.hire("Ben", 2).sitsAt(t, "", quick)
	way := cable.Lay(t, a.addr())
	b.Call(way.Addr)
	b.hears(Same, a.id(), 1)
	a.hears(Same, b.id(), 1)

	way.Cut()
	b.hears(Down, a.id(), 1)
	b.hears(Left, a.id(), 1)
	a.hears(Left, b.id(), 1)
	require.Empty(t, a.Peers())
	require.Empty(t, b.Peers())
	a.notes(3)
	b.notes(4)

	way.Mend()
	b.hears(Up, a.id(), 2)
	b.hears(Here, a.id(), 2)
	a.hears(Here, b.id(), 2)
	a.agrees(b)
	b.agrees(a)
}

// The same in the middle of a log: the rest follows when the network is back, and
// people are told of all that came, before and after.
func TestDeadLinkUnderway(t *testing.T) {
	quick := calm()
	quick.ping = 200 * time.Millisecond
	var site roster
	ann, ben := site.hire("Ann", 1), site.hire("Ben", 2)
	ann.notes(2000)
	a, b := ann.sitsAt(t, "127.0.0.1:0", quick), ben.sitsAt(t, "", quick)
	way := cable.Lay(t, a.addr())
	held := lines(ben.Have())
	b.Call(way.Addr)
	b.until("underway", func() bool { return len(ben.Have().Tips) > 1 })
	way.Cut()
	require.False(t, ben.Have().Same(ann.Have()), "too short a log for this")
	ben.notes(2000)
	b.hears(Left, a.id(), 1)
	if a.count(Here, b.id()) > 0 { // she may not have heard of him yet
		a.hears(Left, b.id(), 1)
	}
	way.Mend()
	a.agrees(b)
	b.agrees(a)
	b.until("told of every entry", func() bool { return b.took(a.id()) == lines(ben.Have())-held-2000 })
}

// lines is how many lines a member holds whose log has neither forks nor holes.
func lines(h syncd.Have) (n int) {
	for _, tip := range h.Tips {
		n += int(tip.Seq)
	}
	return n
}

// Who lost its connection and has another before anybody looked: what it was asked
// on the old one is asked again at once, and it is nobody's fault.
func TestBackBeforeItWasMissed(t *testing.T) {
	blind := calm()
	blind.roll = time.Hour
	var site roster
	ann, ben := site.hire("Ann", 1), site.hire("Ben", 2)
	ben.notes(3000)
	a, b := ann.sitsAt(t, "127.0.0.1:0", blind), ben.sitsAt(t, "", blind)
	way := cable.Lay(t, a.addr())
	b.Call(way.Addr)
	a.until("underway", func() bool { return len(ann.Have().Tips) > 1 })
	way.Sever()
	require.False(t, ben.Have().Same(ann.Have()), "too short a log for this")
	b.hears(Up, a.id(), 2)
	a.agrees(b)
	b.agrees(a)
	require.Zero(t, a.count(Complaint, b.id()))
	require.Zero(t, b.count(Complaint, a.id()))
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
