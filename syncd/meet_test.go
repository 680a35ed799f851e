package syncd_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
	"pairwalk/syncd"
)

func TestTwoLogsBecomeOne(t *testing.T) {
	for name, row := range map[string]struct{ a, b [][]seal.Verified }{
		"one has all":                             {feeds(1, 3, 7), nil},
		"each has its own":                        {feeds(1, 2, 5), feeds(20, 3, 9)},
		"one is behind in each":                   {[][]seal.Verified{feed(1, 9), feed(2, 3)}, [][]seal.Verified{feed(1, 4), feed(2, 8)}},
		"more feeds than are asked for at a time": {feeds(1, 12, 3), feeds(50, 12, 3)},
		"a feed of many replies":                  {feeds(1, 1, 600), nil},
		"nothing anywhere":                        {nil, nil},
	} {
		t.Run(name, func(t *testing.T) {
			a, b := newMember(t, 1).holds(row.a...), newMember(t, 2).holds(row.b...)
			require.Empty(t, a.meets(b.peer()).complaints)
			require.Empty(t, b.meets(a.peer()).complaints)
			requireOne(t, a, b)
			again, back := a.meets(b.peer()), b.meets(a.peer())
			require.Zero(t, again.requests+back.requests, "a second time nothing is asked")
			for _, m := range []*member{a, b} {
				requireOnce(t, m)
			}
			require.True(t, a.x.Towards(b.key).Same)
		})
	}
}

func TestEntriesReachThoseWhoNeverMeetTheirAuthor(t *testing.T) {
	a, b, c := newMember(t, 1).holds(feed(1, 9)), newMember(t, 2), newMember(t, 3).holds(feed(2, 5))
	for _, pair := range [][2]*member{{b, a}, {b, c}, {c, b}, {a, b}} {
		require.Empty(t, pair[0].meets(pair[1].peer()).complaints)
	}
	requireOne(t, a, b, c)
}

func TestStandingBeforeAndAfterAMeeting(t *testing.T) {
	a, b := newMember(t, 1).holds(feed(1, 9), feed(2, 4)), newMember(t, 2).holds(feed(1, 6), feed(3, 5))
	require.Equal(t, syncd.Standing{}, a.x.Towards(b.key))
	a.hears(b.peer())
	require.Equal(t, syncd.Standing{Heard: true, Want: 5, Lack: 7}, a.x.Towards(b.key))
	a.asks(b.peer())
	require.Equal(t, syncd.Standing{Heard: true, Lack: 7}, a.x.Towards(b.key))
	b.meets(a.peer())
	a.meets(b.peer())
	require.Equal(t, syncd.Standing{Heard: true, Same: true}, a.x.Towards(b.key))
}

// What a peer tells unasked is taken in like the rest, once it was heard.
func TestTipsThatGrew(t *testing.T) {
	author, lines := joined(1)
	b := newMember(t, 2).holds(lines)
	before := b.have()
	a := newMember(t, 1)
	a.x.Grown(b.key, before)
	require.Empty(t, a.x.Asks(), "nobody said yet what it has")
	a.meets(b.peer())
	b.holds(remarks(author, 3, "more"))
	a.x.Grown(b.key, b.have().Since(before))
	require.Equal(t, 3, a.asks(b.peer()).fresh)
	requireOne(t, a, b)
}

// Two members have the same feeds, each less of one half. Whoever is asked, and
// in whatever order they answer, no line comes twice.
func TestAFeedIsGoneOnWithAtAnotherPeer(t *testing.T) {
	whole := feeds(1, 12, 40)
	var begun, some, rest [][]seal.Verified
	for i, lines := range whole {
		begun = append(begun, lines[:2])
		some, rest = append(some, lines[:20+20*(i%2)]), append(rest, lines[:40-20*(i%2)])
	}
	for name, order := range map[string]func(n int) int{
		"first asked, first answered": func(int) int { return 0 },
		"last asked, first answered":  func(n int) int { return n - 1 },
		"in the middle":               func(n int) int { return n / 2 },
	} {
		t.Run(name, func(t *testing.T) {
			a, b, c := newMember(t, 1).holds(begun...), newMember(t, 2).holds(some...), newMember(t, 3).holds(rest...)
			a.pick = order
			require.Empty(t, a.meets(b.peer(), c.peer()).complaints)
			requireOne(t, a, newMember(t, 4).holds(whole...))
			requireOnce(t, a)
		})
	}
}

func TestALongLineComesAllTheSame(t *testing.T) {
	author, lines := joined(1)
	lines = append(lines, author.Note("before"), long(author, seal.MaxLine), author.Note("after"))
	require.Greater(t, len(lines[3].Line()), seal.MaxLine-200)
	b := newMember(t, 2).holds(lines)
	reply := b.peer().answer(syncd.Pull{Tip: lines[4].Ref(), From: 4, Prev: lines[2].Hash().Short(), Max: 1}.Encode())
	require.Contains(t, string(reply), string(lines[3].Line()))
	require.NotContains(t, string(reply), string(lines[4].Line()))
	a := newMember(t, 1)
	require.Empty(t, a.meets(b.peer()).complaints)
	requireOne(t, a, b)
}

