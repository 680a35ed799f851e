package journal_test

import (
	"context"
	"errors"
	"io/fs"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
)

// slow is a folder where the syncs of feeds are counted, and wait at a gate.
type slow struct {
	journal.FS
	syncs atomic.Int32
	began chan struct{} // hears of the syncs that begin
	gate  chan struct{} // closed to let them end
}

func (s *slow) Append(name string) (journal.File, error) {
	f, err := s.FS.Append(name)
	if !strings.HasPrefix(name, "feeds/") {
		return f, err
	}
	return slowFile{f, s}, err
}

type slowFile struct {
	journal.File
	slow *slow
}

func (f slowFile) Sync() error {
	f.slow.syncs.Add(1)
	f.slow.began <- struct{}{}
	<-f.slow.gate
	return f.File.Sync()
}

// Appends that wait while a sync is at work share the next one.
func TestAppendsThatWaitShareOneSync(t *testing.T) {
	l, a := newLaptop(), newAuthor(1)
	j, first := l.begun(t, a, 1)
	require.NoError(t, j.Close())
	const n = 101
	s := &slow{FS: l.site, began: make(chan struct{}, n), gate: make(chan struct{})}
	j, err := journal.Open(s, l.marks, journaltest.Site(), l.env())
	require.NoError(t, err)
	lines, done := a.says(n, "mine"), make(chan error, n)
	queue := func(v seal.Verified) {
		wait, err := j.Queue(v)
		require.NoError(t, err)
		go func() { done <- wait() }()
	}
	queue(lines[0])
	select {
	case <-s.began: // the first is at its sync; a hundred come meanwhile
	case <-done:
		t.Fatal("acknowledged without a sync")
	}
	for _, v := range lines[1:] {
		queue(v)
	}
	require.Equal(t, first[0].Head(), j.Own().Head, "nothing is shown before its sync")
	require.Len(t, have(t, j.Lines(a.Feed, 1)), 1)
	close(s.gate)
	for range n {
		require.NoError(t, <-done)
	}
	require.EqualValues(t, 2, s.syncs.Load())
	require.Equal(t, lines[n-1].Head(), j.Own().Head)
}

func TestAppendRefuses(t *testing.T) {
	a := newAuthor(1)
	j, lines := newLaptop().begun(t, a, 2)
	next := a.twin().says(2, "next")
	astray := a.on(anotherSite()).says(1, "astray")
	for name, row := range map[string]struct {
		lines []seal.Verified
		want  error
	}{
		"a line that is there already": {lines[1:], journal.ErrNotNext},
		"a line too far":               {next[1:], journal.ErrNotNext},
		"a line of another feed":       {newAuthor(2).says(1, "first"), journal.ErrNotNext},
		"a line of another site":       {astray, journal.ErrWrongSite},
		"a run with a wrong end":       {[]seal.Verified{next[0], next[0]}, journal.ErrNotNext},
	} {
		t.Run(name, func(t *testing.T) {
			require.ErrorIs(t, j.Append(ctx, row.lines...), row.want)
		})
	}
	gone, cancel := context.WithCancel(ctx)
	cancel()
	require.ErrorIs(t, j.Append(gone, next...), context.Canceled)
	_, err := j.Take(gone, next)
	require.ErrorIs(t, err, context.Canceled)
	require.ErrorIs(t, j.Begin(gone, next[0]), context.Canceled)
	require.NoError(t, j.Append(ctx, next...), "none of that was in the way")
	requireLines(t, j, append(lines, next...))
}

func TestBeginRefuses(t *testing.T) {
	a, l := newAuthor(1), newLaptop()
	j := l.open(t)
	require.ErrorIs(t, j.Append(ctx, a.twin().says(1, "first")...), journal.ErrNoFeed)
	lines := a.says(2, "mine")
	require.ErrorIs(t, j.Begin(ctx, lines[1]), journal.ErrNotNext)
	require.ErrorIs(t, j.Begin(ctx, newAuthor(1).on(anotherSite()).says(1, "first")[0]), journal.ErrWrongSite)
	_, err := j.Take(ctx, newAuthor(2).says(1, "first"))
	require.NoError(t, err)
	require.ErrorIs(t, j.Begin(ctx, newAuthor(2).says(1, "first")[0]), journal.ErrNotNext, "a feed that is held was begun by somebody")
	require.NoError(t, j.Begin(ctx, lines[0]))
	require.ErrorIs(t, j.Begin(ctx, a.next(2).says(1, "first")[0]), journal.ErrHaveFeed)
}

// A line sealed for a feed that was replaced meanwhile must not end up in the
// next feed's file.
func TestALineQueuedForAFeedThatWasReplaced(t *testing.T) {
	l, a := newLaptop(), newAuthor(1)
	j, lines := l.begun(t, a, 2)
	elsewhere := a.twin().says(1, "said elsewhere")
	wait, err := j.Queue(a.says(1, "said here")...)
	require.NoError(t, err)
	_, err = j.Take(ctx, elsewhere)
	require.NoError(t, err)
	b := a.next(2)
	fresh := b.says(1, "first")
	require.NoError(t, j.Begin(ctx, fresh[0]))
	require.ErrorIs(t, wait(), journal.ErrReplaced)
	fresh = append(fresh, b.says(1, "goes on")...)
	require.NoError(t, j.Append(ctx, fresh[1]))
	require.NoError(t, j.Close())
	j = l.open(t)
	require.Empty(t, j.Problems())
	requireLines(t, j, append(lines, elsewhere...))
	requireLines(t, j, fresh)
}

