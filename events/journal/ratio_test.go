package journal_test

import (
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events/journal"
	"pairwalk/events/seal"
	"pairwalk/testdata/beside"
)

// plain is a file that lines are written to and nothing else is done with.
func plain(b *testing.B) *os.File {
	f, err := os.OpenFile(filepath.Join(b.TempDir(), "plain"), os.O_CREATE|os.O_WRONLY|os.O_APPEND, 0o600)
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, f.Close()) })
	return f
}

// written puts lines into a file in one write, and syncs it.
func written(b *testing.B, f *os.File, lines ...seal.Verified) {
	var bytes []byte
	for _, v := range lines {
		bytes = append(append(bytes, v.Line()...), '\n')
	}
	_, err := f.Write(bytes)
	require.NoError(b, err)
	require.NoError(b, f.Sync())
}

// BenchmarkRatioAppendOne sets an append beside the least that durability costs: a
// write and a sync of the same bytes. Both seal their lines just before: whoever has
// used the processor waits longer for it after a sync, on a busy machine.
func BenchmarkRatioAppendOne(b *testing.B) {
	const each = 16
	j, a := onDisk(b)
	f := plain(b)
	ours := func() time.Duration {
		lines := a.says(each, "one at a time, and on disk before the next is said")
		return beside.Timed(func() {
			for _, v := range lines {
				require.NoError(b, j.Append(ctx, v))
			}
		})()
	}
	limit := func() time.Duration {
		lines := newAuthor(2).says(each, "one at a time, and on disk before the next is said")
		return beside.Timed(func() {
			for _, v := range lines {
				written(b, f, v)
			}
		})()
	}
	median := beside.Limit{Rounds: 25, Limit: limit, Ours: ours}.Report(b)
	b.ReportMetric(each/median.Seconds(), "events/s")
}

// BenchmarkRatioAppend100 is a hundred who wait at once, beside one write and one
// sync of all their bytes.
func BenchmarkRatioAppend100(b *testing.B) {
	const waiting, each = 100, 8
	j, a := onDisk(b)
	f := plain(b)
	ours := func() time.Duration {
		lines := a.says(waiting*each, "a hundred at a time")
		return beside.Timed(func() {
			for i := range each {
				together(b, j, lines[i*waiting:(i+1)*waiting])
			}
		})()
	}
	limit := func() time.Duration {
		lines := newAuthor(2).says(waiting*each, "a hundred at a time")
		return beside.Timed(func() {
			for i := range each {
				written(b, f, lines[i*waiting:(i+1)*waiting]...)
			}
		})()
	}
	median := beside.Limit{Rounds: 15, Limit: limit, Ours: ours}.Report(b)
	b.ReportMetric(waiting*each/median.Seconds(), "events/s")
}

// together appends lines, each for somebody who waits for it.
func together(b *testing.B, j *journal.Journal, lines []seal.Verified) {
	var all sync.WaitGroup
	for _, v := range lines {
		wait, err := j.Queue(v)
		require.NoError(b, err)
		all.Go(func() {
			if err := wait(); err != nil {
				b.Error(err)
			}
		})
	}
	all.Wait()
}
