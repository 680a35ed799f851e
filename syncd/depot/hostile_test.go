package depot

import (
	"bytes"
	"strings"
	"testing"

	"github.com/nats-io/nats.go"
	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
)

// inThree puts 30 lines into the cluster in three messages, and returns what each
// holds.
func inThree(t *testing.T, n *node) (lines []seal.Verified) {
	s, err := openStore(t.Context(), n.line(), journaltest.Site(), nobody, clock)
	require.NoError(t, err)
	lines = journaltest.NewAuthor(1).Notes(30)
	for from := 0; from < 30; from += 10 {
		took(t, s, lines[from:from+10]...)
	}
	require.NoError(t, s.Close())
	return lines
}

// Whoever runs the cluster can spoil what is in it, and can't have it believed. What
// is spoilt is missing, comes again from whoever holds it, and lets in what waited.
func TestTheClustersOperatorCantForge(t *testing.T) {
	for name, row := range map[string]struct {
		change func(m *nats.Msg) bool
		holds  int // lines that are left at first
		fault  journal.Fault
	}{
		"a word is another": {func(m *nats.Msg) bool {
			m.Data = bytes.Replace(m.Data, []byte("remark 15"), []byte("remark 51"), 1)
			return true
		}, 14, journal.Damaged},
		"the last line is another": {func(m *nats.Msg) bool {
			m.Data = bytes.Replace(m.Data, []byte("remark 20"), []byte("remark 02"), 1)
			return true
		}, 19, journal.Damaged},
		"a message is gone":    {func(*nats.Msg) bool { return false }, 10, journal.Missing},
		"a message is empty":   {func(m *nats.Msg) bool { m.Data = nil; return true }, 10, journal.Damaged},
		"a message is cut":     {func(m *nats.Msg) bool { m.Data = m.Data[:len(m.Data)/2-20]; return true }, 14, journal.Damaged},
		"a line is left out":   {func(m *nats.Msg) bool { m.Data = m.Data[bytes.IndexByte(m.Data, '\n')+1:]; return true }, 10, journal.Missing},
		"a hole nobody proves": {func(m *nats.Msg) bool { m.Data = append(holeOf(events.Head{Seq: 10}), m.Data...); return true }, 10, journal.Damaged},
		"another feed's subject": {func(m *nats.Msg) bool {
			m.Subject = feedSubject(journaltest.Site(), journaltest.NewAuthor(2).Feed)
			return true
		}, 10, journal.Damaged},
		"a subject that is none":  {func(m *nats.Msg) bool { m.Subject = logPrefix + string(journaltest.Site()) + ".x.y"; return true }, 10, journal.Stray},
		"a mark that a feed ends": {func(m *nats.Msg) bool { m.Data = nil; m.Header.Set(endedHeader, "restored"); return true }, 10, journal.Missing},
	} {
		t.Run(name, func(t *testing.T) {
			n := newNode(t)
			lines := inThree(t, n)
			n.rewrites(func(i int, m *nats.Msg) bool { return i != 1 || row.change(m) })
			s, other := opened(t, n.line(), nobody), opened(t, n.line(), nobody)
			require.Equal(t, shorts(lines[:row.holds]...), texts(t, s), "what is authentic before it is there, and what comes after waits")
			require.Contains(t, faults(s), row.fault)
			before := messages(t, s)

			offered := lines[row.holds:20]
			if name == "a line is left out" {
				offered = lines[row.holds:] // with what waits
			}
			var told []seal.Verified
			s.Follow(func(lines []seal.Verified) { told = append(told, lines...) })
			require.Equal(t, len(offered), took(t, s, offered...))
			require.Equal(t, shorts(lines...), texts(t, s))
			require.Equal(t, shorts(lines[row.holds+len(offered):]...), shorts(told...), "what waited is told")
			require.Equal(t, before+1, messages(t, s))
			require.Equal(t, gone(name, row.holds), lastSent(t, s), "only what was missing is put there again")
			require.NoError(t, other.catchUp(t.Context()))
			require.Equal(t, shorts(lines...), texts(t, other))
			late := opened(t, n.line(), nobody)
			require.Equal(t, shorts(lines...), texts(t, late), "whoever comes later has it all")
		})
	}
}

// gone is how many lines one of those stories takes out of the stream.
func gone(name string, holds int) int {
	if name == "a line is left out" {
		return 1
	}
	return 20 - holds
}

// lastSent is how many lines the newest message of the stream holds.
func lastSent(t *testing.T, s *Store) int {
	info, err := s.c.stream.Info(t.Context())
	require.NoError(t, err)
	msg, err := s.c.stream.GetMsg(t.Context(), info.State.LastSeq)
	require.NoError(t, err)
	return bytes.Count(msg.Data, []byte{'\n'})
}

func holeOf(h events.Head) []byte { return append(journal.HoleLine(h), '\n') }

func faults(s *Store) (out []journal.Fault) {
	for _, p := range s.Problems() {
		out = append(out, p.Fault)
	}
	return out
}

