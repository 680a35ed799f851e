package main

import (
	"context"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/syncd/bus"
	"pairwalk/syncd/member"
)

// BenchmarkLive is the time from logging at one member until the entry is folded
// at another: two durable writes, and TLS over this machine's own network.
func BenchmarkLive(b *testing.B) {
	d := newDesk(b)
	bo := d.joins("Bo")
	defer bo.Close()
	defer d.ann.Close()
	same := make(chan struct{}, 1)
	there, err := bus.Open(b.Context(), d.ann, bus.Options{Listen: "127.0.0.1:0"})
	require.NoError(b, err)
	defer there.Close()
	here, err := bus.Open(b.Context(), bo, bus.Options{Notice: func(n bus.Notice) {
		if n.Kind == bus.Same {
			select {
			case same <- struct{}{}:
			default:
			}
		}
	}})
	require.NoError(b, err)
	defer here.Close()
	grew, stop := bo.Watch()
	defer stop()
	here.Call(there.Addrs()[0])
	<-same
	n := 0
	for b.Loop() {
		n++
		evs, err := d.ann.Record(b.Context(), member.Entry{Payload: events.NoteAdded{Of: events.Hub("H1"), Text: fmt.Sprint(n)}})
		require.NoError(b, err)
		for !slices.Contains(bo.Have().Tips, evs[0].Ref()) {
			<-grew
		}
	}
}

// BenchmarkColdSync is one sync of a long log into an empty home: two processes,
// TLS, every line checked, durable.
func BenchmarkColdSync(b *testing.B) {
	const n = 100_000
	d := newDesk(b)
	d.writes(d.ann, n, 100)
	var tokens []invite.Token // one for each home
	for range 20 {
		token, err := d.ann.Invite(events.Viewer, 24*time.Hour, "")
		require.NoError(b, err)
		tokens = append(tokens, token)
	}
	require.NoError(b, d.ann.Close())
	s := d.serves("ann", freeAddr(b))
	defer s.stop()
	b.SetBytes(int64(d.weigh("ann")))
	i := 0
	for b.Loop() {
		b.StopTimer()
		name := fmt.Sprintf("cold%d", i)
		m, err := d.home(name).Join(context.Background(), tokens[i], name, "")
		i++
		require.NoError(b, err)
		require.NoError(b, m.Close())
		b.StartTimer()
		d.run(name, "sync", s.addr)
	}
	b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "events/s")
}
