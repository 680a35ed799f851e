package journal_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
)

// full is the laptop's folder on a disk that takes nothing more.
func (l *laptop) full() (site, marks journal.FS, trap *journaltest.Trap) {
	trap = &journaltest.Trap{Full: true}
	return journaltest.Faulty(l.site, trap), journaltest.Faulty(l.marks, trap), trap
}

func TestLookReadsWhatCanNotBeOpened(t *testing.T) {
	l, a, b := newLaptop(), newAuthor(1), newAuthor(2)
	j, mine := l.begun(t, a, 4)
	_, err := j.Take(ctx, b.says(3, "theirs"))
	require.NoError(t, err)
	all := texts(have(t, j.All()))
	l.killed()
	half := append(fileOf(t, l, mine[0].Feed()), []byte(`{"half":`)...)
	l.site.Put(feedFile(string(mine[0].Feed())), half)
	files := contents(t, l.site)

	site, marks, _ := l.full()
	_, err = journal.Open(site, marks, journaltest.Site(), l.env())
	require.Error(t, err, "to open it takes room")
	j, err = journal.Look(site, marks, journaltest.Site(), l.env())
	require.NoError(t, err)
	require.Equal(t, all, texts(have(t, j.All())))
	require.NotEmpty(t, j.Problems(), "half a line at the end")
	require.ErrorIs(t, j.Stopped(), journal.ErrBroken)
	require.ErrorIs(t, j.Append(ctx, a.says(1, "more")...), journal.ErrBroken)
	_, err = j.Take(ctx, b.says(1, "more"))
	require.ErrorIs(t, err, journal.ErrBroken)
	_, err = journal.Open(l.site, l.marks, journaltest.Site(), l.env())
	require.ErrorIs(t, err, journal.ErrLocked, "nobody works on it under the eyes of who looks")
	require.NoError(t, j.Close())
	require.Equal(t, files, contents(t, l.site), "nothing was written")

	j = l.open(t)
	require.Equal(t, all, texts(have(t, j.All())))
	require.Empty(t, j.Own().Replace)
}

func fileOf(t *testing.T, l *laptop, feed events.FeedID) []byte {
	t.Helper()
	b, err := l.site.Read(feedFile(string(feed)))
	require.NoError(t, err)
	return b
}

// contents is every file of a folder but leftovers of what was never put in place.
func contents(t *testing.T, at *journal.MemFS) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, name := range at.Files() {
		b, err := at.Read(name)
		require.NoError(t, err)
		out[name] = string(b)
	}
	return out
}

// A power cut after somebody looked takes nothing of what they were shown.
func TestWhatALookShowsIsOnDisk(t *testing.T) {
	l, a := newLaptop(), newAuthor(1)
	j, _ := l.begun(t, a, 2)
	head := j.Own().Head
	require.NoError(t, j.Close())
	next := a.says(1, "written, and not synced")[0]
	f, err := l.site.Append(feedFile(string(next.Feed())))
	require.NoError(t, err)
	_, err = f.Write(append(next.Line(), '\n'))
	require.NoError(t, err)
	site, marks, _ := l.full()
	j, err = journal.Look(site, marks, journaltest.Site(), l.env())
	require.NoError(t, err)
	require.Equal(t, head.Seq+1, j.Own().Head.Seq)
	l.powerCut(journal.Loss{})
	require.Equal(t, next.Head(), l.open(t).Own().Head)
}

// Half of what was to replace a file does not take up room that is missing.
func TestWhatCouldNotReplaceAFileIsTakenAway(t *testing.T) {
	l := newLaptop()
	require.NoError(t, l.site.Mkdir("."))
	site, _, _ := l.full()
	require.Error(t, journal.Replace(site, "x", []byte("long enough to be cut in two")))
	require.Empty(t, l.site.Files())
}

func TestRoomIsTriedFor(t *testing.T) {
	l, a := newLaptop(), newAuthor(1)
	trap := &journaltest.Trap{}
	site, marks := journaltest.Faulty(l.site, trap), journaltest.Faulty(l.marks, trap)
	j, err := journal.Open(site, marks, journaltest.Site(), l.env())
	require.NoError(t, err)
	require.NoError(t, j.Begin(ctx, a.says(1, "first")[0]))
	require.NoError(t, j.Stopped())
	trap.Full = true
	require.ErrorIs(t, j.Append(ctx, a.says(1, "no room")...), journal.ErrBroken)
	require.ErrorIs(t, j.Stopped(), journal.ErrBroken)
	before := l.site.Files()
	require.Error(t, j.Room())
	require.Equal(t, before, l.site.Files(), "nothing is left of the trial")
	trap.Full = false
	require.NoError(t, j.Room())
	require.Equal(t, before, l.site.Files())
	require.ErrorIs(t, j.Stopped(), journal.ErrBroken, "it must be opened again all the same")
	require.NoError(t, j.Close())
	require.Equal(t, events.Seq(1), l.open(t).Own().Head.Seq)
}

// A disk that was full as the journal was closed does not look damaged.
func TestAFullDiskAtCloseLeavesNoHalfReceipt(t *testing.T) {
	l, a := newLaptop(), newAuthor(1)
	trap := &journaltest.Trap{}
	j, err := journal.Open(journaltest.Faulty(l.site, trap), journaltest.Faulty(l.marks, trap), journaltest.Site(), l.env())
	require.NoError(t, err)
	require.NoError(t, j.Begin(ctx, a.says(1, "first")[0]))
	trap.Full = true
	require.Error(t, j.Close())
	report, err := journal.Verify(l.site, journaltest.Site())
	require.NoError(t, err)
	require.Empty(t, report.Problems)
}