func messages(t *testing.T, s *Store) int {
	info, err := s.c.stream.Info(t.Context())
	require.NoError(t, err)
	return int(info.State.Msgs)
}

// A relay whose own feed was spoilt does not give a number a second time: it begins
// another feed, once, and says why.
func TestAnOwnFeedThatWasSpoilt(t *testing.T) {
	n, a := newNode(t), journaltest.NewAuthor(1)
	self := a.Feed.Key()
	s, err := openStore(t.Context(), n.line(), journaltest.Site(), self, clock)
	require.NoError(t, err)
	require.NoError(t, s.Begin(t.Context(), a.Start()))
	say(t, s, a.Note("two"))
	two := a.Head
	spoilt := a.Note("three")
	say(t, s, spoilt)
	require.NoError(t, s.Close())
	n.rewrites(func(_ int, m *nats.Msg) bool {
		m.Data = bytes.Replace(m.Data, []byte("three"), []byte("eight"), 1)
		return true
	})
	s = opened(t, n.line(), self)
	require.Equal(t, journal.Own{Feed: a.Feed, Head: two, Replace: events.TornTail, Last: two}, s.Own())
	_, err = s.Queue(a.Note("four"))
	require.ErrorIs(t, err, journal.ErrReplaced)
	took(t, s, spoilt)
	b := a.Anew(7)
	require.NoError(t, s.Begin(t.Context(), b.Start()))
	say(t, s, b.Note("in another feed"))
	late := opened(t, n.line(), self)
	require.Equal(t, journal.Own{Feed: b.Feed, Head: b.Head}, late.Own())
	require.ErrorIs(t, late.Begin(t.Context(), a.Anew(8).Start()), journal.ErrHaveFeed)
}

// A peer that shows more of our own feed than the cluster has ends that feed, for
// every life of this relay to come.
func TestAPeerHoldsMoreOfOurFeed(t *testing.T) {
	n, a := newNode(t), journaltest.NewAuthor(1)
	self := a.Feed.Key()
	s := opened(t, n.line(), self)
	require.NoError(t, s.Begin(t.Context(), a.Start()))
	last := a.Head
	require.Equal(t, 2, took(t, s, a.Note("lost here"), a.Note("and this")))
	want := journal.Own{Feed: a.Feed, Head: a.Head, Replace: events.Restored, Last: last}
	got := s.Own()
	got.Head = want.Head
	require.Equal(t, want, got)
	require.Equal(t, want, opened(t, n.line(), self).Own())
}

// Another line in a place of our own feed means that a copy of this relay is about.
func TestACopyOfThisRelay(t *testing.T) {
	n, a := newNode(t), journaltest.NewAuthor(1)
	self := a.Feed.Key()
	s := opened(t, n.line(), self)
	require.NoError(t, s.Begin(t.Context(), a.Start()))
	copied := a.Twin()
	say(t, s, a.Note("ours"))
	took(t, s, copied.Note("the copy's"))
	require.Equal(t, events.Diverged, s.Own().Replace)
	require.Equal(t, events.Diverged, opened(t, n.line(), self).Own().Replace)
	require.Len(t, s.Forks(), 1)
}

// Two processes with one secret never give a number twice: the cluster takes one
// line, and the other process hears why its own was refused.
func TestTwoProcessesWithOneSecret(t *testing.T) {
	n, a := newNode(t), journaltest.NewAuthor(1)
	self := a.Feed.Key()
	one := opened(t, n.line(), self)
	require.NoError(t, one.Begin(t.Context(), a.Start()))
	other := opened(t, n.line(), self)
	b := a.Twin()
	for i := range 10 {
		first, second, x, y := one, other, a, b
		if i%2 > 0 {
			first, second, x, y = other, one, b, a
		}
		line := x.Note("first")
		wait, err := second.Queue(y.Note("second"))
		require.NoError(t, err)
		say(t, first, line)
		require.ErrorIs(t, wait(), errTaken)
		*a, *b = *x, *x
		require.Equal(t, x.Head, second.Own().Head, "it knows what to go on from")
	}
	require.Empty(t, one.Forks())
	require.Len(t, texts(t, one), 11)
	require.Equal(t, texts(t, one), texts(t, other))
}

func TestStreamsThatForget(t *testing.T) {
	c := newNode(t).line()
	for name, row := range map[string]struct{ words string }{
		"age": {"a limit"}, "memory": {"not on disk"},
	} {
		cfg := c.config()
		switch name {
		case "age":
			cfg.MaxAge = 1
		case "memory":
			cfg.Storage++
		}
		err := keepsAll(cfg)
		require.ErrorIs(t, err, ErrStream)
		require.True(t, strings.Contains(err.Error(), row.words))
	}
	require.NoError(t, keepsAll(c.config()))
}

// Without TLS only this machine itself is called.
func TestNoWayWithoutTLS(t *testing.T) {
	for _, url := range []string{"nats://192.0.2.7:4222", "nats://nats-1:4222", "tls://192.0.2.7:4222"} {
		_, err := dial(t.Context(), Options{URLs: []string{url}})
		require.ErrorIs(t, err, ErrPlain, url)
	}
}
