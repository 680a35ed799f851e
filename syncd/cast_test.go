package syncd_test

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"crypto/ed25519"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
	"pairwalk/syncd"
)

var ctx = context.Background()

// tester is a test, or one try of a property.
type tester interface {
	require.TestingT
	Helper()
}

// member is a log on a journal, those whose join it holds, and its side of the
// exchange. It keeps what replies bring as syncd/member does.
type member struct {
	t      tester
	key    events.Key // bus key
	log    *journal.Journal
	joined map[events.Key]bool
	x      *syncd.Exchange
	came   map[events.Ref]int // how often each line came in a reply
	pick   func(n int) int    // which of n open requests is answered next
	limit  int                // requests of one story
	ahead  func() bool        // whether to ask on before a reply that is here is kept; nil for never
}

func newMember(t tester, name uint64) *member {
	t.Helper()
	minutes := events.Seq(0)
	clock := journaltest.NewAuthor(900 + name)
	now := func() events.Stamp { minutes++; return clock.Stamp(minutes) }
	log, err := journal.Open(journal.Memory(), journal.Memory(), journaltest.Site(), journal.Env{Now: now})
	require.NoError(t, err)
	m := &member{
		t: t, key: busKey(name), log: log, joined: map[events.Key]bool{}, came: map[events.Ref]int{},
		pick: func(int) int { return 0 }, limit: 3000,
	}
	m.restart()
	return m
}

func busKey(name uint64) events.Key {
	return events.KeyOf(journaltest.NewAuthor(900 + name).Key.Public().(ed25519.PublicKey))
}

// restart begins the exchange afresh, as after a break.
func (m *member) restart() {
	m.x = syncd.NewExchange(journaltest.Site(), m.log, m.proven)
}

func (m *member) proven(key events.Key) bool { return m.joined[key] }

// holds puts lines into the log, by whatever way.
func (m *member) holds(lines ...[]seal.Verified) *member {
	m.t.Helper()
	for _, ls := range lines {
		_, err := m.log.Take(ctx, ls)
		require.NoError(m.t, err)
		m.fold(ls)
	}
	return m
}

// lacks puts lines into the log, with holes at those numbers.
func (m *member) lacks(lines []seal.Verified, holes ...events.Seq) *member {
	m.t.Helper()
	for i, v := range lines {
		var err error
		switch {
		case slices.Contains(holes, v.Seq()):
			continue
		case i > 0 && slices.Contains(holes, v.Seq()-1):
			_, err = m.log.TakeHole(ctx, v.Feed(), lines[i-1].Head(), v)
		default:
			_, err = m.log.Take(ctx, []seal.Verified{v})
		}
		require.NoError(m.t, err)
	}
	m.fold(lines)
	return m
}

func (m *member) fold(lines []seal.Verified) {
	for _, v := range lines {
		e := v.Event()
		if p, ok := e.Payload.(events.MemberJoined); ok && p.Proven(journaltest.Site(), e.Feed) == nil {
			m.joined[p.Key] = true
		}
	}
}

func (m *member) have() syncd.Have { return syncd.HaveOf(m.log, m.proven) }

// peer is whoever can be heard and asked.
type peer struct {
	key    events.Key
	have   func() []byte
	answer func(request []byte) []byte
}

func (m *member) peer() peer {
	return peer{m.key,
		func() []byte { return m.have().Encode() },
		func(request []byte) []byte { return syncd.Answer(m.log, m.proven, request, nil) }}
}

// hears takes in what a peer says it has.
func (m *member) hears(peers ...peer) {
	m.t.Helper()
	for _, p := range peers {
		have, err := syncd.DecodeHave(p.have())
		require.NoError(m.t, err)
		m.x.Hear(p.key, have)
	}
}

// traffic is what went over the wire.
type traffic struct {
	requests, bytes, fresh int
	most                   int                // replies here and not kept yet, at a time
	of                     map[events.Key]int // requests to each peer
	complaints             []string
}

// asks sends requests and takes in replies until nothing is wanted of these
// peers, one reply at a time, and holds every request to the limits.
func (m *member) asks(peers ...peer) traffic {
	m.t.Helper()
	w := traffic{of: map[events.Key]int{}}
	var open []syncd.Ask
	var here []arrival
	for {
		open = append(open, m.x.Asks()...)
		requireLimits(m.t, open)
		if len(here) > 0 && (len(open) == 0 || !m.ahead()) {
			m.keeps(here[0], &w)
			here = here[1:]
			continue
		}
		if len(open) == 0 {
			return w
		}
		i := m.pick(len(open))
		ask := open[i]
		open = slices.Delete(open, i, i+1)
		at := slices.IndexFunc(peers, func(p peer) bool { return p.key == ask.Peer })
		require.GreaterOrEqual(m.t, at, 0, "asks somebody who is not there")
		request := ask.Pull.Encode()
		reply := peers[at].answer(request)
		w.requests, w.of[ask.Peer], w.bytes = w.requests+1, w.of[ask.Peer]+1, w.bytes+len(request)+len(reply)
		require.Less(m.t, w.requests, m.limit, "requests without end")
		if m.ahead == nil {
			m.keeps(arrival{ask, reply}, &w)
			continue
		}
		m.x.Came(ask.ID, reply)
		here = append(here, arrival{ask, reply})
		w.most = max(w.most, len(here))
	}
}

