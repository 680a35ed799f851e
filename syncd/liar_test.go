package syncd_test

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"fmt"
	"math/bits"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
	"pairwalk/syncd"
)

// lies makes a peer of a member whose replies are changed.
func lies(m *member, lie func(pull syncd.Pull, honest []byte) []byte) peer {
	p := m.peer()
	honest := p.answer
	p.answer = func(request []byte) []byte {
		pull, err := syncd.DecodePull(request)
		require.NoError(m.t, err)
		return lie(pull, honest(request))
	}
	return p
}

// claims makes a peer of a member that says it has that line too.
func claims(m *member, tip events.Ref, lie func(pull syncd.Pull, honest []byte) []byte) peer {
	p := lies(m, lie)
	p.have = func() []byte { return syncd.Have{Tips: append(m.have().Tips, tip)}.Encode() }
	return p
}

func says(is string) func(syncd.Pull, []byte) []byte {
	return func(pull syncd.Pull, _ []byte) []byte {
		return fmt.Appendf(nil, `{"v":1,"feed":%q,"is":%q}`, pull.Tip.Feed, is)
	}
}

func sends(lines ...seal.Verified) func(syncd.Pull, []byte) []byte {
	return func(pull syncd.Pull, _ []byte) []byte { return lineReply(pull, lines...) }
}

func truth(_ syncd.Pull, honest []byte) []byte { return honest }

// noise is bytes without a pattern.
func noise(n int) []byte {
	var b []byte
	for i := 0; len(b) < n; i++ {
		sum := sha256.Sum256(fmt.Appendf(nil, "noise %d", i))
		b = append(b, sum[:]...)
	}
	return b[:n]
}

// A liar is complained of in words that say what it did; it is asked little and
// less and less; what it sends that is not authentic is not kept; an honest peer
// is asked meanwhile; and once the liar makes good, it is a peer like any other.
func TestLiars(t *testing.T) {
	lines, others := feed(1, 12), feed(2, 12)
	tip, far := lines[11].Ref(), lines[11].Ref()
	far.Seq, far.Hash = 1<<53-1, events.Hash8{7}
	near := events.Ref{Feed: tip.Feed, Seq: 14, Hash: events.Hash8{7}}
	liar := func() *member { return newMember(t, 2).holds(lines) }
	withheld := "says it holds entries that it does not hand over"
	for name, row := range map[string]struct {
		peer peer
		why  string
	}{
		"claims a line that nobody can reach": {claims(liar(), far, truth), withheld},
		"claims a line that nobody has":       {claims(liar(), near, truth), withheld},
		"claims such a line, sends others":    {claims(liar(), near, sends(lines[2:]...)), "other entries"},
		"sends another feed":                  {lies(liar(), sends(others[2:]...)), "another feed"},
		"sends another site's lines":          {lies(liar(), sends(abroad(1, 12)[2:]...)), "another feed"},
		"names another feed": {lies(liar(), func(_ syncd.Pull, b []byte) []byte {
			return bytes.Replace(b, []byte(tip.Feed), []byte(others[0].Feed()), 1)
		}), "no reply"},
		"sends lines unsigned":            {lies(liar(), func(p syncd.Pull, _ []byte) []byte { return unsigned(lineReply(p, lines[2:]...)) }), "nobody signed"},
		"sends lines from before":         {lies(liar(), sends(lines...)), "other entries"},
		"sends lines backwards":           {lies(liar(), sends(lines[5], lines[4])), "other entries"},
		"sends a line twice":              {lies(liar(), sends(lines[2], lines[2])), "other entries"},
		"sends more than was asked for":   {lies(liar(), func(_ syncd.Pull, b []byte) []byte { return append(b, make([]byte, syncd.MaxReply)...) }), "bytes where it was asked for"},
		"sends a megabyte of noise":       {lies(liar(), func(syncd.Pull, []byte) []byte { return noise(1 << 20) }), "bytes where it was asked for"},
		"sends noise after a good header": {lies(liar(), func(p syncd.Pull, _ []byte) []byte { return append(append(lineReply(p), '\n'), noise(5000)...) }), "lines that are none"},
		"sends noise":                     {lies(liar(), func(syncd.Pull, []byte) []byte { return noise(5000) }), "no reply"},
		"sends no bytes":                  {lies(liar(), func(syncd.Pull, []byte) []byte { return nil }), "no reply"},
		"breaks off in the header":        {lies(liar(), func(_ syncd.Pull, b []byte) []byte { return b[:40] }), "no reply"},
		"sends no lines":                  {lies(liar(), sends()), withheld},
		"speaks a later version":          {lies(liar(), func(_ syncd.Pull, b []byte) []byte { return bytes.Replace(b, []byte(`"v":1`), []byte(`"v":2`), 1) }), "no reply"},
		"says it diverged, for ever":      {lies(liar(), says("diverged")), withheld},
		"says it knows no such line":      {lies(liar(), says("unknown")), withheld},
		"refuses":                         {lies(liar(), says("refused")), "refuses to answer"},
		"says what nobody says":           {lies(liar(), says("perhaps")), withheld},
	} {
		t.Run(name, func(t *testing.T) {
			a, honest := newMember(t, 1).holds(lines[:2]), newMember(t, 3).holds(others)
			requireBounded(t, a, row.peer, honest.peer(), row.why)
			requireFrom(t, a, lines, others)
			require.True(t, a.log.Holds(others[11].Ref()), "an honest peer is asked meanwhile")

			good := liar()
			for range 64 {
				require.Empty(t, a.meets(good.peer()).complaints)
			}
			require.True(t, a.log.Holds(tip), "who makes good is a peer again")
			good.holds(feed(3, 5))
			require.Equal(t, 5, a.meets(good.peer()).fresh, "like any other")
		})
	}
}

