package journal_test

import (
	"bytes"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
)

// ending is how the own feed was left, and what must come of it.
type ending struct {
	name   string
	after  func(t *testing.T, l *laptop, lines []seal.Verified) // damage done, the journal having been closed or killed
	closed bool                                                 // cleanly
	boot   string                                               // that it is opened in
	why    events.StartWhy                                      // the feed is replaced; "" where it goes on
	last   int                                                  // lines that are left of five
	aside  bool                                                 // damaged bytes are kept
}

// mine changes the own feed's file.
func mine(by func(b []byte) []byte) func(*testing.T, *laptop, []seal.Verified) {
	return func(t *testing.T, l *laptop, lines []seal.Verified) {
		change(t, l.site, feedFile(string(lines[0].Feed())), by)
	}
}

func half(b []byte) []byte { return append(b, `{"v":1,"site":"`...) }

// without is the file with its last n lines gone.
func without(n int) func(b []byte) []byte {
	return func(b []byte) []byte {
		lines := bytes.SplitAfter(b, []byte("\n"))
		return bytes.Join(lines[:len(lines)-1-n], nil)
	}
}

func endings() []ending {
	whole := func(*testing.T, *laptop, []seal.Verified) {}
	noMark := func(t *testing.T, l *laptop, _ []seal.Verified) {
		require.NoError(t, l.site.Remove("mark"))
	}
	noCopy := func(t *testing.T, l *laptop, _ []seal.Verified) {
		require.NoError(t, l.marks.Remove(string(journaltest.Site())))
	}
	return []ending{
		{"closed", whole, true, monday, "", 5, false},
		{"closed, then a reboot", whole, true, tuesday, "", 5, false},
		{"killed", whole, false, monday, "", 5, false},
		{"power cut, all lines there", whole, false, tuesday, "", 5, false},
		{"killed in mid-line", mine(half), false, monday, "", 5, false},
		{"power cut in mid-line", mine(half), false, tuesday, events.TornTail, 5, true},
		{"half a line after a clean close", mine(half), true, monday, events.TornTail, 5, true},
		{"half a line where there is no boot clock", mine(half), false, "", events.TornTail, 5, true},
		{"last line damaged, same boot", mine(func(b []byte) []byte { return flip(len(b)-200, 1)(b) }), false, monday, events.TornTail, 4, true},
		{"last line cut short after a clean close", mine(func(b []byte) []byte { return b[:len(b)-200] }), true, monday, events.TornTail, 4, true},
		{"last line gone after a clean close: an older backup", mine(without(1)), true, monday, events.Restored, 4, false},
		{"a whole file gone", func(t *testing.T, l *laptop, lines []seal.Verified) {
			require.NoError(t, l.site.Remove(feedFile(string(lines[0].Feed()))))
		}, false, monday, events.Restored, 0, false},
		{"the mark gone, its copy there", noMark, true, monday, "", 5, false},
		{"the folder copied to another device", noCopy, true, monday, events.Restored, 5, false},
		{"another line where the mark's was", func(t *testing.T, l *laptop, lines []seal.Verified) {
			b := newAuthor(1)
			b.Head = lines[3].Head()
			other := b.says(1, "another")
			mine(without(1))(t, l, lines)
			mine(func(b []byte) []byte { return append(append(b, other[0].Line()...), '\n') })(t, l, lines)
			require.NoError(t, l.site.Remove("receipts"))
		}, true, monday, events.Diverged, 5, false},
	}
}

