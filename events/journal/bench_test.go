package journal_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events/journal"
)

// onDisk is an open journal in a real folder, with the author of its own feed.
func onDisk(b *testing.B) (*journal.Journal, author) {
	j, err := openIn(b.TempDir())
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, j.Close()) })
	a := newAuthor(1)
	require.NoError(b, j.Begin(ctx, a.says(1, "first")[0]))
	return j, a
}

// BenchmarkAppend is one event at a time, each on disk before the next.
func BenchmarkAppend(b *testing.B) {
	j, a := onDisk(b)
	for b.Loop() {
		b.StopTimer()
		v := a.says(1, "mine")[0]
		b.StartTimer()
		require.NoError(b, j.Append(ctx, v))
	}
}

// BenchmarkAppend100 is a hundred events from a hundred callers who all wait.
func BenchmarkAppend100(b *testing.B) {
	j, a := onDisk(b)
	for b.Loop() {
		b.StopTimer()
		lines := a.says(100, "mine")
		b.StartTimer()
		together(b, j, lines)
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(100*b.N), "µs/event")
}

// BenchmarkOpen opens a journal that holds 100,000 events of ten feeds.
func BenchmarkOpen(b *testing.B) {
	dir := b.TempDir()
	j, err := openIn(dir)
	require.NoError(b, err)
	for seed := range uint64(10) {
		a := newAuthor(seed)
		for range 10 {
			_, err := j.Take(ctx, a.says(1000, "theirs"))
			require.NoError(b, err)
		}
	}
	require.NoError(b, j.Close())
	for b.Loop() {
		j, err := openIn(dir)
		require.NoError(b, err)
		b.StopTimer()
		require.Len(b, j.Heads(), 10)
		require.NoError(b, j.Close())
		b.StartTimer()
	}
	b.ReportMetric(100_000*float64(b.N)/b.Elapsed().Seconds(), "events/s")
}