// requireBounded meets a liar and an honest peer a hundred times.
func requireBounded(t *testing.T, a *member, liar, honest peer, why string) {
	t.Helper()
	var met []int
	for have := range 100 {
		w := a.meets(liar, honest)
		require.LessOrEqual(t, w.of[liar.key], 8)
		if w.of[liar.key] > 0 {
			met = append(met, have)
			require.Len(t, w.complaints, 1)
			require.Contains(t, w.complaints[0], why)
		}
	}
	require.Equal(t, []int{0, 2, 6, 14, 30, 62}, met, "it is passed over for 1, 3, 7, … haves")
	s := a.x.Towards(liar.key)
	require.Equal(t, len(met), s.Complaints)
	require.Contains(t, s.Why, why)
	require.False(t, s.Same)
}

// requireFrom says that a member holds nothing but some of these lines.
func requireFrom(t *testing.T, m *member, lines ...[]seal.Verified) {
	t.Helper()
	known := map[string]bool{}
	for _, ls := range lines {
		for _, v := range ls {
			known[string(v.Line())] = true
		}
	}
	for v := range m.log.All() {
		require.True(t, known[string(v.Line())], "%s", v.Line())
	}
}

// abroad is a feed of the same author on another site.
func abroad(seed uint64, n int) []seal.Verified {
	a := journaltest.NewAuthor(10 + seed)
	a.Site = events.SiteID(events.KeyOf(a.Key.Public().(ed25519.PublicKey)))
	return a.Notes(n)
}

// unsigned puts another signature in the place of every line's own.
func unsigned(reply []byte) []byte {
	lines := bytes.Split(reply, []byte{'\n'})
	for i := range lines[1:] {
		line := bytes.Clone(lines[1+i])
		at := bytes.LastIndex(line, []byte(`"sig":"`)) + len(`"sig":"`)
		copy(line[at:], bytes.Repeat([]byte{'A'}, 80))
		lines[1+i] = line
	}
	return bytes.Join(lines, []byte{'\n'})
}

// Whoever lies about feeds not known yet is asked as little; the feed is had from
// an honest peer at the same time, and from the liar once it makes good.
func TestLiarsAboutFeedsNotKnownYet(t *testing.T) {
	lines := feed(1, 12)
	for name, lie := range map[string]func(syncd.Pull, []byte) []byte{
		"no lines":   sends(),
		"unknown":    says("unknown"),
		"diverged":   says("diverged"),
		"refused":    says("refused"),
		"noise":      func(syncd.Pull, []byte) []byte { return noise(999) },
		"others":     sends(feed(2, 4)...),
		"lines on":   sends(lines[4:]...),
		"unsigned":   func(p syncd.Pull, _ []byte) []byte { return unsigned(lineReply(p, lines[:4]...)) },
		"every line": sends(lines...),
	} {
		t.Run(name, func(t *testing.T) {
			a, b := newMember(t, 1), newMember(t, 2).holds(lines)
			w := a.meets(lies(b, lie))
			require.Len(t, w.complaints, 1)
			require.LessOrEqual(t, w.requests, 2)
			c := newMember(t, 3).holds(lines)
			require.Empty(t, a.meets(lies(b, lie), c.peer()).complaints, "it is passed over")
			requireOne(t, a, c)

			a = newMember(t, 1)
			a.meets(lies(b, lie))
			a.meets(b.peer())
			a.meets(b.peer())
			requireOne(t, a, b)
		})
	}
}

// A byte changed anywhere in a line is found, and the lines before it are kept.
func TestAFlippedByteAnywhere(t *testing.T) {
	lines := feed(1, 4)
	ask := syncd.Ask{Pull: syncd.Pull{Tip: lines[3].Ref(), From: 3, Prev: lines[1].Hash().Short(), Max: 5000}}
	before := lineReply(ask.Pull, lines[2])
	reply := lineReply(ask.Pull, lines[2:]...)
	m := newMember(t, 1).holds(lines[:2])
	for at := len(before); at < len(reply); at++ {
		bad := bytes.Clone(reply)
		bad[at] ^= 1
		batch := syncd.OpenReply(journaltest.Site(), ask, bad)
		for _, run := range batch.Runs {
			for _, v := range run.Lines {
				require.Equal(t, string(lines[2].Line()), string(v.Line()), "byte %d", at)
			}
		}
		m.restart()
		m.x.Hear(busKey(2), syncd.Have{Tips: []events.Ref{lines[3].Ref()}})
		batch.Ask = m.x.Asks()[0]
		err := m.x.Took(batch, 0)
		require.ErrorAs(t, err, new(*syncd.Complaint), "byte %d", at)
		require.Regexp(t, "^peer "+busKey(2).Short()+" sent ", err.Error())
	}
}