// arrival is a reply that has come.
type arrival struct {
	ask   syncd.Ask
	reply []byte
}

// keeps deals with a reply.
func (m *member) keeps(a arrival, w *traffic) {
	m.t.Helper()
	fresh, err := m.answered(a.ask, a.reply)
	w.fresh += fresh
	if c := (*syncd.Complaint)(nil); errors.As(err, &c) {
		require.Equal(m.t, a.ask.Peer, c.Peer)
		w.complaints = append(w.complaints, c.Why)
	} else {
		require.NoError(m.t, err)
	}
}

// meets hears peers and asks them.
func (m *member) meets(peers ...peer) traffic {
	m.t.Helper()
	m.hears(peers...)
	return m.asks(peers...)
}

// answered keeps what a reply holds.
func (m *member) answered(ask syncd.Ask, reply []byte) (int, error) {
	m.t.Helper()
	batch := syncd.OpenReply(journaltest.Site(), ask, reply)
	fresh := 0
	if !m.x.Stranger(batch) {
		for _, run := range batch.Runs {
			fresh += m.takes(run)
		}
	}
	return fresh, m.x.Took(batch, fresh)
}

// takes keeps a run, after room for what is missing in front of it.
func (m *member) takes(run syncd.Run) (fresh int) {
	m.t.Helper()
	for _, v := range run.Lines {
		m.came[v.Ref()]++
	}
	lines, feed := run.Lines, run.Lines[0].Feed()
	keep := func(taken journal.Taken, err error) bool {
		gap := (*journal.Gap)(nil)
		if !errors.As(err, &gap) && !errors.Is(err, journal.ErrHole) {
			require.NoError(m.t, err)
		}
		m.fold(taken.Fresh)
		fresh += len(taken.Fresh)
		return err == nil
	}
	if run.Hole.Seq > 0 && m.log.Heads()[feed].Seq < run.Hole.Seq {
		if !keep(m.log.TakeHole(ctx, feed, run.Hole, lines[0])) {
			return fresh
		}
		lines = lines[1:]
	}
	keep(m.log.Take(ctx, lines))
	return fresh
}

// requireLimits holds open requests to what one member may ask at a time.
func requireLimits(t tester, open []syncd.Ask) {
	t.Helper()
	of, bytes, feeds := map[events.Key]int{}, map[events.Key]int{}, map[events.FeedID]bool{}
	for _, ask := range open {
		of[ask.Peer]++
		bytes[ask.Peer] += ask.Pull.Max
		require.LessOrEqual(t, of[ask.Peer], syncd.MaxInFlight)
		require.LessOrEqual(t, bytes[ask.Peer], syncd.MaxReply)
		require.False(t, feeds[ask.Pull.Tip.Feed], "one feed is asked for twice at a time")
		feeds[ask.Pull.Tip.Feed] = true
	}
}

// requireOne says that members hold the same lines, byte for byte, and know it.
func requireOne(t tester, members ...*member) {
	t.Helper()
	for _, m := range members[1:] {
		require.True(t, members[0].have().Same(m.have()))
		require.Equal(t, texts(members[0]), texts(m))
	}
}

// requireOnce says that no line came to a member twice.
func requireOnce(t tester, m *member) {
	t.Helper()
	for ref, n := range m.came {
		require.Equal(t, 1, n, "line %d of %s came more than once", ref.Seq, ref.Feed.Short())
	}
}

func texts(m *member) []string {
	var out []string
	for v, err := range m.log.All() {
		require.NoError(m.t, err)
		out = append(out, string(v.Line()))
	}
	slices.Sort(out)
	return out
}

// join is a lead's, proven by the site's root.
func join(a *journaltest.Author) events.MemberJoined {
	public := func(k ed25519.PrivateKey) events.Key { return events.KeyOf(k.Public().(ed25519.PublicKey)) }
	p := events.MemberJoined{
		Name: "somebody", Role: events.Lead, Key: public(a.Key),
		Bus: public(journaltest.NewAuthor(1).Key), Root: public(journaltest.RootKey()),
	}
	p.Proof = events.Sign(journaltest.RootKey(), p.Statement(a.Site))
	return p
}

// joined is an author who began a feed with a proven join, and its lines.
func joined(seed uint64) (*journaltest.Author, []seal.Verified) {
	a := journaltest.NewAuthor(10 + seed)
	return a, []seal.Verified{a.Start(), a.Say(join(a))}
}

// feed is n lines of a member's.
func feed(seed uint64, n int) []seal.Verified {
	a, lines := joined(seed)
	return append(lines, remarks(a, n-len(lines), "remark")...)
}

// feeds are n feeds of as many members.
func feeds(from uint64, n, each int) [][]seal.Verified {
	var out [][]seal.Verified
	for i := range n {
		out = append(out, feed(from+uint64(i), each))
	}
	return out
}

// remarks are n lines more.
func remarks(a *journaltest.Author, n int, text string) []seal.Verified {
	var lines []seal.Verified
	for i := range n {
		lines = append(lines, a.Note(fmt.Sprint(text, " ", i)))
	}
	return lines
}

// long is a line of about so many bytes.
func long(a *journaltest.Author, bytes int) seal.Verified {
	return a.SayRaw("later.kind", fmt.Sprintf(`{"text":"%0*d"}`, bytes-500, 0))
}
