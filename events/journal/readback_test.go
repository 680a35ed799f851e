package journal_test

import (
	"bytes"
	"io"
	"io/fs"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
)

// Every folder gives back any part of a file, and never less than was asked for.
func TestAFileIsReadInParts(t *testing.T) {
	dir := journal.Dir(t.TempDir())
	over := journal.Overlay(dir)
	for name, at := range map[string]journal.FS{
		"disk": dir, "memory": journal.Memory(), "within": journal.Within(journal.Memory(), "."), "over": over, "untouched, under an overlay": journal.Overlay(dir),
		"faulty": journaltest.Faulty(journal.Memory(), &journaltest.Trap{}),
	} {
		if name != "untouched, under an overlay" {
			require.NoError(t, journal.Replace(at, "f", []byte("0123456789")))
		} else {
			require.NoError(t, journal.Replace(dir, "f", []byte("0123456789")))
		}
		for offset := range 11 {
			for n := range 11 - offset {
				b := make([]byte, n)
				require.NoError(t, at.ReadAt("f", b, int64(offset)), name)
				require.Equal(t, "0123456789"[offset:offset+n], string(b), name)
			}
			require.ErrorIs(t, at.ReadAt("f", make([]byte, 11-offset), int64(offset)), io.ErrUnexpectedEOF, name)
		}
		require.ErrorIs(t, at.ReadAt("none", make([]byte, 1), 0), fs.ErrNotExist, name)
		whole, err := at.Open("f")
		require.NoError(t, err, name)
		b, err := io.ReadAll(whole)
		require.NoError(t, err, name)
		require.Equal(t, "0123456789", string(b), name)
		require.NoError(t, whole.Close())
		_, err = at.Open("none")
		require.ErrorIs(t, err, fs.ErrNotExist, name)
	}
	require.NoError(t, over.Remove("f"))
	_, err := over.Open("f")
	require.ErrorIs(t, err, fs.ErrNotExist)
	require.ErrorIs(t, over.ReadAt("f", make([]byte, 1), 0), fs.ErrNotExist)
}

// A file that is longer than what is looked at a time: damage is told where it is, and
// everything around it is read.
func TestALongFileIsReadSomeAtATime(t *testing.T) {
	l, a := newLaptop(), newAuthor(2)
	j := l.open(t)
	lines := a.says(6000, "theirs")
	_, err := j.Take(ctx, lines)
	require.NoError(t, err)
	require.NoError(t, j.Close())
	file := feedFile(string(a.Feed))
	whole := read(t, l.site, file)
	require.Greater(t, len(whole), 2<<20)
	require.Equal(t, journal.Events(lines), skimmed(t, l))
	offset := int64(0)
	for i, v := range lines {
		if i%1511 == 7 {
			l := l.copy()
			change(t, l.site, file, flip(int(offset)+len(v.Line())/2, 1))
			env, said := l.env(), 0
			env.Hear = func(evs []events.Event) { said += len(evs) }
			j, err := journal.Open(l.site, l.marks, journaltest.Site(), env)
			require.NoError(t, err)
			require.Equal(t, len(lines)-1, said)
			found := j.Problems()
			require.NotEmpty(t, found)
			for _, p := range found {
				require.Equal(t, []any{file, i + 1, offset}, []any{p.File, p.Line, p.Offset}, p.String())
			}
			require.NoError(t, j.Close())
		}
		offset += int64(len(v.Line())) + 1
	}
	l.site.Put(file, append(whole, bytes.Repeat([]byte{'x'}, 3<<20)...)) // and one without an end
	j = l.open(t)
	require.Equal(t, []journal.Fault{journal.TornEnd}, faults(j.Problems()))
	require.Equal(t, lines, have(t, j.All()))
}

// A file is mended by what was read of it: where the disk gives something else when it
// is read again, nothing is written.
func TestWhatIsMendedIsAsItWasRead(t *testing.T) {
	l, a := newLaptop(), newAuthor(1)
	_, lines := l.begun(t, a, 3)
	l.killed() // so that opening writes these lines afresh
	file := feedFile(string(a.Feed))
	before := read(t, l.site, file)
	_, err := journal.Open(fickle{l.site, file, len(lines[0].Line()) / 2}, l.marks, journaltest.Site(), l.env())
	require.ErrorIs(t, err, journal.ErrChanged)
	require.Equal(t, before, read(t, l.site, file))
	require.Equal(t, lines, have(t, l.open(t).All()))
}

// fickle is a folder that gives a byte of one file otherwise when it is read whole.
type fickle struct {
	journal.FS
	name string
	at   int
}

func (f fickle) Read(name string) ([]byte, error) {
	b, err := f.FS.Read(name)
	if err == nil && name == f.name {
		b = flip(f.at, 1)(b)
	}
	return b, err
}