// The same reply again and again brings a long feed no further.
func TestTheSameReplyAgain(t *testing.T) {
	lines := feed(1, 600)
	a, b := newMember(t, 1).holds(lines[:2]), newMember(t, 2).holds(lines)
	var first []byte
	w := a.meets(lies(b, func(_ syncd.Pull, honest []byte) []byte {
		if first == nil {
			first = honest
		}
		return first
	}))
	require.Equal(t, []string{"sent other entries than it was asked for"}, w.complaints)
	require.Equal(t, 2, w.requests)
}

// A peer that never reaches what it claims, and says "diverged" whatever is
// asked, is asked a number of times that grows as the logarithm of the feed.
func TestDivergedForEverOnALongFeed(t *testing.T) {
	lines := feed(1, 400)
	a, b := newMember(t, 1).holds(lines), newMember(t, 2).holds(lines)
	tip := events.Ref{Feed: lines[0].Feed(), Seq: 800, Hash: events.Hash8{1}}
	w := a.meets(claims(b, tip, says("diverged")))
	require.Equal(t, []string{"says it holds entries that it does not hand over"}, w.complaints)
	require.LessOrEqual(t, w.requests, bits.Len(400)+2)
}

// Lines that a peer keeps to itself look like holes, and anybody else mends them.
func TestLinesKeptBack(t *testing.T) {
	lines := feed(1, 40)
	a, b, honest := newMember(t, 1), newMember(t, 2).holds(lines), newMember(t, 3).holds(lines)
	a.meets(lies(b, func(p syncd.Pull, honest []byte) []byte {
		if p.From < 5 {
			return honest
		}
		return lineReply(p, lines[20:]...)
	}))
	require.NotEmpty(t, a.log.Holes())
	require.Empty(t, a.meets(honest.peer()).complaints)
	requireOne(t, a, honest)
	require.Empty(t, a.log.Holes())
}

// Authentic lines past a hole too long to keep are not kept, and complained of.
func TestLinesThatConnectToNothing(t *testing.T) {
	lines := feed(1, 4)
	author := journaltest.NewAuthor(11).Resume(lines[0].Feed(), events.Head{Seq: 9000, Hash: events.HashOf([]byte("x"))})
	far := remarks(author, 2, "far")
	a, b := newMember(t, 1).holds(lines[:2]), newMember(t, 2).holds(lines)
	w := a.meets(claims(b, far[1].Ref(), func(p syncd.Pull, _ []byte) []byte { return lineReply(p, far...) }))
	require.Equal(t, []string{"sends entries that connect to nothing"}, w.complaints)
	requireFrom(t, a, lines)
}

// Lines of another branch than the one that was asked for are not taken for it,
// though their numbers fit.
func TestLinesThatDoNotFollow(t *testing.T) {
	left, right := branches(4, 5, 9)
	a, b := newMember(t, 1).holds(left), newMember(t, 2).holds(right)
	w := a.meets(lies(b, func(p syncd.Pull, _ []byte) []byte { return lineReply(p, right[p.From-1:]...) }))
	require.Equal(t, []string{"sent entries that do not follow what it was asked to follow"}, w.complaints)
	requireFrom(t, a, left)
}

// A liar that also answers what costs it nothing is no better for it.
func TestHarmlessRepliesExcuseNothing(t *testing.T) {
	lines, holed := feed(1, 12), feed(2, 12)
	a, b := newMember(t, 1).holds(lines).lacks(holed, 7), newMember(t, 2).holds(lines).lacks(holed, 7)
	tip := events.Ref{Feed: lines[0].Feed(), Seq: 14, Hash: events.Hash8{7}}
	liar := claims(b, tip, truth)
	requireBounded(t, a, liar, newMember(t, 3).peer(), "does not hand over")
}

// What a peer did wrong before it made good counts for nothing afterwards.
func TestMakingGoodWipesTheSlate(t *testing.T) {
	author, lines := joined(1)
	lines = append(lines, author.Note("one"))
	a, b := newMember(t, 1).holds(lines[:2]), newMember(t, 2).holds(lines)
	liar := lies(b, says("refused"))
	for range 8 {
		a.meets(liar)
	}
	require.Equal(t, 3, a.x.Towards(b.key).Complaints)
	for range 8 {
		a.meets(b.peer())
	}
	requireOne(t, a, b)
	b.holds(remarks(author, 1, "two"))
	require.Len(t, a.meets(liar).complaints, 1)
	require.Zero(t, a.meets(liar).requests)
	require.Len(t, a.meets(liar).complaints, 1, "passed over for one have, as at first")
}
