package main

import (
	"crypto/rand"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events/journal"
	"pairwalk/syncd"
	"pairwalk/syncd/bus"
	"pairwalk/syncd/member"
	"pairwalk/syncd/relay"
)

// TestARelayKilled kills a relay while a member brings it a long log, again and
// again. What it had said it holds it holds, and the rest goes on where it stopped.
func TestARelayKilled(t *testing.T) {
	kills := 5
	if underRace {
		kills = 2
	}
	s := newStation(t)
	d := s.newPlot(t, s.office(), 1600*kills)
	ann, err := d.home("ann").Open("")
	require.NoError(t, err)
	defer ann.Close()
	count := outgoing{&counting{Member: ann}}
	same := make(chan struct{}, 1)
	b, err := bus.Open(t.Context(), count, bus.Options{Notice: func(n bus.Notice) {
		if n.Kind == bus.Same {
			select {
			case same <- struct{}{}:
			default:
			}
		}
	}})
	require.NoError(t, err)
	defer b.Close()
	for i := range kills {
		count.after(syncd.MaxReply / 2 * (1 + i%2))
		s.runs()
		b.Call(s.addr)
		<-count.hit
		require.NoError(t, s.cmd.Process.Kill())
		require.Error(t, s.cmd.Wait(), "killed")
	}
	s.runs()
	b.Call(s.addr)
	<-same
	require.LessOrEqual(t, count.bytes-d.weigh("ann"), (kills+1)*(syncd.MaxAhead+framing), "nothing twice but what was not kept yet")
	require.NoError(t, b.Close())
	require.NoError(t, ann.Close())
	require.NoError(t, d.meets("bo", s.addr))
	s.stops()
	d.agree(t)
}

// TestARelayStopsInTheMiddle ends a relay as a service manager does, while a member
// brings it a log. It ends well, and soon, and what it said it holds it holds.
func TestARelayStopsInTheMiddle(t *testing.T) {
	s := newStation(t)
	d := s.newPlot(t, s.office(), 5000)
	ann, err := d.home("ann").Open("")
	require.NoError(t, err)
	defer ann.Close()
	count := outgoing{&counting{Member: ann}}
	b, err := bus.Open(t.Context(), count, bus.Options{})
	require.NoError(t, err)
	defer b.Close()
	count.after(syncd.MaxReply)
	s.runs("--drain", "30s")
	b.Call(s.addr)
	<-count.hit
	require.NoError(t, s.cmd.Process.Signal(syscall.SIGTERM))
	require.NoError(t, s.cmd.Wait(), "it ends with 0: %s", &s.complaint)
	require.Contains(t, s.complaint.String(), "msg=stopped")
	require.NoError(t, b.Close())

	mark, err := filepath.Glob(filepath.Join(s.home, "sites", "*", "mark"))
	require.NoError(t, err)
	require.Len(t, mark, 1)
	clean, err := os.ReadFile(mark[0])
	require.NoError(t, err)
	require.Contains(t, string(clean), `"clean":true`)

	office := s.office()
	seats, err := office.Sites(t.Context())
	require.NoError(t, err)
	m, err := office.Open(t.Context(), seats[0].Site)
	require.NoError(t, err)
	defer m.Close()
	require.Empty(t, m.Problems(), "every log was closed properly")
	held := 0
	for _, tip := range m.Have().Tips {
		if tip.Feed.Key() == ann.Key() {
			held = int(tip.Seq)
		}
	}
	all := 0
	for _, tip := range ann.Have().Tips {
		if tip.Feed.Key() == ann.Key() {
			all = int(tip.Seq)
		}
	}
	require.GreaterOrEqual(t, held, all-ann.Unsent())
	require.Positive(t, held)
}

func (s *station) office() *relay.Home {
	require.NoError(s.t, os.MkdirAll(s.home, 0o700))
	return relay.AtHome(journal.Dir(s.home), "Office", member.World{Now: deviceStamp, Rand: rand.Reader})
}
