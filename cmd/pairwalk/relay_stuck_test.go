//go:build unix

package main

import (
	"context"
	"net/http"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/syncd/bus"
)

// hangs runs a relay whose disk hangs: opening its only site never ends.
func hangs(t *testing.T, flags ...string) *station {
	s := newStation(t)
	p := s.newPlot(t, s.office(), 1)
	mark, err := filepath.Glob(filepath.Join(s.home, "sites", "*", "mark"))
	require.NoError(t, err)
	require.Len(t, mark, 1)
	require.NoError(t, os.Remove(mark[0]))
	require.NoError(t, syscall.Mkfifo(mark[0], 0o600)) // whoever opens it to read waits for a writer
	s.runs(flags...)
	t.Cleanup(func() { _ = s.cmd.Process.Kill() })

	ann, err := p.home("ann").Open("")
	require.NoError(t, err)
	t.Cleanup(func() { _ = ann.Close() })
	b, err := bus.Open(context.Background(), ann, bus.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { _ = b.Close() })
	b.Call(s.addr)
	require.Eventually(t, func() bool { return s.figure("pairwalk_relay_sites_awake") == 1 }, time.Minute, 5*time.Millisecond, "the site is being opened")
	return s
}

// A relay whose disk hangs still ends in the time that it was given, and says so.
func TestARelayWhoseDiskHangsEndsInTime(t *testing.T) {
	s := hangs(t, "--drain", "1s")
	require.NoError(t, s.cmd.Process.Signal(syscall.SIGTERM))
	require.Error(t, s.cmd.Wait())
	require.Equal(t, 1, s.cmd.ProcessState.ExitCode())
	require.Contains(t, s.complaint.String(), "the relay did not come to rest in time")
}

// A second signal ends a relay at once.
func TestASecondSignalEndsARelay(t *testing.T) {
	s := hangs(t, "--drain", "10m")
	require.NoError(t, s.cmd.Process.Signal(syscall.SIGTERM))
	require.Eventually(t, func() bool { code, _ := s.fetch("/healthz"); return code == http.StatusServiceUnavailable }, time.Minute, 5*time.Millisecond)
	_, said := s.fetch("/healthz")
	require.Contains(t, said, "draining")
	require.NoError(t, s.cmd.Process.Signal(syscall.SIGTERM))
	require.Error(t, s.cmd.Wait())
	status, ok := s.cmd.ProcessState.Sys().(syscall.WaitStatus)
	require.True(t, ok)
	require.Equal(t, syscall.SIGTERM, status.Signal())
}
