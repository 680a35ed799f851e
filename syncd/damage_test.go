package syncd_test

import (
	"bytes"
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
	got := syncd.OpenReply(lines[0].Header().Site, ask, syncd.Answer(b.log, b.proven, ask.Pull.Encode()))
	require.Equal(t, 4, got.Lines(), "line 9 is left out where nothing after it vouches for it")
}