// How the own feed ends decides whether it goes on. Where a number could be used
// twice it does not, and that stays so however often the journal is opened.
func TestHowTheOwnFeedEnds(t *testing.T) {
	for _, row := range endings() {
		t.Run(row.name, func(t *testing.T) {
			l, a := newLaptop(), newAuthor(1)
			if row.boot == "" {
				l.boot = ""
			}
			j, lines := l.begun(t, a, 5)
			if row.closed {
				require.NoError(t, j.Close())
			}
			l.killed()
			row.after(t, l, lines)
			l.boot = row.boot
			var left events.Head
			for _, first := range []bool{true, false} {
				j = l.open(t)
				own := j.Own()
				require.Equal(t, a.Feed, own.Feed)
				require.Equal(t, row.why, own.Replace, "%v", j.Problems())
				require.EqualValues(t, row.last, own.Head.Seq)
				if left = own.Head; row.why != "" {
					require.Equal(t, left, own.Last)
					require.True(t, !first || slices.Contains(faults(j.Problems()), journal.BehindMark), "%v", j.Problems())
				}
				require.NoError(t, j.Close())
			}
			report, err := journal.Verify(l.site, journaltest.Site())
			require.NoError(t, err)
			require.Equal(t, row.aside, len(report.Aside) > 0, "%v", report.Aside)
			goesOn(t, l, a, row.why != "", left)
		})
	}
}

// goesOn says that a feed is continued, or else a new one begun.
func goesOn(t *testing.T, l *laptop, a author, replaced bool, left events.Head) {
	j := l.open(t)
	a.Head = left
	next := a.twin()
	if replaced {
		require.ErrorIs(t, j.Append(ctx, a.says(1, "goes on")...), journal.ErrReplaced)
		next = a.next(2)
		require.NoError(t, j.Begin(ctx, next.says(1, "first")[0]))
	}
	require.NoError(t, j.Append(ctx, next.says(1, "goes on")...))
	require.NoError(t, j.Close())
	j = l.open(t)
	require.Equal(t, journal.Own{Feed: next.Feed, Head: next.Head}, j.Own())
	require.NoError(t, j.Close())
}

// Neither mark can be read: which feed is ours is not known, so none goes on.
func TestNoMarkAtAll(t *testing.T) {
	l := newLaptop()
	j, _ := l.begun(t, newAuthor(1), 3)
	require.NoError(t, j.Close())
	change(t, l.site, "mark", flip(9, 1))
	change(t, l.marks, string(journaltest.Site()), flip(9, 1))
	j = l.open(t)
	require.Equal(t, journal.Own{Replace: events.Restored}, j.Own())
	require.Equal(t, []journal.Fault{journal.BadMark, journal.BadMark, journal.BehindMark}, faults(j.Problems()))
	require.NoError(t, j.Begin(ctx, newAuthor(1).next(2).says(1, "first")[0]))
}

// A mark of another site is no mark.
func TestAMarkOfAnotherSite(t *testing.T) {
	l := newLaptop()
	j, _ := l.begun(t, newAuthor(1), 1)
	require.NoError(t, j.Close())
	j, err := journal.Open(l.site, l.marks, anotherSite(), l.env())
	require.NoError(t, err)
	require.Contains(t, faults(j.Problems()), journal.BadMark)
	require.Empty(t, have(t, j.All()), "nor are lines of another site shown")
}

// A peer holds our own feed longer than we do, or otherwise. It must not go on,
// also where the lines came in while it was at work.
func TestOwnFeedElsewhere(t *testing.T) {
	for name, row := range map[string]struct {
		from int // the line of three that the peer's follow
		why  events.StartWhy
	}{
		"longer":    {3, events.Restored},
		"different": {2, events.Diverged},
	} {
		t.Run(name, func(t *testing.T) {
			l, a := newLaptop(), newAuthor(1)
			j, lines := l.begun(t, a, 3)
			b := a.twin()
			b.Head = lines[row.from-1].Head()
			elsewhere := b.says(2, "elsewhere")
			_, err := j.Take(ctx, elsewhere)
			require.NoError(t, err)
			require.Equal(t, row.why, j.Own().Replace)
			require.Equal(t, lines[2].Head(), j.Own().Last)
			require.ErrorIs(t, j.Append(ctx, a.says(1, "here")...), journal.ErrReplaced)
			if row.from == 3 {
				requireLines(t, j, append(slices.Clone(lines), elsewhere...))
			} else {
				requireLines(t, j, lines)
				require.Equal(t, texts(elsewhere), texts(have(t, j.Branch(j.Forks()[0]))))
			}
			l.killed()
			j = l.open(t)
			require.Equal(t, row.why, j.Own().Replace, "also after a kill")
			require.Equal(t, lines[2].Head(), j.Own().Last)
		})
	}
}