// No reply has more bytes of lines than was asked for, or than MaxReply; one
// line comes in any case.
func TestRepliesKeepToWhatWasAskedFor(t *testing.T) {
	lines := feed(1, 900)
	b := newMember(t, 2).holds(lines)
	for _, most := range []int{0, 1, len(lines[0].Line()) + 1, 5000, syncd.MaxReply, 1 << 40} {
		ask := syncd.Ask{Pull: syncd.Pull{Tip: lines[899].Ref(), From: 1, Max: most}}
		batch := syncd.OpenReply(journaltest.Site(), ask, b.peer().answer(ask.Pull.Encode()))
		size := 0
		require.Len(t, batch.Runs, 1)
		for _, v := range batch.Runs[0].Lines {
			size += len(v.Line()) + 1
		}
		next := len(lines[batch.Lines()].Line()) + 1
		if batch.Lines() > 1 {
			require.LessOrEqual(t, size, min(most, syncd.MaxReply))
		}
		require.Greater(t, size+next, min(most, syncd.MaxReply), "and as many as fit")
	}
}

// An exchange that breaks off after any number of replies goes on with a new
// one: what was kept does not come again.
func TestBrokenOffAnywhere(t *testing.T) {
	sources := feeds(1, 5, 6)
	author, lines := joined(40)
	for range 5 { // and one of lines so long that they take many replies
		lines = append(lines, long(author, 60_000))
	}
	sources = append(sources, lines)
	b := newMember(t, 2).holds(sources...)
	rapid.Check(t, func(t *rapid.T) {
		a := newMember(t, 1)
		for again := true; again; {
			a.restart()
			have, err := syncd.DecodeHave(b.have().Encode())
			require.NoError(t, err)
			a.x.Hear(b.key, have)
			again = rapid.Bool().Draw(t, "breaks off")
			left := rapid.IntRange(1, 12).Draw(t, "after")
			for open := a.x.Asks(); len(open) > 0 && (left > 0 || !again); left-- {
				i := rapid.IntRange(0, len(open)-1).Draw(t, "next")
				held := a.have()
				_, err := a.answered(open[i], b.peer().answer(open[i].Pull.Encode()))
				require.NoError(t, err)
				require.NotEqual(t, held, a.have(), "every reply brings something")
				open = append(slices.Delete(open, i, i+1), a.x.Asks()...)
				requireLimits(t, open)
			}
		}
		requireOne(t, a, b)
		requireOnce(t, a)
	})
}

// An ask that nothing came of, or whose peer left, may be put to another at
// once; a reply after that changes nothing.
func TestUnansweredAndLeftFreeTheFeed(t *testing.T) {
	lines := feed(1, 9)
	for name, gone := range map[string]func(x *syncd.Exchange, ask syncd.Ask){
		"unanswered": func(x *syncd.Exchange, ask syncd.Ask) { x.Unanswered(ask.ID) },
		"left":       func(x *syncd.Exchange, ask syncd.Ask) { x.Left(ask.Peer) },
	} {
		t.Run(name, func(t *testing.T) {
			a, b, c := newMember(t, 1), newMember(t, 2).holds(lines), newMember(t, 3).holds(lines)
			peers := map[events.Key]peer{b.key: b.peer(), c.key: c.peer()}
			a.hears(b.peer(), c.peer())
			first := a.x.Asks()
			require.Len(t, first, 1, "one feed is asked of one peer")
			gone(a.x, first[0])
			second := a.x.Asks()
			require.Len(t, second, 1)
			require.NotEqual(t, first[0].Peer, second[0].Peer)
			gone(a.x, first[0])
			require.Empty(t, a.x.Asks(), "going twice frees nothing of another's")

			late := peers[first[0].Peer].answer(first[0].Pull.Encode())
			_, err := a.answered(first[0], late)
			require.NoError(t, err)
			require.Empty(t, a.x.Asks(), "a late reply ends nobody else's ask")
			_, err = a.answered(second[0], peers[second[0].Peer].answer(second[0].Pull.Encode()))
			require.NoError(t, err)
			require.Empty(t, a.meets(peers[second[0].Peer]).complaints)
			requireOne(t, a, b)
		})
	}
}

// Who did not answer is passed over until its next have, and asked then.
func TestUnansweredIsAskedAgain(t *testing.T) {
	a, b := newMember(t, 1), newMember(t, 2).holds(feed(1, 9))
	a.hears(b.peer())
	a.x.Unanswered(a.x.Asks()[0].ID)
	require.Empty(t, a.x.Asks())
	require.Zero(t, a.x.Towards(b.key).Complaints, "silence is no lie")
	require.Empty(t, a.meets(b.peer()).complaints)
	requireOne(t, a, b)
}
