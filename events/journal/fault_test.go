package journal_test

import (
	"errors"
	"fmt"
	"maps"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
)

// ledger is what somebody outside was told, or could see.
type ledger map[events.Ref]bool

func (l ledger) note(lines ...seal.Verified) {
	for _, v := range lines {
		l[v.Ref()] = true
	}
}

// seen notes whatever the journal shows, since a peer could have it by now.
func (l ledger) seen(t *testing.T, j *journal.Journal) { l.note(have(t, j.All())...) }

// holds says that the journal has every line of the ledger, and that no number
// of its own was ever given to two.
func (l ledger) holds(t *testing.T, j *journal.Journal, where string) {
	held := map[events.Ref]bool{}
	for _, v := range have(t, j.All()) {
		held[v.Ref()] = true
	}
	type number struct {
		feed events.FeedID
		seq  events.Seq
	}
	used, mine := map[number]bool{}, newAuthor(1).Feed.Key()
	for ref := range l {
		require.True(t, held[ref], "event %d of %s was acknowledged: %s", ref.Seq, ref.Feed.Short(), where)
		if n := (number{ref.Feed, ref.Seq}); ref.Feed.Key() == mine {
			require.False(t, used[n], "number %d was used twice: %s", ref.Seq, where)
			used[n] = true
		}
	}
}

// day is a scenario that uses every way in: begin, append, take, hole, fork,
// heal, close, and all that again.
type day struct {
	*laptop
	trap   journaltest.Trap
	ledger ledger
	word   int                    // tells apart what is said, so that a number used twice shows
	sealed sealed                 // shared by all days, to sign each line once
	broken func(*journal.Journal) // looks at a journal that broke
}

// sealed are lines by what they follow and say.
type sealed map[string][]seal.Verified

func (d *day) says(a author, n int, word string) []seal.Verified {
	key := fmt.Sprint(a.Feed, a.Head, n, word)
	if d.sealed[key] == nil {
		d.sealed[key] = a.says(n, word)
	}
	lines := d.sealed[key]
	a.Head = lines[n-1].Head()
	return lines
}

// newDay starts with a journal that has a damaged line of Ben's.
func newDay(t *testing.T) *day {
	d := &day{laptop: newLaptop(), ledger: ledger{}, sealed: sealed{}}
	j, _ := d.begun(t, newAuthor(1), 2)
	ben := newAuthor(2).says(4, "ben's")
	_, err := j.Take(ctx, ben)
	require.NoError(t, err)
	d.ledger.seen(t, j)
	require.NoError(t, j.Close())
	change(t, d.site, feedFile(string(ben[1].Feed())), flip(len(ben[0].Line())+300, 1))
	delete(d.ledger, ben[1].Ref())
	return d
}

func (d *day) copy() *day {
	return &day{laptop: d.laptop.copy(), ledger: maps.Clone(d.ledger), sealed: d.sealed}
}

// work does a day's work and stops at the first error. It lets go of the lock,
// as the system would.
func (d *day) work() error {
	for range 2 {
		j, err := journal.Open(journaltest.Faulty(d.site, &d.trap), journaltest.Faulty(d.marks, &d.trap), journaltest.Site(), d.env())
		if err != nil {
			return err
		}
		err = d.hours(j)
		if err != nil && d.broken != nil {
			d.broken(j)
		}
		if err = errors.Join(err, j.Close()); err != nil {
			return err
		}
	}
	return nil
}

func (d *day) hours(j *journal.Journal) error {
	a := newAuthor(1)
	own := j.Own()
	if a.Feed, a.Head = own.Feed, own.Head; own.Replace != "" {
		a = a.next(uint64(d.trap.Calls))
		first := d.says(a, 1, "first")
		if err := j.Begin(ctx, first[0]); err != nil {
			return err
		}
		d.ledger.note(first...)
	}
	d.word++
	one, two := d.says(a, 1, fmt.Sprint("one", d.word)), d.says(a, 2, fmt.Sprint("two", d.word))
	waitOne, err := j.Queue(one...)
	if err != nil {
		return err
	}
	waitTwo, err := j.Queue(two...)
	if err != nil {
		return err
	}
	if err := waitTwo(); err != nil {
		return err
	}
	d.ledger.note(two...)
	if err := waitOne(); err != nil {
		return err
	}
	d.ledger.note(one...)
	return d.visits(j)
}