// What a peer adds to our own feed has a receipt like any other's, whether its
// file is appended to or, being damaged, written afresh.
func TestOwnLinesFromAPeerHaveAReceipt(t *testing.T) {
	for name, damaged := range map[string]bool{"whole": false, "damaged": true} {
		t.Run(name, func(t *testing.T) {
			l, a := newLaptop(), newAuthor(1)
			j, lines := l.begun(t, a, 3)
			require.NoError(t, j.Close())
			if damaged {
				change(t, l.site, feedFile(string(a.Feed)), flip(startOf(lines, 1)+300, 1))
			}
			elsewhere := a.says(1, "elsewhere")
			l.minutes = 30
			j = l.open(t)
			_, err := j.Take(ctx, elsewhere)
			require.NoError(t, err)
			require.NoError(t, j.Close())
			j = l.open(t)
			requireReceipt(t, j, elsewhere[0], 32, monday)
			_, ok := j.Receipt(lines[0].Ref())
			require.False(t, ok, "that one was said here")
		})
	}
}

// Even if there is no room for what the peer holds, the verdict is kept.
func TestOwnFeedElsewhereOnAFullDisk(t *testing.T) {
	l, a := newLaptop(), newAuthor(1)
	j, lines := l.begun(t, a, 3)
	require.NoError(t, j.Close())
	elsewhere := a.says(1, "elsewhere")
	full := noRoomFor{l.site, feedFile(string(a.Feed))}
	j, err := journal.Open(full, l.marks, journaltest.Site(), l.env())
	require.NoError(t, err)
	_, err = j.Take(ctx, elsewhere)
	require.ErrorIs(t, err, journal.ErrBroken)
	require.NoError(t, j.Close())
	j = l.open(t)
	require.Equal(t, events.Restored, j.Own().Replace)
	requireLines(t, j, lines)
}

// What was once held stays known: a feed that is shorter is told as that for as
// long as it is.
func TestAShorterFeedStaysTold(t *testing.T) {
	l, a := newLaptop(), newAuthor(1)
	j, lines := l.begun(t, a, 3)
	require.NoError(t, j.Close())
	mine(without(1))(t, l, lines)
	require.NoError(t, l.open(t).Close())
	require.NoError(t, l.site.Remove("receipts"))
	report, err := journal.Verify(l.site, journaltest.Site())
	require.NoError(t, err)
	require.Equal(t, []journal.Fault{journal.BehindMark}, faults(report.Problems))
	require.EqualValues(t, 3, report.Problems[0].Seq)
}

// The receipts know of events that no mark does: those of a close that failed
// before its mark.
func TestShorterThanTheReceipts(t *testing.T) {
	l, a := newLaptop(), newAuthor(1)
	j, first := l.begun(t, a, 1)
	require.NoError(t, j.Close())
	marks := &noMoreRoom{FS: l.marks}
	j, err := journal.Open(l.site, marks, journaltest.Site(), l.env())
	require.NoError(t, err)
	require.NoError(t, j.Append(ctx, a.says(2, "mine")...))
	marks.full = true
	require.ErrorIs(t, j.Close(), journaltest.ErrFault)
	mine(without(1))(t, l, first)
	require.Equal(t, events.Restored, l.open(t).Own().Replace)
}

// noMoreRoom can make no file once it is full.
type noMoreRoom struct {
	journal.FS
	full bool
}

