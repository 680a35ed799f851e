package depot

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
	"pairwalk/syncd/member"
)

func hasty(o *Options) { o.Patience = 300 * time.Millisecond }

// While the cluster is away nothing is acknowledged and nothing shown; once it is
// back, everything goes on.
func TestTheClusterIsAwayForAWhile(t *testing.T) {
	n, a := newNode(t), journaltest.NewAuthor(1)
	self := a.Feed.Key()
	s := opened(t, n.line(hasty), self)
	require.NoError(t, s.Begin(t.Context(), a.Start()))
	say(t, s, a.Note("two"))
	theirs := journaltest.NewAuthor(2).Notes(3)
	before := texts(t, s)
	n.stop()
	sent, behind := a.Note("three"), a.Note("four")
	one, err := s.Queue(sent)
	require.NoError(t, err)
	two, err := s.Queue(behind)
	require.NoError(t, err)
	require.ErrorIs(t, one(), ErrNoQuorum)
	require.Error(t, two())
	_, err = s.Take(t.Context(), theirs)
	require.ErrorIs(t, err, ErrNoQuorum)
	require.Equal(t, before, texts(t, s), "nothing is shown that was not confirmed")
	n.start()
	until(t, "the cluster takes lines", func() bool { _, err := s.Take(t.Context(), theirs); return err == nil })
	a.Head = s.Own().Head
	say(t, s, a.Note("after"))
	require.Equal(t, texts(t, s), texts(t, opened(t, n.line(), self)))
	require.Empty(t, s.Forks())
}

// A line that the cluster stored and whose answer was lost keeps its number: it is
// sent again as it is, and nothing else bears that number.
func TestAnAnswerThatWasLost(t *testing.T) {
	n, a := newNode(t), journaltest.NewAuthor(1)
	self, w := a.Feed.Key(), newWire(n)
	s := opened(t, n.line(hasty, func(o *Options) { o.URLs = []string{w.url()} }), self)
	require.NoError(t, s.Begin(t.Context(), a.Start()))
	var told []seal.Verified
	s.Follow(func(lines []seal.Verified) { told = append(told, lines...) })
	w.deafen(true)
	lost := a.Note("two")
	wait, err := s.Queue(lost)
	require.NoError(t, err)
	require.ErrorIs(t, wait(), ErrNoQuorum)
	witness := opened(t, n.line(), nobody)
	require.True(t, witness.Holds(lost.Ref()), "it is there, and the relay does not know")
	require.False(t, s.Holds(lost.Ref()))
	require.Equal(t, lost.Head(), s.Own().Head, "the next line follows it all the same")
	w.deafen(false)
	next := a.Note("three")
	until(t, "the cluster takes the next", func() bool {
		wait, err := s.Queue(next)
		return err == nil && wait() == nil
	})
	require.Len(t, texts(t, s), 3)
	require.Equal(t, shorts(lost), shorts(told...), "what was confirmed late is told once")
	require.NoError(t, witness.catchUp(t.Context()))
	require.Equal(t, texts(t, s), texts(t, witness))
}

// A member whose entry was refused goes on, and its log has no gap.
func TestAMemberGoesOnAfterTheClusterWasAway(t *testing.T) {
	n, x := newNode(t), newCrew(t)
	o := office(t, n, secret(t, 1), hasty)
	_, err := o.Join(t.Context(), x.invite(events.RelayRole))
	require.NoError(t, err)
	m := opens(t, o)
	notes(t, m, 1, "before")
	require.NoError(t, o.Check(t.Context()))
	n.stop()
	require.Error(t, o.Check(t.Context()))
	_, err = m.Record(t.Context(), member.Entry{Payload: events.NoteAdded{Of: events.Site(), Text: "while it is away"}})
	require.ErrorIs(t, err, ErrNoQuorum)
	n.start()
	until(t, "an entry is taken", func() bool {
		_, err := m.Record(t.Context(), member.Entry{Payload: events.NoteAdded{Of: events.Site(), Text: "back"}})
		return err == nil
	})
	meet(t, m, x.lead)
	late := opens(t, office(t, n, secret(t, 1)))
	require.Equal(t, log(t, m), log(t, late))
	require.Empty(t, m.Problems())
}

// Where the cluster gave what the follower reads by to a server that died before it
// answered, the follower does not wait for that server.
func TestTheFollowerDoesNotWaitForOneServer(t *testing.T) {
	n, a := newNode(t), journaltest.NewAuthor(1)
	w := newWire(n)
	s := opened(t, n.line(func(o *Options) { o.URLs = []string{w.url()} }), nobody)
	other := opened(t, n.line(), nobody)
	w.loseOne()
	defer w.findAgain() // a follower that waits for it can be closed only then
	n.forgetsReaders()
	lines := a.Notes(3)
	took(t, other, lines...)
	until(t, "what another relay took is followed", func() bool { return s.Holds(lines[2].Ref()) })
	require.True(t, w.findAgain(), "a reader was asked for, and nobody answered")
	require.Equal(t, texts(t, other), texts(t, s))
}

func TestTheSameIsSaidNowAndThen(t *testing.T) {
	var s saying
	said := 0
	for range 2*sayAgain + 1 {
		if s.anew(ErrNoQuorum) {
			said++
		}
	}
	require.Equal(t, 3, said)
	require.True(t, s.anew(errMoved), "something else is said at once")
	require.False(t, s.anew(errMoved))
	require.True(t, s.anew(ErrNoQuorum))
}
