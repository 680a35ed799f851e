package journal_test

import (
	"context"
	"iter"
	"log/slog"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
)

const (
	monday  = "monday's boot"
	tuesday = "tuesday's boot"
)

var ctx = context.Background()

// laptop is one installation: the site's folder, the folder of marks outside it,
// and its clocks.
type laptop struct {
	site, marks *journal.MemFS
	boot        string
	minutes     int
}

func newLaptop() *laptop {
	return &laptop{site: journal.Memory(), marks: journal.Memory(), boot: monday}
}

// copy is the laptop as it is, apart from the first from now on.
func (l *laptop) copy() *laptop {
	return &laptop{site: l.site.Clone(), marks: l.marks.Clone(), boot: l.boot, minutes: l.minutes}
}

// powerCut takes what was not synced, and the next opening is in another boot.
func (l *laptop) powerCut(loss journal.Loss) {
	l.site.Crash(loss)
	l.marks.Crash(loss)
	l.boot = tuesday
}

// env has clocks that go on by a minute at every look.
func (l *laptop) env() journal.Env {
	var mu sync.Mutex
	return journal.Env{
		Now: func() events.Stamp {
			mu.Lock()
			defer mu.Unlock()
			l.minutes++
			return morning(l.minutes, l.boot)
		},
		Log: slog.New(slog.DiscardHandler),
	}
}

func (l *laptop) open(t testing.TB) *journal.Journal {
	t.Helper()
	j, err := journal.Open(l.site, l.marks, journaltest.Site(), l.env())
	require.NoError(t, err)
	return j
}

// killed is the process gone: nothing closed, its lock let go by the system. It
// returns the folders as another process finds them.
func (l *laptop) killed() { l.site, l.marks = l.site.Clone(), l.marks.Clone() }

// begun opens the laptop's journal and writes the author's first n lines there.
func (l *laptop) begun(t testing.TB, a author, n int) (*journal.Journal, []seal.Verified) {
	t.Helper()
	j := l.open(t)
	lines := a.says(n, "mine")
	require.NoError(t, j.Begin(ctx, lines[0]))
	if n > 1 {
		require.NoError(t, j.Append(ctx, lines[1:]...))
	}
	return j, lines
}

func feedFile(name string) string { return "feeds/" + name + ".ndjson" }

func forkFile(first seal.Verified) string {
	return feedFile(string(first.Feed()) + "~" + first.Hash().Short().String())
}

// have collects lines.
func have(t testing.TB, lines iter.Seq2[seal.Verified, error]) []seal.Verified {
	t.Helper()
	var out []seal.Verified
	for v, err := range lines {
		require.NoError(t, err)
		out = append(out, v)
	}
	return out
}

// texts are lines as people can compare them.
func texts(lines []seal.Verified) []string {
	out := []string{}
	for _, v := range lines {
		out = append(out, string(v.Line()))
	}
	return out
}

// requireLines says that a feed's main branch is exactly these lines.
func requireLines(t testing.TB, j *journal.Journal, want []seal.Verified, more ...any) {
	t.Helper()
	require.Equal(t, texts(want), texts(have(t, j.Lines(want[0].Feed(), 1))), more...)
}

func read(t testing.TB, at *journal.MemFS, name string) []byte {
	t.Helper()
	b, err := at.Read(name)
	require.NoError(t, err)
	return b
}

// change makes a tampered copy of a file's bytes stand in its place.
func change(t testing.TB, at *journal.MemFS, name string, by func(b []byte) []byte) {
	t.Helper()
	at.Put(name, by(slices.Clone(read(t, at, name))))
}

// flip changes one byte by a mask.
func flip(offset int, mask byte) func([]byte) []byte {
	return func(b []byte) []byte { b[offset] ^= mask; return b }
}

func faults(problems []journal.Problem) []journal.Fault {
	out := []journal.Fault{}
	for _, p := range problems {
		out = append(out, p.Fault)
	}
	return out
}