// A disk that is full: a clear error, nothing acknowledged, all readable; with
// room again, opening resumes.
func TestDiskFullAndRoomAgain(t *testing.T) {
	d := &day{laptop: newLaptop()}
	a := newAuthor(1)
	j, lines := d.begun(t, a, 2)
	require.NoError(t, j.Close())
	j, err := journal.Open(journaltest.Faulty(d.site, &d.trap), journaltest.Faulty(d.marks, &d.trap), journaltest.Site(), d.env())
	require.NoError(t, err)

	d.trap.Full = true
	next := a.twin().says(1, "no room")
	err = j.Append(ctx, next...)
	require.ErrorIs(t, err, journal.ErrBroken)
	require.ErrorIs(t, err, journaltest.ErrFault)
	require.ErrorIs(t, j.Append(ctx, next...), journal.ErrBroken, "it stays that way")
	_, err = j.Take(ctx, newAuthor(2).says(1, "first"))
	require.ErrorIs(t, err, journal.ErrBroken)
	requireLines(t, j, lines)
	require.Equal(t, lines[1].Head(), j.Own().Head)
	require.NoError(t, j.Close())
	_, err = journal.Open(journaltest.Faulty(d.site, &d.trap), journaltest.Faulty(d.marks, &d.trap), journaltest.Site(), d.env())
	require.ErrorIs(t, err, journaltest.ErrFault, "no room to note that it is open")

	d.trap.Full = false
	later := d.copy()
	later.boot = tuesday
	require.Equal(t, journal.Own{Feed: a.Feed, Head: lines[1].Head()}, later.open(t).Own(),
		"what was half written was taken back, so that no later boot takes it for a torn end")
	j = d.open(t)
	require.Equal(t, journal.Own{Feed: a.Feed, Head: lines[1].Head()}, j.Own())
	other := a.says(1, "there is room")
	require.NoError(t, j.Append(ctx, other...))
	require.NoError(t, j.Close())
	requireLines(t, d.open(t), append(lines, other...))
}

func TestClosed(t *testing.T) {
	l, a := newLaptop(), newAuthor(1)
	j, lines := l.begun(t, a, 1)
	lines = append(lines, a.says(1, "in the queue")...)
	wait, err := j.Queue(lines[1])
	require.NoError(t, err)
	require.NoError(t, j.Close())
	require.NoError(t, wait(), "what waits is written first")
	require.NoError(t, j.Close(), "twice is no error")
	require.ErrorIs(t, j.Append(ctx, a.says(1, "late")...), journal.ErrClosed)
	_, err = j.Take(ctx, newAuthor(2).says(1, "first"))
	require.ErrorIs(t, err, journal.ErrClosed)
	requireLines(t, j, lines)
	requireLines(t, l.open(t), lines)
}

func TestOneOwnerAtATime(t *testing.T) {
	site, marks := t.TempDir(), t.TempDir()
	open := func() (*journal.Journal, error) {
		return journal.Open(journal.Dir(site), journal.Dir(marks), journaltest.Site(), newLaptop().env())
	}
	j, err := open()
	require.NoError(t, err)
	_, err = open()
	require.ErrorIs(t, err, journal.ErrLocked)
	require.NoError(t, j.Close())
	j, err = open()
	require.NoError(t, err)
	require.NoError(t, j.Close())

	l := newLaptop()
	j = l.open(t)
	_, err = journal.Open(l.site, l.marks, journaltest.Site(), l.env())
	require.ErrorIs(t, err, journal.ErrLocked)
	require.NoError(t, j.Close())
}

// Many goroutines append, take and read at once.
func TestAtOnce(t *testing.T) {
	l, a := newLaptop(), newAuthor(1)
	j, lines := l.begun(t, a, 1)
	lines = append(lines, a.says(60, "mine")...)
	ben := newAuthor(2).says(60, "ben's")
	var sealing sync.Mutex
	at := 1
	var all sync.WaitGroup
	errs := make(chan error, 300)
	for range 4 {
		all.Go(func() {
			for range 15 {
				sealing.Lock()
				wait, err := j.Queue(lines[at])
				at++
				sealing.Unlock()
				errs <- errors.Join(err, wait())
			}
		})
	}
	all.Go(func() {
		for _, v := range ben {
			_, err := j.Take(ctx, []seal.Verified{v})
			errs <- err
		}
	})
	all.Go(func() {
		for range 60 {
			for feed, head := range j.Heads() {
				var last events.Head
				for v := range j.Lines(feed, head.Seq) {
					last = v.Head()
				}
				if last.Seq < head.Seq {
					errs <- fs.ErrNotExist
				}
			}
		}
	})
	all.Wait()
	close(errs)
	for err := range errs {
		require.NoError(t, err)
	}
	requireLines(t, j, lines)
	requireLines(t, j, ben)
	require.NoError(t, j.Close())
	j = l.open(t)
	require.Empty(t, j.Problems())
	requireLines(t, j, lines)
	requireLines(t, j, ben)
}
