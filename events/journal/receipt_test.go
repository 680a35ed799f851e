package journal_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
)

func requireReceipt(t *testing.T, j *journal.Journal, v seal.Verified, minute int, boot string) {
	t.Helper()
	at, ok := j.Receipt(v.Ref())
	require.True(t, ok)
	require.Equal(t, morning(minute, boot), at)
}

// A receipt says when others' lines were first had here. It is on disk before
// Take returns, and it never changes.
func TestReceiptsAreDurableBeforeTakeReturns(t *testing.T) {
	l, theirs := newLaptop(), newAuthor(2).says(4, "theirs")
	j, mine := l.begun(t, newAuthor(1), 2)
	l.minutes = 10
	_, err := j.Take(ctx, theirs[:2])
	require.NoError(t, err)
	l.minutes = 20
	_, err = j.Take(ctx, theirs)
	require.NoError(t, err)
	l.powerCut(journal.Loss{})
	l.minutes = 60
	for range 2 {
		j = l.open(t)
		requireReceipt(t, j, theirs[0], 11, monday)
		requireReceipt(t, j, theirs[1], 11, monday)
		requireReceipt(t, j, theirs[3], 21, monday)
		_, ok := j.Receipt(mine[0].Ref())
		require.False(t, ok, "own lines have none")
		_, ok = j.Receipt(events.Ref{Feed: theirs[0].Feed(), Seq: 9})
		require.False(t, ok, "nor what is not held")
		_, ok = j.Receipt(events.Ref{Feed: theirs[0].Feed(), Seq: 1, Hash: theirs[1].Hash().Short()})
		require.False(t, ok, "nor another line at that place")
		require.NoError(t, j.Close())
	}
}

// The receipts come after the lines: a fault in between leaves lines without a
// receipt, which count as first had at the next opening.
func TestLinesWithoutAReceiptAreFirstHadNow(t *testing.T) {
	l, theirs := newLaptop(), newAuthor(2).says(1, "theirs")
	j, err := journal.Open(noRoomFor{l.site, "receipts"}, l.marks, journaltest.Site(), l.env())
	require.NoError(t, err)
	_, err = j.Take(ctx, theirs)
	require.ErrorIs(t, err, journal.ErrBroken)
	require.Empty(t, j.Heads(), "not acknowledged, not shown")
	require.NoError(t, j.Close())
	l.minutes = 30
	j = l.open(t)
	requireLines(t, j, theirs)
	requireReceipt(t, j, theirs[0], 31, monday)
}

// Healing keeps the receipt of a line that is known to have been this one.
func TestAHealedLineKeepsItsReceipt(t *testing.T) {
	l, theirs := newLaptop(), newAuthor(2).says(3, "theirs")
	j := l.open(t)
	l.minutes = 10
	_, err := j.Take(ctx, theirs)
	require.NoError(t, err)
	require.NoError(t, j.Close())
	change(t, l.site, feedFile(string(theirs[0].Feed())), flip(startOf(theirs, 1)+300, 1))
	for range 2 {
		l.minutes += 10
		j = l.open(t)
		requireReceipt(t, j, theirs[0], 11, monday)
		requireReceipt(t, j, theirs[2], 11, monday)
		_, err = j.Take(ctx, theirs)
		require.NoError(t, err)
		requireReceipt(t, j, theirs[1], 11, monday)
		require.NoError(t, j.Close())
	}
}

// A tampered receipt: the damage is told, the line is kept aside, and the events
// are checked by their signatures and count as first had now.
func TestTamperedReceipts(t *testing.T) {
	l, theirs := newLaptop(), newAuthor(2).says(3, "theirs")
	j := l.open(t)
	l.minutes = 10
	_, err := j.Take(ctx, theirs)
	require.NoError(t, err)
	require.NoError(t, j.Close())
	was := read(t, l.site, "receipts")
	earlier := bytes.Replace(was, []byte(`"mono":660005`), []byte(`"mono":060005`), 1)
	require.NotEqual(t, was, earlier)
	for name, tampered := range map[string][]byte{
		"an earlier time":           earlier,
		"half of the last line":     was[:len(was)-30],
		"the last line feed gone":   was[:len(was)-1],
		"something else at the end": append(bytes.Clone(was), "see also\n"...),
	} {
		t.Run(name, func(t *testing.T) {
			c := l.copy()
			c.site.Put("receipts", tampered)
			c.minutes = 40
			j := c.open(t)
			require.Equal(t, []journal.Fault{journal.BadReceipt}, faults(j.Problems()))
			require.Equal(t, "receipts", j.Problems()[0].File)
			require.Positive(t, j.Problems()[0].Line)
			if name == "something else at the end" {
				requireReceipt(t, j, theirs[0], 11, monday)
			} else {
				requireReceipt(t, j, theirs[0], 41, monday)
			}
			requireLines(t, j, theirs)
			require.NoError(t, j.Close())
			require.Equal(t, tampered, read(t, c.site, "feeds/receipts.damaged-1"))
			j = c.open(t)
			require.Empty(t, j.Problems())
		})
	}
}

// Without receipts, all is checked, and first had now.
func TestReceiptsGone(t *testing.T) {
	l, theirs := newLaptop(), newAuthor(2).says(3, "theirs")
	j := l.open(t)
	_, err := j.Take(ctx, theirs)
	require.NoError(t, err)
	require.NoError(t, j.Close())
	require.NoError(t, l.site.Remove("receipts"))
	l.minutes = 40
	j = l.open(t)
	requireLines(t, j, theirs)
	requireReceipt(t, j, theirs[0], 41, monday)
}

// A check value is proof only of the bytes it was made over: who swaps a line for
// another, with no key, gets it checked by its signature.
func TestACheckValueProvesOnlyItsBytes(t *testing.T) {
	l, theirs := newLaptop(), newAuthor(2).says(3, "theirs")
	j := l.open(t)
	_, err := j.Take(ctx, theirs)
	require.NoError(t, err)
	require.NoError(t, j.Close())
	change(t, l.site, feedFile(string(theirs[0].Feed())), func(b []byte) []byte {
		return []byte(strings.Replace(string(b), `"text":"theirs 2"`, `"text":"theirs 9"`, 1))
	})
	j = l.open(t)
	require.Equal(t, []journal.Fault{journal.Damaged}, faults(j.Problems()))
	require.Equal(t, []events.Head{theirs[1].Head()}, j.Holes()[theirs[0].Feed()])
}

// Elapsed time is proven only from the first opening in this boot, which
// survives every close, kill and opening in it.
func TestFirstOpened(t *testing.T) {
	l := newLaptop()
	steps := []struct {
		name    string
		boot    string
		minutes int
		want    events.Stamp
		closed  bool
	}{
		{"the very first", monday, 0, morning(1, monday), true},
		{"again after a close", monday, 20, morning(1, monday), false},
		{"again after a kill", monday, 30, morning(1, monday), true},
		{"another boot", tuesday, 40, morning(41, tuesday), true},
		{"again in that", tuesday, 50, morning(41, tuesday), true},
		{"no boot clock", "", 60, morning(61, ""), true},
		{"no boot clock, again", "", 70, morning(71, ""), true},
	}
	for _, step := range steps {
		l.boot, l.minutes = step.boot, step.minutes
		j := l.open(t)
		require.Equal(t, step.want, j.FirstOpened(), step.name)
		if step.closed {
			require.NoError(t, j.Close())
		}
		l.killed()
	}
}