// readings are the lines of a feed as the open journal reads them; nil where one
// can't be read. Who passes them on is given the others.
func readings(t *testing.T, j *journal.Journal, feed events.FeedID) (out []string) {
	defer func() {
		head, copies := j.Heads()[feed], texts(nil)
		for _, line := range j.Copies(events.Ref{Feed: feed, Seq: head.Seq, Hash: head.Hash.Short()}, 1) {
			copies = append(copies, string(line))
		}
		require.Equal(t, slices.DeleteFunc(slices.Clone(out), func(s string) bool { return s == "" }), copies)
	}()
	for v, err := range j.Lines(feed, 1) {
		if err != nil {
			require.ErrorContains(t, err, feedFile(string(feed)))
			require.ErrorContains(t, err, "byte ")
			require.Zero(t, v)
			out = append(out, "")
			continue
		}
		out = append(out, string(v.Line()))
	}
	return out
}

// A disk that rots under an open journal: whatever byte changes, the line with it is
// an error with its place and never another line, and all others are read.
func TestADiskThatRotsUnderAnOpenJournal(t *testing.T) {
	l, lines := newLaptop(), newAuthor(2).says(4, "theirs")
	j := l.open(t)
	_, err := j.Take(ctx, lines)
	require.NoError(t, err)
	feed := lines[0].Feed()
	file := feedFile(string(feed))
	whole := read(t, l.site, file)
	for at := 0; at < len(whole); at += stride {
		change(t, l.site, file, flip(at, 1))
		want := texts(lines)
		for i, v := range lines {
			if begin := startOf(lines, i); at >= begin && at < begin+len(v.Line()) {
				want[i] = ""
			}
		}
		require.Equal(t, want, readings(t, j, feed), "byte %d", at)
		l.site.Put(file, whole)
	}
	require.Equal(t, texts(lines), readings(t, j, feed), "it was the disk's fault, and not for good")
}

// The end of a file may go, or all of it; what is left is read.
func TestAFileThatGetsShorterUnderAnOpenJournal(t *testing.T) {
	l, lines := newLaptop(), newAuthor(2).says(4, "theirs")
	j := l.open(t)
	_, err := j.Take(ctx, lines)
	require.NoError(t, err)
	feed := lines[0].Feed()
	file := feedFile(string(feed))
	change(t, l.site, file, func(b []byte) []byte { return b[:startOf(lines, 2)+9] })
	require.Equal(t, append(texts(lines[:2]), "", ""), readings(t, j, feed))
	_, err = j.Take(ctx, lines)
	require.NoError(t, err, "what is known is not read")
	require.NoError(t, l.site.Remove(file))
	require.Equal(t, make([]string, 4), readings(t, j, feed))
	for _, err := range j.Lines(feed, 1) {
		require.ErrorIs(t, err, fs.ErrNotExist)
	}
	for range j.Descent(lines[3].Ref(), 1) {
		return
	}
	require.Fail(t, "a descent tells of it as well")
}

// Who reads while a feed is healed, which moves its lines in another file, reads them
// all the same.
func TestAFeedIsHealedWhileItIsRead(t *testing.T) {
	l, lines := newLaptop(), newAuthor(2).says(90, "theirs")
	j := l.open(t)
	_, err := j.Take(ctx, lines)
	require.NoError(t, err)
	require.NoError(t, j.Close())
	feed := lines[0].Feed()
	change(t, l.site, feedFile(string(feed)), func(b []byte) []byte {
		at := startOf(lines, 1)
		return slices.Concat(b[:at+100], b[at+150:]) // the lines after it stand elsewhere once it is healed
	})
	want := texts(slices.Concat(lines[:1], lines[2:]))
	for n := range want {
		if n%13 > 0 {
			continue
		}
		j, got := l.copy().open(t), texts(nil)
		for v, err := range j.Lines(feed, 1) {
			require.NoError(t, err)
			if got = append(got, string(v.Line())); len(got) == n+1 {
				taken, err := j.Take(ctx, lines[1:2])
				require.NoError(t, err)
				require.Equal(t, 1, taken.Healed)
			}
		}
		require.Equal(t, want, got, "healed after %d lines", n+1)
		requireLines(t, j, lines)
	}
}

// A file that was replaced though the system says it was not is read as it is.
func TestAReplacementThatWasSaidToFail(t *testing.T) {
	l, lines := newLaptop(), newAuthor(2).says(4, "theirs")
	j := l.open(t)
	_, err := j.Take(ctx, lines)
	require.NoError(t, err)
	require.NoError(t, j.Close())
	feed := lines[0].Feed()
	change(t, l.site, feedFile(string(feed)), func(b []byte) []byte {
		at := startOf(lines, 1)
		return slices.Concat(b[:at+100], b[at+150:])
	})
	for n := 1; ; n++ {
		l, trap := l.copy(), &journaltest.Trap{}
		j, err := journal.Open(journaltest.Faulty(l.site, trap), l.marks, journaltest.Site(), l.env())
		require.NoError(t, err)
		*trap = journaltest.Trap{N: n, How: journaltest.Done}
		_, err = j.Take(ctx, lines[1:2])
		trap.N = 0
		if err == nil {
			require.Greater(t, n, 5)
			return
		}
		require.ErrorIs(t, err, journal.ErrBroken)
		require.Equal(t, texts(slices.Concat(lines[:1], lines[2:])), readings(t, j, feed), "call %d", n)
	}
}

