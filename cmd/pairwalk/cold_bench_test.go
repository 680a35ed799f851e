package main

import (
	"context"
	"crypto/ed25519"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/seal"
	"pairwalk/testdata/beside"
	"pairwalk/testdata/invent"
)

// inventedHome is the home of the second of four people on a made-up site, who has
// all that was said on it, on disk.
func inventedHome(tb testing.TB, count int) (home string) {
	home = tb.TempDir()
	job := invent.History(1, 4, count)
	feed, bus := job.Keys(1)
	dir := filepath.Join(home, "sites", string(job.Site()))
	for _, d := range []string{dir, filepath.Join(home, "marks")} {
		require.NoError(tb, os.MkdirAll(d, 0o700))
	}
	keys, err := json.MarshalIndent(map[string]any{
		"v": 1, "site": job.Site(), "site_name": "Tannery Works", "practice": true, "zone": "Europe/Vienna", "root": job.Root(), "name": "Tomo",
		"feed_seed": hex.EncodeToString(feed.Seed()), "bus_seed": hex.EncodeToString(bus.Seed()),
	}, "", " ")
	require.NoError(tb, err)
	require.NoError(tb, os.WriteFile(filepath.Join(dir, "keys.json"), append(keys, '\n'), 0o600))

	self := events.KeyOf(feed.Public().(ed25519.PublicKey))
	var own, others []seal.Verified
	for v := range job.Lines() {
		if v.Feed().Key() == self {
			own = append(own, v)
		} else {
			others = append(others, v)
		}
	}
	j, err := journal.Open(journal.Dir(dir), journal.Dir(filepath.Join(home, "marks")), job.Site(), journal.Env{Now: deviceStamp})
	require.NoError(tb, err)
	ctx := context.Background()
	require.NoError(tb, j.Begin(ctx, own[0]))
	require.NoError(tb, j.Append(ctx, own[1:]...))
	for some := range slices.Chunk(others, 1000) {
		_, err := j.Take(ctx, some)
		require.NoError(tb, err)
	}
	require.NoError(tb, j.Close())
	return home
}

// cold is the command as it is built, on the home of somebody who knows a job.
type cold struct {
	tb            testing.TB
	command, home string
}

// newCold makes it; the command is built but once for a benchmark.
func newCold(tb testing.TB, command string, count int) cold {
	return cold{tb, command, inventedHome(tb, count)}
}

func built(tb testing.TB) (command string) {
	command = filepath.Join(tb.TempDir(), "pairwalk")
	out, err := exec.Command("go", "build", "-o", command, ".").CombinedOutput()
	require.NoError(tb, err, "%s", out)
	return command
}

// runs starts a process and waits for its end.
func (c cold) runs(args ...string) (took, cpu time.Duration) {
	cmd := exec.Command(c.command, append([]string{"--home", c.home}, args...)...)
	began := time.Now()
	out, err := cmd.CombinedOutput()
	took = time.Since(began)
	require.NoError(c.tb, err, "%s", out)
	return took, cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
}

// logs records the n-th entry.
func (c cold) logs(n int) (took, cpu time.Duration) {
	return c.runs("log", "paired", "1-110", fmt.Sprintf("SN-%04d", n))
}

// least is the time that no way of logging could do without: to start the process,
// to read the journal, and to write a line and sync it.
func (c cold) least() time.Duration {
	took, _ := c.runs("--help")
	began := time.Now()
	feeds, err := filepath.Glob(filepath.Join(c.home, "sites", "*", "feeds", "*"))
	require.NoError(c.tb, err)
	for _, name := range feeds {
		_, err := os.ReadFile(name)
		require.NoError(c.tb, err)
	}
	f, err := os.OpenFile(filepath.Join(c.home, "plain"), os.O_CREATE|os.O_WRONLY|os.O_APPEND, 0o600)
	require.NoError(c.tb, err)
	_, err = f.Write(make([]byte, 600))
	require.NoError(c.tb, err)
	require.NoError(c.tb, f.Sync())
	require.NoError(c.tb, f.Close())
	return took + time.Since(began)
}

// BenchmarkColdLog is one entry by a command of its own, with nobody serving: from
// the start of the process until it ends, the entry on disk.
func BenchmarkColdLog(b *testing.B) {
	command := built(b)
	for _, count := range []int{1_000, 100_000} {
		b.Run(fmt.Sprintf("%dk", count/1000), func(b *testing.B) {
			c := newCold(b, command, count)
			n, cpu := 0, time.Duration(0)
			for b.Loop() {
				n++
				_, more := c.logs(n)
				cpu += more
			}
			b.ReportMetric(b.Elapsed().Seconds()*1e3/float64(b.N), "ms")
			b.ReportMetric(cpu.Seconds()*1e3/float64(b.N), "cpu-ms")
		})
	}
}

// BenchmarkRatioColdLog sets one entry by a command of its own beside the least that
// takes. 1 would be a command that does nothing more.
func BenchmarkRatioColdLog(b *testing.B) {
	command := built(b)
	for _, count := range []int{1_000, 100_000} {
		b.Run(fmt.Sprintf("%dk", count/1000), func(b *testing.B) {
			c := newCold(b, command, count)
			n := 0
			beside.Limit{Rounds: 5, Limit: c.least, Ours: func() time.Duration {
				n++
				took, _ := c.logs(n)
				return took
			}}.Report(b)
		})
	}
}
