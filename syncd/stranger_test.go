package syncd_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
	"pairwalk/syncd"
)

// passes on a stranger's lines as if they were a member's.
func (m *member) passes(lines ...[]seal.Verified) *member {
	for _, ls := range lines {
		m.holds(ls)
		m.joined[ls[0].Feed().Key()] = true
	}
	return m
}

func TestWhoseFeedIsTaken(t *testing.T) {
	late := func(n int) []seal.Verified { // the join is line n
		a := journaltest.NewAuthor(11)
		return append(append(a.Notes(n-1), a.Say(join(a))), remarks(a, 5, "more")...)
	}
	bent := func(change func(p *events.MemberJoined)) []seal.Verified {
		a := journaltest.NewAuthor(11)
		p := join(a)
		change(&p)
		return append([]seal.Verified{a.Start(), a.Say(p)}, remarks(a, 5, "more")...)
	}
	other := join(journaltest.NewAuthor(77))
	for name, row := range map[string]struct {
		lines []seal.Verified
		taken bool
	}{
		"a join in line 1":                {late(1), true},
		"a join in line 2":                {late(2), true},
		"a join in line 3":                {late(3), true},
		"a join in line 4":                {late(4), true},
		"a join in line 5":                {late(5), false},
		"no join":                         {journaltest.NewAuthor(11).Notes(8), false},
		"one line":                        {journaltest.NewAuthor(11).Notes(1), false},
		"a join of somebody else":         {bent(func(p *events.MemberJoined) { *p = other }), false},
		"a join under another root":       {bent(func(p *events.MemberJoined) { p.Root = p.Key }), false},
		"a join in a role not granted":    {bent(func(p *events.MemberJoined) { p.Role = events.Tech }), false},
		"a proof that is somebody else's": {bent(func(p *events.MemberJoined) { p.Proof = other.Proof }), false},
	} {
		t.Run(name, func(t *testing.T) {
			good := feed(5, 10)
			a, b := newMember(t, 1), newMember(t, 2).passes(row.lines).holds(good)
			w := a.meets(b.peer())
			require.Empty(t, w.complaints)
			require.Equal(t, row.taken, a.log.Holds(row.lines[0].Ref()))
			require.Equal(t, row.taken, a.x.Towards(b.key).Strangers == 0)
			require.True(t, a.log.Holds(good[9].Ref()), "others are not held up")
			require.Zero(t, a.meets(b.peer()).requests, "a stranger is looked into once")
			if !row.taken {
				a.passes(row.lines[:1]) // as if by a bundle of an earlier version
				a.joined[row.lines[0].Feed().Key()] = false
				require.Equal(t, newMember(t, 3).holds(good).have(), a.have(), "and not passed on")
			}
		})
	}
}

// A feed of a key whose join is held needs no join of its own.
func TestAMembersSecondFeed(t *testing.T) {
	author, lines := joined(1)
	second := author.Anew(1).Notes(9)
	a, b := newMember(t, 1), newMember(t, 2).holds(lines, second)
	w := a.meets(b.peer())
	require.Empty(t, w.complaints)
	requireOne(t, a, b)
	require.Zero(t, a.x.Towards(b.key).Strangers, "whichever was looked into first")
}

// Whoever names a stranger can be right: once the join comes from elsewhere, the
// feed is taken.
func TestAStrangerWhoseJoinIsFoundElsewhere(t *testing.T) {
	author, lines := joined(1)
	second := author.Anew(1).Notes(9)
	b := newMember(t, 2).passes(second)
	a := newMember(t, 1)
	a.meets(b.peer())
	require.Equal(t, 1, a.x.Towards(b.key).Strangers)
	require.Empty(t, a.log.Heads())
	require.Equal(t, 2+9, a.meets(newMember(t, 3).holds(lines).peer(), b.peer()).fresh)
	require.Zero(t, a.x.Towards(b.key).Strangers)
}

