package syncd_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
	"pairwalk/syncd"
)

// brief is a peer whose replies hold at most so many bytes of lines, but for those
// that show who is a member.
func (p peer) brief(t tester, most int) peer {
	whole := p.answer
	p.answer = func(request []byte) []byte {
		pull, err := syncd.DecodePull(request)
		require.NoError(t, err)
		if pull.To == 0 {
			pull.Max = min(pull.Max, most)
		}
		return whole(pull.Encode())
	}
	return p
}

func always() bool { return true }

// Whoever asks on before what has come is kept ends with the same lines as who does
// not, blames nobody, and fetches nothing twice.
func TestAskingAheadComesToTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		members := []*member{newMember(t, 1), newMember(t, 2), newMember(t, 3)}
		all := newMember(t, 9)
		holes := rapid.Bool().Draw(t, "with holes")
		forked := false
		for seed := range uint64(2) {
			branches := drawBranches(t, seed)
			forked = forked || len(branches) > 1
			for _, branch := range branches {
				reach, missing := shareOut(t, members, branch, holes && len(branches) == 1)
				all.lacks(branch[:reach], missing...)
			}
		}
		for _, m := range members {
			m.ahead = func() bool { return rapid.Bool().Draw(t, "asks on") }
			m.pick = func(n int) int { return rapid.IntRange(0, n-1).Draw(t, "answered next") }
		}
		most := rapid.SampledFrom([]int{600, 1500, 4000}).Draw(t, "bytes of a reply")
		for asked, round := 1, 0; asked > 0; round++ {
			asked = 0
			for i, m := range members {
				w := m.meets(members[(i+1)%3].peer().brief(t, most), members[(i+2)%3].peer().brief(t, most))
				require.Empty(t, w.complaints)
				asked += w.requests
			}
			require.Less(t, round, 40, "meetings without end")
		}
		requireAll(t, members, all)
		if !forked && !holes {
			for _, m := range members {
				requireOnce(t, m)
			}
		}
	})
}

// A long feed is asked for further while replies wait to be kept, and no further
// than the bounds.
func TestAFeedIsAskedForAhead(t *testing.T) {
	lines := feed(1, 60)
	a, b := newMember(t, 1), newMember(t, 2).holds(lines)
	a.fold(lines[:2])
	a.ahead = always
	w := a.meets(b.peer().brief(t, 1500))
	require.Equal(t, syncd.MaxInFlight, w.most)
	requireOne(t, a, b)
	requireOnce(t, a)

	a = newMember(t, 3)
	a.fold(lines[:2])
	for seed := range uint64(9) {
		more := feeds(20+seed, 1, 40)[0]
		b.holds(more)
		a.fold(more[:2])
	}
	a.ahead = always
	filled := b.peer().brief(t, 1500)
	few := filled.answer
	filled.answer = func(request []byte) []byte { // spaces are no lines, but they are bytes that wait
		head, body, _ := bytes.Cut(few(request), []byte{'\n'})
		return bytes.Join([][]byte{head, bytes.Repeat([]byte{' '}, syncd.MaxReply), body}, []byte{'\n'})
	}
	a.hears(filled)
	bytesHere := 0
	for asks := a.x.Asks(); len(asks) > 0; asks = a.x.Asks() {
		for _, ask := range asks {
			reply := filled.answer(ask.Pull.Encode())
			bytesHere += len(reply)
			a.x.Came(ask.ID, reply)
		}
		require.LessOrEqual(t, bytesHere, syncd.MaxAhead+syncd.MaxInFlight*syncd.MaxReply)
	}
}

// forged is a reply whose last line is as it should be, and one before it is not.
func forged(_ syncd.Pull, honest []byte) []byte {
	if at := bytes.Index(honest, []byte("remark 2\"")); at >= 0 {
		honest = bytes.Clone(honest)
		honest[at] = 'R'
	}
	return honest
}

// A liar whose lie is found out late is asked on meanwhile, a little; none of what
// builds on the lie is kept, it is complained of once, and others are asked.
func TestALieFoundOutLate(t *testing.T) {
	lines := feed(1, 60)
	a, honest := newMember(t, 1), newMember(t, 3).holds(lines)
	a.fold(lines[:2])
	a.ahead = always
	liar := lies(newMember(t, 2).holds(lines), forged).brief(t, 3000)
	w := a.meets(liar)
	require.Equal(t, []string{"sent lines that nobody signed"}, w.complaints)
	require.LessOrEqual(t, w.requests, syncd.MaxInFlight)
	require.Less(t, len(texts(a)), 10)
	w = a.meets(liar, honest.peer().brief(t, 3000))
	require.Empty(t, w.complaints)
	requireOne(t, a, honest)
}

