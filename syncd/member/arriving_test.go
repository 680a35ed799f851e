package member_test

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"errors"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/bundle"
	"pairwalk/events/journal"
	"pairwalk/events/journal/album"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
	"pairwalk/syncd/member"
)

var errAway = errors.New("the shelf is away")

// shelf is a log kept elsewhere: others write to it as well, and it may be away
// for a while.
type shelf struct {
	*journal.Journal
	away bool
}

func (s *shelf) Queue(lines ...seal.Verified) (func() error, error) {
	if s.away {
		return func() error { return errAway }, nil
	}
	return s.Journal.Queue(lines...)
}

func (s *shelf) Begin(ctx context.Context, first seal.Verified) error {
	if s.away {
		return errAway
	}
	return s.Journal.Begin(ctx, first)
}

// kept is a member whose log is on a shelf.
type kept struct {
	*member.Member
	shelf *shelf
	id    member.Identity
}

// keeps lets somebody join whose log is on a shelf.
func (x *team) keeps(name string) *kept {
	token, err := x.lead.Invite(events.RelayRole, time.Hour, "")
	require.NoError(x.t, err)
	j, err := journal.Open(journal.Memory(), journal.Memory(), token.Site, journal.Env{Now: x.lead.stamp})
	require.NoError(x.t, err)
	a, err := album.Open(journal.Memory())
	require.NoError(x.t, err)
	seed := func(b byte) ed25519.PrivateKey {
		return ed25519.NewKeyFromSeed(append(make([]byte, 31), b))
	}
	k := &kept{shelf: &shelf{Journal: j}, id: member.IdentityBy(token, name, seed(1), seed(2))}
	at := member.Keeping{Log: k.shelf, Album: a, Hints: journal.Memory()}
	w := member.World{Now: x.lead.stamp, Rand: seeded{rand.NewChaCha8([32]byte{9})}, MadeUp: true}
	k.Member, err = member.JoinKept(x.t.Context(), token, k.id, "", at, w)
	require.NoError(x.t, err)
	again, err := member.JoinKept(x.t.Context(), token, k.id, "", at, w)
	require.NoError(x.t, err)
	require.Equal(x.t, 2, again.Now().Entries, "a feed's beginning and one join, however often it was asked for")
	x.t.Cleanup(func() { require.NoError(x.t, k.Close()) })
	return k
}

func note(text string) member.Entry {
	return member.Entry{Payload: events.NoteAdded{Of: events.Site(), Text: text}}
}

// What others put on the shelf is known here once it is told, and told once.
func TestLinesArriveByAnotherWay(t *testing.T) {
	x := newTeam(t)
	k := x.keeps("relay")
	grew, stop := k.Watch()
	defer stop()
	lines := theirs(t, x.lead)
	_, err := k.shelf.Take(t.Context(), lines)
	require.NoError(t, err)
	before := k.Now()
	for range 2 {
		require.NoError(t, k.Arrived(t.Context(), lines))
		require.Equal(t, before.Entries+len(lines), k.Now().Entries)
	}
	require.Len(t, grew, 1)
	require.Equal(t, "Kiln Lane Works", k.Now().Name)
	evs, err := k.Record(t.Context(), note("seen"))
	require.NoError(t, err)
	require.Contains(t, evs[0].Seen, lines[len(lines)-1].Ref(), "the next entry tells what was taken in")
}

// An entry that was refused is not in the log, its number goes to the next, and
// nothing is left out.
func TestARefusedEntryLeavesNoTrace(t *testing.T) {
	x := newTeam(t)
	k := x.keeps("relay")
	first, err := k.Record(t.Context(), note("before"))
	require.NoError(t, err)
	k.shelf.away = true
	for range 3 {
		_, err = k.Record(t.Context(), note("lost"))
		require.ErrorIs(t, err, errAway)
	}
	k.shelf.away = false
	after, err := k.Record(t.Context(), note("after"))
	require.NoError(t, err)
	require.Equal(t, first[0].Seq+1, after[0].Seq)
	require.Equal(t, first[0].Hash, after[0].Prev)
	require.Equal(t, int(after[0].Seq), k.Now().Entries)
}

// A line of ours that was confirmed late, or that another process with our keys
// said, is gone on from.
func TestOurOwnLineArrives(t *testing.T) {
	x := newTeam(t)
	k := x.keeps("relay")
	evs, err := k.Record(t.Context(), note("one"))
	require.NoError(t, err)
	a := journaltest.NewAuthor(1)
	a.Key, a.Site = k.id.Feed, k.id.Site
	v := a.Resume(evs[0].Feed, events.Head{Seq: evs[0].Seq, Hash: evs[0].Hash}).Note("two, late")
	require.NoError(t, k.shelf.Append(t.Context(), v))
	require.NoError(t, k.Arrived(t.Context(), []seal.Verified{v}))
	evs, err = k.Record(t.Context(), note("three"))
	require.NoError(t, err)
	require.Equal(t, v.Seq()+1, evs[0].Seq)
	require.Equal(t, v.Hash(), evs[0].Prev)
	require.Equal(t, int(evs[0].Seq), k.Now().Entries)
}

// A beginning that failed, or that was confirmed late, is no beginning twice.
func TestAFeedThatBeganLate(t *testing.T) {
	x := newTeam(t)
	token, err := x.lead.Invite(events.RelayRole, time.Hour, "")
	require.NoError(t, err)
	k := x.keeps("relay")
	require.NoError(t, k.Close())
	j, err := journal.Open(journal.Memory(), journal.Memory(), token.Site, journal.Env{Now: x.lead.stamp})
	require.NoError(t, err)
	k.shelf.Journal, k.shelf.away = j, true
	a, err := album.Open(journal.Memory())
	require.NoError(t, err)
	m, err := member.OpenKept(k.id, member.Keeping{Log: k.shelf, Album: a, Hints: journal.Memory()}, member.World{Now: x.lead.stamp, Rand: seeded{rand.NewChaCha8([32]byte{3})}, MadeUp: true})
	require.NoError(t, err)
	_, err = m.Record(t.Context(), note("lost"))
	require.ErrorIs(t, err, errAway)
	k.shelf.away = false
	author := journaltest.NewAuthor(1)
	author.Key, author.Site = k.id.Feed, k.id.Site
	author = author.Anew(5)
	start := author.Start()
	require.NoError(t, j.Begin(t.Context(), start))
	evs, err := m.Record(t.Context(), note("after"))
	require.NoError(t, err)
	require.Equal(t, start.Feed(), evs[0].Feed)
	require.Equal(t, start.Hash(), evs[0].Prev)
}

// theirs are the lines that a device holds.
func theirs(t *testing.T, d *device) []seal.Verified {
	b, err := bundle.Read(bytes.NewReader(d.bundle()))
	require.NoError(t, err)
	var out []seal.Verified
	for _, run := range b.Runs() {
		out = append(out, run.Lines...)
	}
	return out
}
