package main

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"flag"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/syncd/bus"
	"pairwalk/syncd/member"
	"pairwalk/syncd/relay"
)

// These tests run a relay in a process of its own, and have many sites meet there.

var (
	manySites   = flag.Int("sites", 1000, "sites in BenchmarkThousandSites")
	manyEntries = flag.Int("entries", 1000, "entries of each")
)

// station is a relay process.
type station struct {
	t                testing.TB
	home, addr, seen string // seen: where it answers for health and figures
	cmd              *exec.Cmd
	complaint        bytes.Buffer
}

func newStation(t testing.TB) *station {
	return &station{t: t, home: t.TempDir(), addr: freeAddr(t), seen: freeAddr(t)}
}

// runs starts the relay, and returns when it is ready.
func (s *station) runs(flags ...string) {
	s.cmd = exec.Command("pairwalk", append([]string{"--home", s.home, "relay", "--listen", s.addr, "--status", s.seen}, flags...)...)
	s.cmd.Stderr = &s.complaint
	require.NoError(s.t, s.cmd.Start())
	require.Eventually(s.t, func() bool { code, _ := s.fetch("/healthz"); return code == http.StatusOK }, time.Minute, 10*time.Millisecond)
}

// stops asks the relay to end, and waits until it has.
func (s *station) stops() {
	require.NoError(s.t, s.cmd.Process.Signal(os.Interrupt))
	require.NoError(s.t, s.cmd.Wait(), "%s", &s.complaint)
}

func (s *station) fetch(path string) (int, string) {
	r, err := http.Get("http://" + s.seen + path)
	if err != nil {
		return 0, ""
	}
	defer r.Body.Close()
	b, err := io.ReadAll(r.Body)
	if err != nil {
		return 0, ""
	}
	return r.StatusCode, string(b)
}

// figure reads one of the relay's figures.
func (s *station) figure(name string) float64 {
	_, all := s.fetch("/metrics")
	m := regexp.MustCompile(`(?m)^` + name + ` (\S+)$`).FindStringSubmatch(all)
	require.NotNil(s.t, m, name)
	f, err := strconv.ParseFloat(m[1], 64)
	require.NoError(s.t, err)
	return f
}

// plot is one of many sites: a lead with a log, and Bo who has none of it.
type plot struct{ *desk }

// newPlot makes a site that the relay is on.
func (s *station) newPlot(t testing.TB, office *relay.Home, entries int) *plot {
	d := newDesk(t)
	token, err := d.ann.Invite(events.RelayRole, 24*time.Hour, "")
	require.NoError(t, err)
	id, err := office.Join(context.Background(), token)
	require.NoError(t, err)
	there, err := office.Open(context.Background(), id)
	require.NoError(t, err)
	var hello bytes.Buffer
	_, err = there.BundleOut(context.Background(), &hello)
	require.NoError(t, err)
	_, err = d.ann.BundleIn(context.Background(), &hello)
	require.NoError(t, err)
	token, err = d.ann.Invite(events.Tech, 24*time.Hour, "", invite.Meeting{Addr: s.addr, Key: busKeyOf(there)})
	require.NoError(t, err)
	bo, err := d.home("bo").Join(context.Background(), token, "Bo", "")
	require.NoError(t, err)
	d.writes(d.ann, entries, 60)
	require.NoError(t, there.Close())
	require.NoError(t, bo.Close())
	require.NoError(t, d.ann.Close())
	return &plot{d}
}

func busKeyOf(m *member.Member) events.Key {
	return events.KeyOf(m.BusKey().Public().(ed25519.PublicKey))
}

// meets has somebody of the site meet the relay until both hold the same.
func (p *plot) meets(name, addr string) error {
	m, err := p.home(name).Open("")
	if err != nil {
		return err
	}
	defer m.Close()
	same := make(chan struct{}, 1)
	b, err := bus.Open(context.Background(), m, bus.Options{Notice: func(n bus.Notice) {
		if n.Kind == bus.Same {
			select {
			case same <- struct{}{}:
			default:
			}
		}
	}})
	if err != nil {
		return err
	}
	defer b.Close()
	b.Call(addr)
	select {
	case <-same:
		return nil
	case <-time.After(5 * time.Minute):
		return fmt.Errorf("%s never held the same as the relay: %+v", name, b.Calls())
	}
}