// visits takes others' lines: Ben's, one of which heals, his twin's, and Cas's,
// of which one is missing.
func (d *day) visits(j *journal.Journal) error {
	ben := newAuthor(2)
	theirs := d.says(ben, 4, "ben's")
	twin := ben.twin()
	theirs = append(theirs, d.says(ben, 2, "ben's")...)
	if _, err := j.Take(ctx, theirs); err != nil {
		return err
	}
	d.ledger.note(theirs...)
	cas := d.says(newAuthor(3), 4, "cas's")
	if _, err := j.TakeHole(ctx, cas[0].Feed(), cas[1].Head(), cas[2]); err != nil {
		return err
	}
	d.ledger.note(cas[2])
	branch := d.says(twin, 2, "twin's")
	if _, err := j.Take(ctx, branch); err != nil {
		return err
	}
	d.ledger.note(branch...)
	if _, err := j.Take(ctx, cas); err != nil {
		return err
	}
	d.ledger.note(cas...)
	return nil
}

// goesOn opens the journal as it was left, with nothing failing any more; all
// that was told must be there, and work must go on: in the same feed, unless its
// end may be torn.
func (d *day) goesOn(t *testing.T, torn bool, where string) {
	d.trap.N = 0
	j := d.open(t)
	require.True(t, torn || j.Own().Replace == "", "replaced without need, %v: %s", j.Problems(), where)
	d.ledger.holds(t, j, where)
	d.ledger.seen(t, j)
	require.NoError(t, j.Close(), where)
	require.NoError(t, d.work(), where)
	j = d.open(t)
	d.ledger.holds(t, j, where)
	require.Empty(t, j.Holes(), where)
	require.NoError(t, j.Close(), where)
}

func callsOf(t *testing.T, from *day) int {
	d := from.copy()
	require.NoError(t, d.work())
	require.Greater(t, d.trap.Calls, 60)
	return d.trap.Calls
}

// A fault at every call in turn: nothing that was acknowledged is lost, no
// number is used for another event, and the journal opens and goes on.
func TestAFaultAtEveryCallInTurn(t *testing.T) {
	from := newDay(t)
	n := callsOf(t, from)
	for _, how := range []journaltest.How{journaltest.Undone, journaltest.Halfway, journaltest.Done} {
		for _, good := range []bool{false, true} {
			t.Run(fmt.Sprintf("%s, for good %v", how, good), func(t *testing.T) {
				for i := 1; i <= n; i += stride {
					d := from.copy()
					d.trap = journaltest.Trap{N: i, How: how, Good: good}
					where := fmt.Sprintf("call %d of %d", i, n)
					d.broken = func(j *journal.Journal) {
						trap := d.trap
						d.trap.N = 0 // the disk can be read
						d.ledger.holds(t, j, "broken, "+where)
						d.trap = trap
					}
					_ = d.work() // some calls may fail without harm
					d.killed()
					d.goesOn(t, false, where)
				}
			})
		}
	}
}

// The power goes at every call in turn.
func TestAPowerCutAtEveryCallInTurn(t *testing.T) {
	from := newDay(t)
	n := callsOf(t, from)
	losses := map[string]journal.Loss{
		"all that was not synced is lost":   {},
		"some bytes survive":                {KeepBytes: 700},
		"names survive, bytes don't":        {KeepNames: true},
		"names survive, and some bytes":     {KeepNames: true, KeepBytes: 700},
		"names survive, and every last one": {KeepNames: true, KeepBytes: 1 << 20},
	}
	for name, loss := range losses {
		t.Run(name, func(t *testing.T) {
			for i := 1; i <= n; i += stride {
				d := from.copy()
				d.trap = journaltest.Trap{N: i, How: journaltest.Undone, Good: true}
				where := fmt.Sprintf("call %d of %d", i, n)
				_ = d.work() // the last of its calls close files, which nothing hangs on
				d.powerCut(loss)
				d.goesOn(t, loss.KeepBytes > 0, where)
			}
		})
	}
}

// A fault, then work goes on in the same boot, then the power goes: what the
// second opening showed may have been with a peer since.
func TestAPowerCutAfterAFault(t *testing.T) {
	from := newDay(t)
	n := callsOf(t, from)
	for _, how := range []journaltest.How{journaltest.Undone, journaltest.Halfway, journaltest.Done} {
		t.Run(string(how), func(t *testing.T) {
			for i := 1; i <= n; i += stride {
				d := from.copy()
				d.trap = journaltest.Trap{N: i, How: how}
				where := fmt.Sprintf("call %d of %d", i, n)
				_ = d.work() // the fault may be harmless
				d.trap.N = 0 // but the system goes on lying about what it could not sync
				j, err := journal.Open(journaltest.Faulty(d.site, &d.trap), journaltest.Faulty(d.marks, &d.trap), journaltest.Site(), d.env())
				require.NoError(t, err, where)
				d.ledger.holds(t, j, where)
				d.ledger.seen(t, j)
				d.powerCut(journal.Loss{})
				d.goesOn(t, false, where)
			}
		})
	}
}