// Where what came could not be kept, through no fault of the peer, nobody is blamed
// for what was to follow it, and all of it is asked for again.
func TestNobodyIsBlamedForWhatFollowsALoss(t *testing.T) {
	lines := feed(1, 60)
	a, b := newMember(t, 1), newMember(t, 2).holds(lines)
	a.fold(lines[:2])
	p := b.peer().brief(t, 1500)
	a.hears(p)
	var here []arrival
	for range 3 {
		asks := a.x.Asks()
		require.Len(t, asks, 1)
		reply := p.answer(asks[0].Pull.Encode())
		a.x.Came(asks[0].ID, reply)
		here = append(here, arrival{asks[0], reply})
	}
	var w traffic
	a.keeps(here[0], &w)
	a.x.Unanswered(here[1].ask.ID)
	a.keeps(here[2], &w)
	require.Empty(t, w.complaints)
	require.Equal(t, 60-w.fresh, a.x.Towards(b.key).Want)
	require.Empty(t, a.x.Asks(), "it is passed over for the next of its haves")
	a.meets(p)
	requireOne(t, a, b)
}

// What has come from who is gone may be kept still, and is not asked for again.
func TestWhatCameOfOneWhoLeft(t *testing.T) {
	lines := feed(1, 30)
	a, b, c := newMember(t, 1), newMember(t, 2).holds(lines), newMember(t, 3).holds(lines)
	a.fold(lines[:2])
	p := b.peer().brief(t, 1500)
	a.hears(p, c.peer())
	ask := a.x.Asks()[0]
	reply := p.answer(ask.Pull.Encode())
	a.x.Came(ask.ID, reply)
	a.x.Left(b.key)
	a.x.Came(ask.ID, reply)
	var w traffic
	a.keeps(arrival{ask, reply}, &w)
	require.Positive(t, w.fresh)
	a.asks(c.peer())
	requireOne(t, a, c)
	requireOnce(t, a)
}

// Glances that make no sense lead to no further ask.
func TestAReplyThatLeadsNowhere(t *testing.T) {
	lines, others := feed(1, 30), feed(2, 30)
	for name, reply := range map[string]func(syncd.Pull) []byte{
		"nothing":       func(syncd.Pull) []byte { return nil },
		"no lines":      func(p syncd.Pull) []byte { return lineReply(p) },
		"noise":         func(syncd.Pull) []byte { return noise(900) },
		"another feed":  func(p syncd.Pull) []byte { return lineReply(p, others[2:9]...) },
		"earlier lines": func(p syncd.Pull) []byte { return lineReply(p, lines[:1]...) },
		"the last line": func(p syncd.Pull) []byte { return lineReply(p, lines[29]) },
		"another's end": func(p syncd.Pull) []byte { return append(lineReply(p, lines[2:9]...), '\n') },
	} {
		t.Run(name, func(t *testing.T) {
			a, b := newMember(t, 1).holds([][]seal.Verified{lines[:2]}...), newMember(t, 2).holds(lines)
			a.hears(b.peer())
			asks := a.x.Asks()
			require.Len(t, asks, 1)
			a.x.Came(asks[0].ID, reply(asks[0].Pull))
			require.Empty(t, a.x.Asks())
		})
	}
}

// The door has not let in what was only glanced at.
func TestAGlanceOpensNothing(t *testing.T) {
	v := journaltest.NewAuthor(1).Start()
	changed := bytes.Replace(v.Line(), []byte("feed.started"), []byte("feed.sharted"), 1)
	ref, err := seal.Glance(changed)
	require.NoError(t, err)
	require.NotEqual(t, v.Ref(), ref)
	_, err = seal.Open(changed)
	require.ErrorIs(t, err, seal.ErrSignature)
	_, err = seal.Glance(changed[1:])
	require.Error(t, err)
	require.Equal(t, events.Seq(1), ref.Seq)
}

// numbered counts how often its tips are looked at.
type numbered struct {
	syncd.Log
	times int
}

func (n *numbered) Tips() []events.Ref {
	n.times++
	return n.Log.Tips()
}

// However many peers there are, and feeds that they have more of, it is looked once
// what is here; and not at all while no more may be asked for.
func TestWhatIsHereIsLookedAtOnceForAllPeers(t *testing.T) {
	a, b := newMember(t, 1), newMember(t, 2)
	for seed := range uint64(20) {
		lines := feed(seed+1, 400)
		a.holds(lines[:2])
		b.holds(lines)
	}
	log := &numbered{Log: a.log}
	x := syncd.NewExchange(journaltest.Site(), log, a.proven)
	for name := range uint64(50) {
		x.Hear(busKey(10+name), b.have())
	}
	asks := x.Asks()
	require.Len(t, asks, 20)
	require.Equal(t, 1, log.times)
	for _, ask := range asks {
		x.Came(ask.ID, b.peer().answer(ask.Pull.Encode()))
	}
	log.times = 0
	require.Empty(t, x.Asks())
	require.Zero(t, log.times)
}
