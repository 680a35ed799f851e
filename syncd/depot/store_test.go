package depot

import (
	"net"
	"testing"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
)

func addrOf(s *server.Server) int { return s.Addr().(*net.TCPAddr).Port }

const nobody events.Key = ""

func TestContract(t *testing.T) {
	journaltest.Run(t, func(t *testing.T) journaltest.Fixture {
		c := newNode(t).line()
		s := opened(t, c, nobody)
		return journaltest.Fixture{Store: s, Reopen: func(t *testing.T) journaltest.Store {
			require.NoError(t, s.Close())
			s = opened(t, c, nobody)
			require.Empty(t, s.Problems())
			return s
		}}
	})
}

// What one relay took in, another has without being told by anybody else.
func TestTwoRelaysHoldOneSite(t *testing.T) {
	n := newNode(t)
	one, other := opened(t, n.line(), nobody), opened(t, n.line(), nobody)
	var arrived []string
	other.Follow(func(lines []seal.Verified) { arrived = append(arrived, shorts(lines...)...) })
	lines := journaltest.NewAuthor(1).Notes(2000)
	require.Equal(t, 2000, took(t, one, lines...))
	require.NoError(t, other.catchUp(t.Context()))
	require.Equal(t, shorts(lines...), arrived)
	require.Equal(t, texts(t, one), texts(t, other))
}

// Two relays that take the same lines at once keep them once.
func TestTwoRelaysRaceOnOneFeed(t *testing.T) {
	n := newNode(t)
	one, other := opened(t, n.line(), nobody), opened(t, n.line(), nobody)
	lines := journaltest.NewAuthor(1).Notes(60)
	for from := 0; from < len(lines); from += 3 {
		both := make(chan error, 2)
		for _, s := range []*Store{one, other} {
			go func() {
				_, err := s.Take(t.Context(), lines[from:from+3])
				both <- err
			}()
		}
		require.NoError(t, <-both)
		require.NoError(t, <-both)
	}
	info, err := one.c.stream.Info(t.Context())
	require.NoError(t, err)
	require.EqualValues(t, 20, info.State.Msgs, "every three lines are in the cluster once")
	require.Equal(t, jetstream.NoCompression, info.Config.Compression, "a killed server can read its last block again")
	require.NoError(t, one.catchUp(t.Context()))
	require.NoError(t, other.catchUp(t.Context()))
	require.Equal(t, shorts(lines...), texts(t, one))
	require.Equal(t, shorts(lines...), texts(t, other))
}

// A hole travels, and so does what fills it.
func TestAHoleTravels(t *testing.T) {
	n := newNode(t)
	one, other := opened(t, n.line(), nobody), opened(t, n.line(), nobody)
	lines := journaltest.NewAuthor(1).Notes(8)
	took(t, one, lines[:2]...)
	_, err := one.TakeHole(t.Context(), lines[0].Feed(), lines[3].Head(), lines[4])
	require.NoError(t, err)
	took(t, one, lines[5:]...)
	require.NoError(t, other.catchUp(t.Context()))
	require.Equal(t, []events.Head{{Seq: 3}, lines[3].Head()}, other.Holes()[lines[0].Feed()])
	require.Equal(t, texts(t, one), texts(t, other))
	took(t, other, lines[2], lines[3])
	require.NoError(t, one.catchUp(t.Context()))
	require.Empty(t, one.Holes())
	require.Equal(t, shorts(lines...), texts(t, one))
	require.Equal(t, shorts(lines...), texts(t, opened(t, n.line(), nobody)))
}

// A relay goes on with its own feed after it was started anew with nothing.
func TestAnOwnFeedGoesOn(t *testing.T) {
	n, a := newNode(t), journaltest.NewAuthor(1)
	self := a.Feed.Key()
	s := opened(t, n.line(), self)
	require.Equal(t, journal.Own{}, s.Own())
	lines := a.Notes(3)
	require.NoError(t, s.Begin(t.Context(), lines[0]))
	say(t, s, lines[1:]...)
	require.NoError(t, s.Close())
	s = opened(t, n.line(), self)
	require.Equal(t, journal.Own{Feed: a.Feed, Head: lines[2].Head()}, s.Own())
	say(t, s, a.Note("after"))
	_, ok := s.Receipt(lines[0].Ref())
	require.False(t, ok, "what we said ourselves was never received")
	require.Len(t, texts(t, s), 4)
}

func say(t testing.TB, s *Store, lines ...seal.Verified) {
	t.Helper()
	wait, err := s.Queue(lines...)
	require.NoError(t, err)
	require.NoError(t, wait())
}