// A feed whose lines are gone from the disk is not healed by writing what is left of
// them: nothing is taken, and opening the site again tells what is damaged.
func TestHealingWritesNoLineThatChanged(t *testing.T) {
	l, lines := newLaptop(), newAuthor(2).says(4, "theirs")
	j := l.open(t)
	_, err := j.Take(ctx, lines)
	require.NoError(t, err)
	require.NoError(t, j.Close())
	file := feedFile(string(lines[0].Feed()))
	change(t, l.site, file, flip(startOf(lines, 1)+300, 1))
	j = l.open(t)
	change(t, l.site, file, flip(startOf(lines, 2)+300, 1))
	rotten := read(t, l.site, file)
	_, err = j.Take(ctx, lines[1:2])
	require.ErrorIs(t, err, journal.ErrChanged)
	require.ErrorIs(t, err, journal.ErrBroken)
	require.Equal(t, rotten, read(t, l.site, file))
	require.NoError(t, j.Close())
	j = l.open(t)
	taken, err := j.Take(ctx, lines[1:3])
	require.NoError(t, err)
	require.Equal(t, 2, taken.Healed)
	requireLines(t, j, lines)
}

// A fork whose first line is healed leaves the main branch where it did.
func TestAForkThatIsHealedAtItsBeginning(t *testing.T) {
	l, a := newLaptop(), newAuthor(2)
	trunk := a.says(3, "trunk")
	twin := a.twin()
	right := twin.says(3, "right")
	j := l.open(t)
	_, err := j.Take(ctx, slices.Concat(trunk, a.says(2, "left"), right))
	require.NoError(t, err)
	forks := j.Forks()
	require.NoError(t, j.Close())
	change(t, l.site, forkFile(right[0]), flip(300, 1))
	j = l.open(t)
	require.Zero(t, j.Forks()[0].Base)
	taken, err := j.Take(ctx, right[:1])
	require.NoError(t, err)
	require.Equal(t, 1, taken.Healed)
	require.Equal(t, forks, j.Forks())
	require.Equal(t, texts(slices.Concat(trunk, right)), texts(have(t, j.Descent(right[2].Ref(), 1))))
}

// What is told while a journal is opened is what all its lines say.
func TestOpeningTellsWhatTheLinesSay(t *testing.T) {
	l, a := newLaptop(), newAuthor(2)
	trunk := a.says(3, "trunk")
	twin := a.twin()
	lines := slices.Concat(trunk, a.says(3, "left"), newAuthor(3).says(3, "other"))
	j := l.open(t)
	_, err := j.Take(ctx, slices.Concat(lines, twin.says(2, "right")))
	require.NoError(t, err)
	require.NoError(t, j.Close())
	file := feedFile(string(a.Feed))
	whole := read(t, l.site, file)
	for at, c := range whole { // damaged lines, strays, a lost line feed
		if c != '\n' && at%(7*stride) > 0 {
			continue
		}
		l := l.copy()
		change(t, l.site, file, flip(at, 1))
		env, said := l.env(), []events.Event{}
		env.Hear = func(evs []events.Event) { said = append(said, evs...) }
		j, err := journal.Open(l.site, l.marks, journaltest.Site(), env)
		require.NoError(t, err)
		require.Equal(t, journal.Events(have(t, j.All())), said, "byte %d", at)
		require.NoError(t, j.Close())
		require.Equal(t, said, skimmed(t, l), "byte %d", at)
	}
}

// skimmed is what is told of a laptop's journal to who wants to know of every other
// fact, once the rest is read as well.
func skimmed(t *testing.T, l *laptop) []events.Event {
	t.Helper()
	left, said, env := 0, []events.Event{}, l.env()
	env.Want = func(_ events.Kind, body []byte) bool { return len(body)%2 == 0 }
	env.Skim = func(evs []events.Event, bodies [][]byte) {
		require.Len(t, bodies, len(evs))
		for i, e := range evs {
			if was, unread := e.Payload.(events.Unread); unread {
				require.True(t, len(bodies[i])%2 == 1)
				left++
				e.Payload = was.Read(bodies[i])
			}
			said = append(said, e)
		}
	}
	j, err := journal.Open(l.site, l.marks, journaltest.Site(), env)
	require.NoError(t, err)
	require.Positive(t, left)
	require.NoError(t, j.Close())
	return said
}

// Lines are on disk and not in memory.
func TestLinesAreNotInMemory(t *testing.T) {
	const most = 150 // bytes that a line may cost; it is some 400 long
	l, lines := newLaptop(), newAuthor(2).says(2000, "theirs")
	j := l.open(t)
	_, err := j.Take(ctx, lines)
	require.NoError(t, err)
	require.NoError(t, j.Close())
	size := len(read(t, l.site, feedFile(string(lines[0].Feed()))))
	require.Greater(t, size, 2*most*len(lines))
	held := func() int {
		runtime.GC()
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return int(m.HeapAlloc)
	}
	before := held()
	j = l.open(t)
	require.Less(t, held()-before, most*len(lines))
	require.Len(t, have(t, j.Lines(lines[0].Feed(), 1)), len(lines))
}
