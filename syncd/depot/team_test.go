package depot

import (
	"bytes"
	"crypto/rand"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/events/journal"
	"pairwalk/syncd"
	"pairwalk/syncd/member"
)

var world = member.World{Now: clock, Rand: rand.Reader, MadeUp: true}

// crew is a site with its lead, on a device with a disk.
type crew struct {
	t    testing.TB
	lead *member.Member
}

func newCrew(t testing.TB) *crew {
	m, _, err := member.NewHome(journal.Memory(), world).Init(t.Context(), member.Opening{Name: "Kiln Lane Works", Person: "ada", Zone: "UTC", Practice: true})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, m.Close()) })
	return &crew{t, m}
}

func (x *crew) invite(role events.Role) invite.Token {
	token, err := x.lead.Invite(role, 48*time.Hour, "")
	require.NoError(x.t, err)
	return token
}

// joins is a technician with a device of their own.
func (x *crew) joins(name string) *member.Member {
	m, err := member.NewHome(journal.Memory(), world).Join(x.t.Context(), x.invite(events.Tech), name, "")
	require.NoError(x.t, err)
	x.t.Cleanup(func() { require.NoError(x.t, m.Close()) })
	return m
}

// office is a relay with nothing of its own but its secret.
func office(t testing.TB, n *node, secret Secret, change ...func(*Options)) *Office {
	t.Helper()
	o := n.options()
	for _, c := range change {
		c(&o)
	}
	at, err := Open(t.Context(), o, secret, "office", world)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, at.Close()) })
	return at
}

func secret(t testing.TB, b byte) Secret {
	s, err := NewSecret(dice(b))
	require.NoError(t, err)
	return s
}

// opens opens the only site of an office.
func opens(t testing.TB, o *Office) *member.Member {
	t.Helper()
	seats, err := o.Sites(t.Context())
	require.NoError(t, err)
	require.Len(t, seats, 1)
	m, err := o.Open(t.Context(), seats[0].Site)
	require.NoError(t, err)
	t.Cleanup(func() { _ = m.Close() })
	return m
}

// meet lets two members exchange until both hold the same.
func meet(t testing.TB, one, other *member.Member) {
	t.Helper()
	for range 6 {
		fetch(t, one, other)
		fetch(t, other, one)
	}
	require.True(t, one.Have().Same(other.Have()), "they hold the same")
}

func fetch(t testing.TB, to, from *member.Member) {
	t.Helper()
	peer := busOf(from)
	have, err := syncd.DecodeHave(from.Have().Encode())
	require.NoError(t, err)
	to.Hear(peer, have, to.Stamp())
	for asks := to.Asks(); len(asks) > 0; asks = to.Asks() {
		for _, ask := range asks {
			_, err := to.Answered(t.Context(), ask, from.Answer(ask.Pull.Encode(), nil))
			require.NoError(t, err)
		}
	}
}

// busOf is what a member is known by to its peers.
func busOf(m *member.Member) events.Key {
	x, ok := m.Now().Member(m.Key())
	if !ok {
		panic("no member")
	}
	return x.Bus
}

func notes(t testing.TB, m *member.Member, n int, text string) {
	t.Helper()
	var entries []member.Entry
	for range n {
		entries = append(entries, member.Entry{Payload: events.NoteAdded{Of: events.Site(), Text: text}})
	}
	_, err := m.Record(t.Context(), entries...)
	require.NoError(t, err)
}

// log is all that a member holds, byte for byte.
func log(t testing.TB, m *member.Member) string {
	t.Helper()
	var b bytes.Buffer
	for _, tip := range m.Have().Tips {
		b.WriteString(tip.String() + "\n")
	}
	return b.String()
}