// crowd is a peer with so many feeds of nobody's, beside what it holds. It
// hands over the first line of each.
func crowd(m *member, n int) peer {
	authors := map[events.FeedID]*journaltest.Author{}
	for i := range uint64(min(n, 70)) {
		a := journaltest.NewAuthor(5000 + i)
		for more := i; more < uint64(n); more += 70 {
			b := a.Anew(more)
			authors[b.Feed] = b
		}
	}
	p := m.peer()
	honest := p.answer
	p.have = func() []byte {
		have := m.have()
		for feed := range authors {
			have.Tips = append(have.Tips, events.Ref{Feed: feed, Seq: 1, Hash: events.Hash8{1}})
		}
		return have.Encode()
	}
	p.answer = func(request []byte) []byte {
		pull, err := syncd.DecodePull(request)
		require.NoError(m.t, err)
		if a := authors[pull.Tip.Feed]; a != nil {
			return lineReply(pull, a.Twin().Start())
		}
		return honest(request)
	}
	return p
}

// lineReply is a reply of these lines.
func lineReply(pull syncd.Pull, lines ...seal.Verified) []byte {
	reply := fmt.Appendf(nil, `{"v":1,"feed":%q,"is":"lines"}`, pull.Tip.Feed)
	for _, v := range lines {
		reply = append(append(reply, '\n'), v.Line()...)
	}
	return reply
}

func TestACrowdOfStrangers(t *testing.T) {
	for _, n := range []int{63, 64, syncd.MaxTips - 2} {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			known, other := feed(1, 12), feed(2, 30)
			a := newMember(t, 1).holds(known[:2])
			b, honest := crowd(newMember(t, 2).holds(known), n), newMember(t, 3).holds(other)
			total := traffic{}
			for range 4 {
				w := a.meets(b, honest.peer())
				total.requests += w.of[b.key]
				total.complaints = append(total.complaints, w.complaints...)
			}
			require.LessOrEqual(t, total.requests, 64+syncd.MaxInFlight)
			require.True(t, a.log.Holds(known[11].Ref()), "what a member said comes from it too")
			require.True(t, a.log.Holds(other[29].Ref()), "others are not held up")
			require.Len(t, a.log.Heads(), 2, "nothing of strangers is kept")
			require.InDelta(t, min(n, 66), a.x.Towards(b.key).Strangers, 2, "those in flight come on top of 64")
			if n < 64 {
				require.Empty(t, total.complaints)
				return
			}
			require.Equal(t, []string{"names feeds that are no member's"}, total.complaints)
			require.Equal(t, total.complaints[0], a.x.Towards(b.key).Why)
		})
	}
}

func TestTenThousandFeedsAreNoHave(t *testing.T) {
	_, err := syncd.DecodeHave(crowd(newMember(t, 2), 10_000).have())
	require.ErrorContains(t, err, "too many")
}

// A member whose device makes feed after feed fills nobody's disk.
func TestAMemberWithAThousandFeeds(t *testing.T) {
	author, lines := joined(1)
	b := newMember(t, 2).holds(lines)
	var more []seal.Verified
	for i := range uint64(1000) {
		more = append(more, author.Anew(1+i).Start())
	}
	b.holds(more, feed(2, 20))
	a := newMember(t, 1)
	for _, already := range []int{0, syncd.MaxFeeds - 2} { // that many are here before
		a = newMember(t, 1).holds(lines, more[:already])
		for range 3 {
			require.Empty(t, a.meets(b.peer()).complaints)
		}
		require.Equal(t, syncd.MaxFeeds+1, len(a.log.Heads()), "and the other member's")
		require.Zero(t, a.meets(b.peer()).requests)
	}

	ahead := author.Anew(2)
	ahead.Notes(1)
	grown := newMember(t, 3).holds(lines, append(author.Anew(2).Notes(1), ahead.Note("more")))
	held := a.log.Heads()[ahead.Feed].Seq > 0
	w := a.meets(grown.peer())
	require.Equal(t, held, w.fresh == 1, "the feeds that are here go on")
}

// What is missing of a stranger's feed is not told, and not asked for.
func TestHolesOfAStrangersFeed(t *testing.T) {
	lines := journaltest.NewAuthor(50).Notes(9)
	a := newMember(t, 1).holds(feed(1, 3)).lacks(lines, 5)
	have, err := syncd.DecodeHave(a.have().Encode())
	require.NoError(t, err)
	require.Empty(t, have.Holes)
	b := newMember(t, 3).passes(lines).holds(feed(1, 3))
	require.Zero(t, a.meets(b.peer()).requests)
}