func (f *noMoreRoom) Create(name string) (journal.File, error) {
	if f.full {
		return nil, journaltest.ErrFault
	}
	return f.FS.Create(name)
}

// The end of a torn feed is put aside. That it is at its end is noted first, or
// the next opening would find a feed that looks whole.
func TestAFaultWhileATornEndIsMended(t *testing.T) {
	torn, a := newLaptop(), newAuthor(1)
	_, lines := torn.begun(t, a, 3)
	mine(half)(t, torn, lines)
	torn.killed()
	torn.boot = tuesday
	calls, opened := 0, false
	for ; !opened; calls++ {
		l := torn.copy()
		p := journaltest.Trap{N: calls + 1, How: journaltest.Undone, Good: true}
		j, err := journal.Open(journaltest.Faulty(l.site, &p), journaltest.Faulty(l.marks, &p), journaltest.Site(), l.env())
		if opened = err == nil; opened {
			_ = j.Close() // which meets the fault
		}
		again := l.open(t)
		require.Equal(t, events.TornTail, again.Own().Replace, "a fault at call %d", calls+1)
		require.Equal(t, lines[2].Head(), again.Own().Last)
	}
	require.Greater(t, calls, 20)
}

// noRoomFor can't append to one file.
type noRoomFor struct {
	journal.FS
	name string
}

func (f noRoomFor) Append(name string) (journal.File, error) {
	if name == f.name {
		return nil, journaltest.ErrFault
	}
	return f.FS.Append(name)
}

// The copy of the mark is written before the mark, so a power cut between the
// two is not taken for a copied folder.
func TestThePowerGoesBetweenTheMarks(t *testing.T) {
	l := newLaptop()
	j, lines := l.begun(t, newAuthor(1), 2)
	before := read(t, l.site, "mark")
	require.NoError(t, j.Close())
	l.site.Put("mark", before)
	j = l.open(t)
	require.Empty(t, j.Problems())
	require.Equal(t, journal.Own{Feed: lines[0].Feed(), Head: lines[1].Head()}, j.Own())
}

// The folder is put back as a backup had it, and the copy of the mark outside
// has gone on meanwhile: numbers given since then must not be given again.
func TestAFolderPutBackOnItsOwnDevice(t *testing.T) {
	l, a := newLaptop(), newAuthor(1)
	j, lines := l.begun(t, a, 2)
	require.NoError(t, j.Close())
	backup := l.site.Clone()
	_ = l.open(t)
	l.killed()
	j = l.open(t)
	require.NoError(t, j.Append(ctx, a.says(3, "since")...))
	l.killed() // and what was said since went to a colleague
	l.site = backup
	j = l.open(t)
	require.Equal(t, events.Restored, j.Own().Replace)
	require.Equal(t, lines[1].Head(), j.Own().Head)
}

// A signature that a peer's disk damaged is vouched for by the lines after it,
// and mended by whoever has it whole.
func TestADamagedSignatureThatAPeerPassedOn(t *testing.T) {
	l := newLaptop()
	j := l.open(t)
	whole := journaltest.NewAuthor(2).Notes(4)
	_, err := j.Take(ctx, journaltest.Resigned(t, whole, 1))
	require.NoError(t, err)
	require.NoError(t, j.Close())
	report, err := journal.Verify(l.site, journaltest.Site())
	require.NoError(t, err)
	require.Equal(t, journal.BadSeal, report.Problems[0].Fault)

	j = l.open(t)
	taken, err := j.Take(ctx, whole)
	require.NoError(t, err)
	require.Equal(t, 4, taken.Known)
	require.Equal(t, 1, taken.Healed)
	taken, err = j.Take(ctx, journaltest.Resigned(t, whole, 1))
	require.NoError(t, err)
	require.Zero(t, taken.Healed, "a good one is not given for a bad one")
	require.NoError(t, j.Close())
	report, err = journal.Verify(l.site, journaltest.Site())
	require.NoError(t, err)
	require.Empty(t, report.Problems)
}
