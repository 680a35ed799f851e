package ordeal

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

// smallDisk is a tmpfs of a few KiB that can be filled by another's file.
type smallDisk struct {
	t   *testing.T
	dir string
}

// newSmallDisk mounts one, or skips the test where that is not permitted.
func newSmallDisk(t *testing.T, kib int) *smallDisk {
	t.Helper()
	s := &smallDisk{t, t.TempDir()}
	if err := syscall.Mount("tmpfs", s.dir, "tmpfs", 0, fmt.Sprintf("size=%dk", kib)); err != nil {
		t.Skipf("mounting a tmpfs is not permitted here: %v", err)
	}
	t.Cleanup(func() { require.NoError(t, syscall.Unmount(s.dir, 0)) })
	return s
}

func (s *smallDisk) desk() *desk { return newDesk(s.t, filepath.Join(s.dir, "home")) }

// grows gives the disk more room.
func (s *smallDisk) grows(kib int) {
	s.t.Helper()
	require.NoError(s.t, syscall.Mount("tmpfs", s.dir, "tmpfs", syscall.MS_REMOUNT, fmt.Sprintf("size=%dk", kib)))
}

func (s *smallDisk) filler() string { return filepath.Join(s.dir, "somebody-elses") }

// fills lets somebody else's file take all but so many pages of 4 KiB.
func (s *smallDisk) fills(but int) {
	s.t.Helper()
	f, err := os.Create(s.filler())
	require.NoError(s.t, err)
	page, size := make([]byte, 4<<10), int64(0)
	for err == nil {
		var n int
		n, err = f.Write(page)
		size += int64(n)
	}
	require.ErrorIs(s.t, err, syscall.ENOSPC)
	require.NoError(s.t, f.Truncate(max(0, size-int64(but)<<12)))
	require.NoError(s.t, f.Close())
}

// frees takes the file away again.
func (s *smallDisk) frees() {
	s.t.Helper()
	require.NoError(s.t, os.Remove(s.filler()))
}

// logsUntilFull logs notes until one is refused, and says how.
func (d *desk) logsUntilFull(name string, size int) outcome {
	for n := 0; ; n++ {
		got := d.run("--json", "log", "note", "site", fmt.Sprintf("%s, %d %s", name, n, strings.Repeat("x", size)))
		if !d.acknowledges(got) {
			return got
		}
	}
}

// requireFull holds that a command said plainly that the disk is full, and what to
// do, and acknowledged nothing.
func (d *desk) requireFull(got outcome) {
	d.t.Helper()
	require.Equal(d.t, 1, got.code, "%s%s", got.out, got.err)
	require.Empty(d.t, string(got.out), "nothing is acknowledged")
	require.Contains(d.t, string(got.err), "Make room on it")
}

// requireReadable holds that every question has its answer, and the log is whole.
func (d *desk) requireReadable() {
	d.t.Helper()
	for _, ask := range []string{"status", "next", "history", "verify", "members", "pictures", "checks", "faults", "conflicts"} {
		d.must(ask)
		require.True(d.t, json.Valid([]byte(d.must("--json", ask))), ask)
	}
	carried := filepath.Join(d.t.TempDir(), "carried")
	d.must("bundle", "out", carried)
	d.must("verify", carried)
	d.ledger.audit(d.t, d.history())
}

// TestFullDiskCommands fills a disk to within a few pages, again and again, and
// logs until it is full.
func TestFullDiskCommands(t *testing.T) {
	s := newSmallDisk(t, 1<<10)
	d := s.desk().opens("Kiln", "Ann")
	r := chance(t)
	fulls := 0
	for n := range 6 {
		s.fills(r.IntN(12))
		for range 2 {
			d.requireFull(d.logsUntilFull(fmt.Sprintf("round %d", n), 200+r.IntN(3000)))
			fulls++
		}
		d.requireReadable()
		s.frees()
		d.audit(tornEnd)
	}
	d.tellsFull(fulls)
}

// TestFullOfEntries fills a disk by entries alone.
func TestFullOfEntries(t *testing.T) {
	s := newSmallDisk(t, 160)
	d := s.desk().opens("Kiln", "Ann")
	d.requireFull(d.logsUntilFull("entries alone", 3900))
	d.requireReadable()
	s.grows(1 << 10)
	d.audit(tornEnd)
	d.tellsFull(1)
	require.Greater(t, d.ledger.len(), 10)
}

