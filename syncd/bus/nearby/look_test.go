package nearby

import (
	"context"
	"errors"
	"fmt"
	"net/netip"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
)

// told is a network on which every round brings the same answers, or the error
// set for that round.
type told struct {
	answers []answer
	errs    map[int]error
	rounds  []time.Duration // when each was asked, since the first
	began   time.Time
}

func (n *told) ask(ctx context.Context) (<-chan answer, error) {
	if n.began.IsZero() {
		n.began = time.Now()
	}
	n.rounds = append(n.rounds, time.Since(n.began))
	if err := n.errs[len(n.rounds)]; err != nil {
		return nil, err
	}
	out := make(chan answer)
	go func() {
		defer close(out)
		for _, a := range n.answers {
			if !hand(ctx, out, a.from, a.packet) {
				return
			}
		}
	}()
	return out, nil
}

// look runs Look on a told network for a while, by a clock that costs no time.
func look(t *testing.T, n *told, long time.Duration) (found []string, err error) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), long)
		defer cancel()
		s := seeker{site: siteOf(1), log: quiet(), ask: n.ask, known: map[netip.AddrPort]bool{}}
		s.found = func(addr string) { found = append(found, addr) }
		err = s.run(ctx)
	})
	return found, err
}

func TestLookAsksAtOnceAndThenEveryHalfMinute(t *testing.T) {
	n := &told{answers: []answer{{from("192.0.2.9"), packed(t, announced(t, siteOf(1), 4222, 1)...)}}}
	found, err := look(t, n, 70*time.Second)
	require.NoError(t, err, "the end of ctx is no error")
	require.Equal(t, []time.Duration{0, 30 * time.Second, 60 * time.Second}, n.rounds)
	require.Equal(t, []string{"192.0.2.9:4222", "192.0.2.9:4222", "192.0.2.9:4222"}, found)
}

func TestOneRoundTellsAnAddressOnceAndEveryAddressOfALaptop(t *testing.T) {
	ours, theirs := packed(t, announced(t, siteOf(1), 4222, 1)...), packed(t, announced(t, siteOf(2), 4222, 2)...)
	n := &told{answers: []answer{
		{from("192.0.2.9"), ours},
		{from("192.0.2.10"), theirs},
		{from("fe80::9%wlan0"), ours},
		{from("192.0.2.9"), ours},
		{from("fe80::9%eth0"), ours},
		{from("192.0.2.11"), []byte("noise")},
	}}
	found, err := look(t, n, time.Second)
	require.NoError(t, err)
	require.Equal(t, []string{"192.0.2.9:4222", "[fe80::9%wlan0]:4222", "[fe80::9%eth0]:4222"}, found)
}

func TestWithNoNetworkLookSaysSoAtOnce(t *testing.T) {
	n := &told{errs: map[int]error{1: noMulticast(errors.New("made up"))}}
	found, err := look(t, n, time.Hour)
	require.ErrorIs(t, err, ErrNoMulticast)
	require.Empty(t, found)
	require.Len(t, n.rounds, 1)
}

func TestANetworkLostLaterIsWaitedFor(t *testing.T) {
	n := &told{
		answers: []answer{{from("192.0.2.9"), packed(t, announced(t, siteOf(1), 4222, 1)...)}},
		errs:    map[int]error{2: ErrNoMulticast, 3: ErrNoMulticast},
	}
	found, err := look(t, n, 100*time.Second)
	require.NoError(t, err)
	require.Len(t, n.rounds, 4)
	require.Len(t, found, 2, "in the first round and the fourth")
}

func TestAFloodIsBoundedARoundAndAltogether(t *testing.T) {
	flood := &told{}
	packet := packed(t, announced(t, siteOf(1), 4222, 1)...) // anybody can say again what a laptop said
	for n := range 3000 {
		flood.answers = append(flood.answers, answer{from(fmt.Sprintf("2001:db8::%x", n)), packet})
	}
	found, err := look(t, flood, time.Second)
	require.NoError(t, err)
	require.Len(t, found, mostARound)

	// The same, from other addresses every round, until no new one is taken.
	turns := &told{}
	ask := func(ctx context.Context) (<-chan answer, error) {
		turns.answers = nil
		for n := range 100 {
			turns.answers = append(turns.answers, answer{from(fmt.Sprintf("2001:db8:%x::%x", len(turns.rounds), n)), packet})
		}
		return turns.ask(ctx)
	}
	different := map[string]bool{}
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), time.Hour)
		defer cancel()
		s := seeker{site: siteOf(1), log: quiet(), ask: ask, known: map[netip.AddrPort]bool{}}
		s.found = func(addr string) { different[addr] = true }
		require.NoError(t, s.run(ctx))
		require.Len(t, s.known, mostAltogether)
	})
	require.Greater(t, len(turns.rounds), mostAltogether/mostARound)
	require.Len(t, different, mostAltogether)
}

// Who was found before the flood is still told of when no new address is taken.
func TestAFullMemoryStillKnowsWhoIsInIt(t *testing.T) {
	packet := packed(t, announced(t, siteOf(1), 4222, 1)...)
	var found []string
	s := seeker{site: siteOf(1), log: quiet(), known: map[netip.AddrPort]bool{}, found: func(a string) { found = append(found, a) }}
	old := netip.MustParseAddrPort("192.0.2.9:4222")
	s.known[old] = true
	for n := 1; len(s.known) < mostAltogether; n++ {
		s.known[netip.AddrPortFrom(from("192.0.2.8"), uint16(n))] = true
	}
	answers := make(chan answer, 2)
	answers <- answer{from("192.0.2.10"), packet}
	answers <- answer{old.Addr(), packet}
	close(answers)
	s.hear(t.Context(), answers)
	require.Equal(t, []string{"192.0.2.9:4222"}, found)
}

func TestNothingIsToldAfterTheEnd(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	s := seeker{site: siteOf(1), log: quiet(), known: map[netip.AddrPort]bool{}}
	told := 0
	s.found = func(string) { told++; cancel() }
	answers := make(chan answer, 2)
	packet := packed(t, announced(t, siteOf(1), 4222, 1)...)
	answers <- answer{from("192.0.2.9"), packet}
	answers <- answer{from("192.0.2.10"), packet}
	close(answers)
	s.hear(ctx, answers)
	require.Equal(t, 1, told)
}