// manyMeet has the lead of each site bring its log to a relay, and Bo fetch it there.
// It prints what that took.
func manyMeet(t testing.TB, sites, entries, awake int, begin, end func()) {
	s := newStation(t)
	office := s.office()
	plots := make([]*plot, sites)
	abreast(sites, func(i int) { plots[i] = s.newPlot(t, office, entries) })
	if t.Failed() {
		t.FailNow() // one of those abreast can only end itself
	}
	s.runs("--awake", strconv.Itoa(awake), "--sleep", "2s")
	begin()
	began := time.Now()
	var failed atomic.Pointer[error]
	abreast(sites, func(i int) {
		for _, name := range []string{"ann", "bo"} {
			if err := plots[i].meets(name, s.addr); err != nil {
				failed.Store(&err)
			}
		}
	})
	took := time.Since(began)
	end()
	if err := failed.Load(); err != nil {
		require.NoError(t, *err)
	}
	s.report(t, sites, entries, took)
	require.LessOrEqual(t, s.figure("pairwalk_relay_sites_awake_peak"), float64(awake))
	require.GreaterOrEqual(t, s.figure("pairwalk_relay_entries_taken_total"), float64(sites*entries))
	s.stops()
	for _, p := range plots {
		p.agree(t)
		require.NoError(t, os.RemoveAll(p.dir))
	}
}

// abreast does a thing n times, eight at a time.
func abreast(n int, do func(int)) {
	var work sync.WaitGroup
	var next atomic.Int64
	for range 8 {
		work.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(i)
			}
		})
	}
	work.Wait()
}

// agree holds what Bo has against what the lead has.
func (p *plot) agree(t testing.TB) {
	ann, err := p.home("ann").Open("")
	require.NoError(t, err)
	defer ann.Close()
	bo, err := p.home("bo").Open("")
	require.NoError(t, err)
	defer bo.Close()
	have := bo.Have()
	for _, tip := range ann.Have().Tips {
		if tip.Feed.Key() == ann.Key() {
			require.Contains(t, have.Tips, tip, "all that Ann wrote is at Bo's")
			return
		}
	}
	require.Fail(t, "Ann wrote nothing")
}

// report prints what many meetings took.
func (s *station) report(t testing.TB, sites, entries int, took time.Duration) {
	n := sites * entries
	t.Logf("%d sites of %d entries through one relay: %v, %.0f entries/s in and as many out", sites, entries, took.Round(time.Millisecond), float64(n)/took.Seconds())
	t.Logf("awake at a time at most %.0f; opened %.0f times, in %.1f ms on average", s.figure("pairwalk_relay_sites_awake_peak"),
		s.figure("pairwalk_relay_wake_seconds_count"), 1000*s.figure("pairwalk_relay_wake_seconds_sum")/s.figure("pairwalk_relay_wake_seconds_count"))
	peak := "not known here"
	if b, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", s.cmd.Process.Pid)); err == nil {
		if m := regexp.MustCompile(`VmHWM:\s+(\d+) kB`).FindSubmatch(b); m != nil {
			kb, err := strconv.Atoi(string(m[1]))
			require.NoError(t, err)
			peak = fmt.Sprintf("%d MiB", kb>>10)
		}
	}
	t.Logf("the relay's memory: %s at its peak; heap in use at the end %.0f MiB; %.0f s of processor time", peak,
		s.figure("go_memstats_heap_inuse_bytes")/(1<<20), s.figure("process_cpu_seconds_total"))
}

func TestManySitesThroughOneRelay(t *testing.T) {
	manyMeet(t, 20, 50, 4, func() {}, func() {})
}

func BenchmarkThousandSites(b *testing.B) {
	for b.Loop() {
		b.StopTimer()
		manyMeet(b, *manySites, *manyEntries, 32, b.StartTimer, b.StopTimer)
		b.StartTimer()
	}
	b.ReportMetric(float64(*manySites**manyEntries)*float64(b.N)/b.Elapsed().Seconds(), "entries/s")
}