func (d *desk) tellsFull(fulls int) {
	d.t.Helper()
	d.t.Logf("a full disk met %d times; %d entries acknowledged, 0 lost, 0 numbers given twice; %d torn ends cut; %d feeds begun anew",
		fulls, d.ledger.len(), d.torn, d.feeds()-1)
	require.Equal(d.t, 1, d.feeds(), "the feed goes on")
}

// TestFullDiskServing: a serving process whose disk is full says so, answers what
// is asked, and goes on by itself as soon as there is room.
func TestFullDiskServing(t *testing.T) {
	s := newSmallDisk(t, 2<<10)
	d := s.desk().opens("Kiln", "Ann")
	up := d.serves(nil, "127.0.0.1:0")
	require.NotNil(t, up)
	defer up.stop()
	r := chance(t)
	var once atomic.Uint64
	const rounds = 3
	for n := range rounds {
		s.fills(r.IntN(12))
		ask, refusal := up.postsUntilFull(d, &once, fmt.Sprintf("round %d", n))
		require.ErrorContains(t, refusal, "507")
		d.requireFull(d.run("--json", "log", "note", "site", "and by a command"))
		d.requireReadable()
		up.says(t, `"stopped"`)
		s.frees()
		up.saysTimes(t, `"mended"`, n+1)
		doc, err := up.posts(ask, "asked for again")
		require.NoError(t, err, "at the same address, with the same token")
		d.ledger.takes(doc.Entries...)
		require.True(t, d.acknowledges(d.run("--json", "log", "note", "site", "work goes on")))
		d.ledger.audit(t, d.history())
	}
	up.stop()
	d.audit(tornEnd)
	d.tellsFull(rounds)
}

// postsUntilFull posts until the page refuses; ask is the number of what it
// refused.
func (s *serving) postsUntilFull(d *desk, once *atomic.Uint64, name string) (ask uint64, refusal error) {
	for n := 0; ; n++ {
		ask = once.Add(1)
		doc, err := s.posts(ask, fmt.Sprintf("%s, %d %s", name, n, strings.Repeat("y", 1500)))
		if err != nil {
			return ask, err
		}
		d.ledger.takes(doc.Entries...)
	}
}

// TestFullDiskInSync fills the disk of one who fetches a log.
func TestFullDiskInSync(t *testing.T) {
	s := newSmallDisk(t, 1<<10)
	r := chance(t)
	ann := newDesk(t, t.TempDir()).opens("Kiln", "Ann")
	bo := s.desk()
	require.NoError(t, os.MkdirAll(bo.home, 0o700))
	bo.must("--json", "join", invited(t, ann), "--as", "Bo")
	up := ann.serves(nil, "127.0.0.1:0")
	require.NotNil(t, up)
	defer up.stop()
	for n := range uint64(60) {
		doc, err := up.posts(n+1, fmt.Sprintf("%d %s", n, strings.Repeat("z", 2000)))
		require.NoError(t, err)
		ann.ledger.takes(doc.Entries...)
	}
	for range 3 {
		s.fills(r.IntN(24))
		got := bo.run("sync", up.addrs[0])
		require.Equal(t, 1, got.code, "%s%s", got.out, got.err)
		require.Regexp(t, `no space left|the disk is full`, string(got.err)) // while fetching, or on opening already
		bo.requireReadable()
		s.frees()
		bo.audit(tornEnd)
	}
	bo.must("sync", up.addrs[0])
	require.Equal(t, ann.must("--json", "history"), bo.must("--json", "history"), "both hold the same")
	bo.tellsFull(3)
}

// TestFullDiskWhileOpening: a site that could not be opened for want of room is not
// half there, and is opened the next time.
func TestFullDiskWhileOpening(t *testing.T) {
	s := newSmallDisk(t, 1<<10)
	failed := 0
	for but := range 16 {
		d := newDesk(t, filepath.Join(s.dir, fmt.Sprint(but)))
		require.NoError(t, os.MkdirAll(d.home, 0o700))
		s.fills(but)
		got := d.run("--json", "init", "Kiln", "--as", "Ann", "--practice")
		s.frees()
		if got.code != 0 {
			failed++
			require.Contains(t, string(got.err), "Make room on it")
			d.must("--json", "init", "Kiln", "--as", "Ann", "--practice")
		}
		require.Len(t, d.history(), 3, "but %d", but)
	}
	require.Positive(t, failed)
	require.Less(t, failed, 16)
	t.Logf("%d openings failed for want of room, and were done again", failed)
}
