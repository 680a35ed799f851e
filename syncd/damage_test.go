package syncd_test

import (
	"bytes"
	"errors"
	"iter"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/seal"
	"pairwalk/syncd"
)

// unproved makes a member forget whose joins it holds, as one whose line was
// damaged does.
func (m *member) unproved() *member {
	clear(m.joined)
	return m
}

// The line that proves its author a member is mended like any other, though
// nothing proves them then.
func TestADamagedJoinIsMended(t *testing.T) {
	lines := feed(1, 20)
	a, b := newMember(t, 1).lacks(lines, 2).unproved(), newMember(t, 2).holds(lines)
	require.Empty(t, a.meets(b.peer()).complaints)
	require.Empty(t, a.log.Holes())
	requireOne(t, a, b)
	requireOnce(t, a)
}

// A feed of which the join was not shown is looked into again: it may be damaged
// there, or withheld, and be shown later.
func TestAFeedWhoseJoinWasNotShownIsLookedIntoAgain(t *testing.T) {
	lines := feed(1, 20)
	a, b, whole := newMember(t, 1), newMember(t, 2).lacks(lines, 2), newMember(t, 3).holds(lines)
	for range 3 {
		require.Zero(t, a.meets(b.peer()).fresh, "whose feed it is can't be seen")
	}
	b.meets(whole.peer())
	require.Empty(t, b.log.Holes())
	require.Empty(t, a.meets(b.peer()).complaints)
	requireOne(t, a, b)
}

// frail is a feed in which the signature of one line is damaged, as the line after
// it proves all the same.
func frail(t *testing.T, lines []seal.Verified, at events.Seq) []seal.Verified {
	bent := bytes.Clone(lines[at-1].Line())
	sig := bytes.LastIndex(bent, []byte(`"sig":"`)) + 20
	if bent[sig]++; bent[sig] == 'z'+1 {
		bent[sig] = 'a'
	}
	run, err := seal.OpenRun([][]byte{bent, lines[at].Line()})
	require.NoError(t, err)
	require.Error(t, run[0].CheckSignature())
	out := append(append([]seal.Verified{}, lines[:at-1]...), run...)
	return append(out, lines[at+1:]...)
}

// A reply ends in a line that proves itself; and what only the next line proves is
// mended from such a copy too.
func TestALineThatOnlyTheNextProves(t *testing.T) {
	lines := feed(1, 20)
	a, b := newMember(t, 1).lacks(lines, 9), newMember(t, 2).holds(frail(t, lines, 9))
	for range 3 {
		require.Empty(t, a.meets(b.peer()).complaints, "b did no wrong")
	}
	require.Empty(t, a.log.Holes())
	require.True(t, a.log.Holds(lines[8].Ref()))

	tip := lines[19].Ref()
	ask := syncd.Ask{Pull: syncd.Pull{Tip: tip, From: 5, To: 9, Max: syncd.MaxReply}}
	got := syncd.OpenReply(lines[0].Header().Site, ask, syncd.Answer(b.log, b.proven, ask.Pull.Encode(), nil))
	require.Equal(t, 4, got.Lines(), "line 9 is left out where nothing after it vouches for it")
}

// rotten is a log whose disk no longer gives back one line.
type rotten struct {
	syncd.Log
	at events.Seq
}

func (r rotten) Descent(of events.Ref, from events.Seq) iter.Seq2[seal.Verified, error] {
	return func(yield func(seal.Verified, error) bool) {
		for v, err := range r.Log.Descent(of, from) {
			if v.Seq() == r.at {
				v, err = seal.Verified{}, errors.New("the disk is going bad")
			}
			if !yield(v, err) {
				return
			}
		}
	}
}

func (r rotten) Copies(of events.Ref, from events.Seq) iter.Seq2[events.Seq, []byte] {
	return func(yield func(events.Seq, []byte) bool) {
		for q, line := range r.Log.Copies(of, from) {
			if q != r.at && !yield(q, line) {
				return
			}
		}
	}
}

// A line that a disk does not give back is left out of a reply, as one that was
// damaged when the log was opened; those after it are sent, and what stands before
// the first one asked for is known from it.
func TestALineThatTheDiskDoesNotGiveBack(t *testing.T) {
	lines := feed(1, 20)
	b := newMember(t, 2).holds(lines)
	log := rotten{b.log, 9}
	ask := syncd.Ask{Pull: syncd.Pull{Tip: lines[19].Ref(), From: 5, Max: syncd.MaxReply}}
	got := syncd.OpenReply(lines[0].Header().Site, ask, syncd.Answer(log, b.proven, ask.Pull.Encode(), nil))
	require.Equal(t, 15, got.Lines())

	ask.Pull.From, ask.Pull.Prev = 10, lines[8].Hash().Short()
	got = syncd.OpenReply(lines[0].Header().Site, ask, syncd.Answer(log, b.proven, ask.Pull.Encode(), nil))
	require.Equal(t, 11, got.Lines(), "line 10 says which one it follows")
	ask.Pull.Prev = lines[7].Hash().Short()
	got = syncd.OpenReply(lines[0].Header().Site, ask, syncd.Answer(log, b.proven, ask.Pull.Encode(), nil))
	require.Zero(t, got.Lines(), "not the line that the asker stands on")

	a := newMember(t, 1)
	peer := b.peer()
	peer.answer = func(request []byte) []byte { return syncd.Answer(log, b.proven, request, nil) }
	require.Empty(t, a.meets(peer).complaints)
	require.Equal(t, 9, int(a.log.Holes()[lines[0].Feed()][0].Seq))
	require.True(t, a.log.Holds(lines[19].Ref()))
	require.Empty(t, a.meets(b.peer()).complaints)
	requireOne(t, a, b)
}
