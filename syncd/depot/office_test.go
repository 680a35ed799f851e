package depot

import (
	"crypto/sha256"
	"encoding/hex"
	"io/fs"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal/album"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// A relay that comes back with nothing but its secret is the member it was.
func TestARelayComesBackWithNothing(t *testing.T) {
	n, x := newNode(t), newCrew(t)
	o := office(t, n, secret(t, 1))
	seats, err := o.Sites(t.Context())
	require.NoError(t, err)
	require.Empty(t, seats)
	site, err := o.Join(t.Context(), x.invite(events.RelayRole))
	require.NoError(t, err)
	m := opens(t, o)
	notes(t, x.lead, 50, "before")
	meet(t, m, x.lead)
	notes(t, m, 3, "by the relay")
	feed := own(m)
	require.NoError(t, m.Close())

	again := office(t, n, secret(t, 1))
	m = opens(t, again)
	require.Equal(t, site, m.Info().ID)
	require.Equal(t, "Kiln Lane Works", m.Info().Name)
	require.True(t, m.Info().Practice)
	me, ok := m.Now().Member(m.Key())
	require.True(t, ok)
	require.Equal(t, []any{"office", projection.Admitted}, []any{me.Name, me.Standing})
	notes(t, m, 1, "after")
	require.Equal(t, feed, own(m), "it goes on with its feed")
	meet(t, m, x.lead)
	_, err = again.Join(t.Context(), x.invite(events.RelayRole))
	require.ErrorContains(t, err, "already")

	strangers, err := office(t, n, secret(t, 2)).Sites(t.Context())
	require.NoError(t, err)
	require.Empty(t, strangers, "another secret is another relay")
}

// own is the feed that a member says things in.
func own(m *member.Member) (feed events.FeedID) {
	for f := range m.Now().Heads {
		if f.Key() == m.Key() {
			feed = f
		}
	}
	return feed
}

// What comes in by one relay goes out by another at once.
func TestTwoRelaysOfOneSite(t *testing.T) {
	n, x := newNode(t), newCrew(t)
	one, other := office(t, n, secret(t, 1)), office(t, n, secret(t, 2))
	for _, o := range []*Office{one, other} {
		_, err := o.Join(t.Context(), x.invite(events.RelayRole))
		require.NoError(t, err)
	}
	a, b := opens(t, one), opens(t, other)
	ben := x.joins("ben")
	grew, stop := b.Watch()
	defer stop()
	meet(t, a, x.lead)
	notes(t, x.lead, 700, "by way of one")
	meet(t, a, x.lead)
	until(t, "the other hears", func() bool { return log(t, a) == log(t, b) })
	require.NotEmpty(t, grew, "whoever watches is told")
	fetch(t, ben, b)
	fetch(t, b, ben)
	until(t, "one hears of ben", func() bool { return log(t, a) == log(t, b) })
	meet(t, a, x.lead) // who admits ben
	until(t, "the other hears of that", func() bool { return log(t, a) == log(t, b) })
	meet(t, b, ben)
	require.Equal(t, log(t, x.lead), log(t, ben))
}

// A seat that the cluster's operator wrote is believed by nobody.
func TestASeatThatWasAltered(t *testing.T) {
	n, x := newNode(t), newCrew(t)
	o := office(t, n, secret(t, 1))
	site, err := o.Join(t.Context(), x.invite(events.RelayRole))
	require.NoError(t, err)
	msg, err := o.c.stream.GetLastMsgForSubject(t.Context(), seatSubject(o.secret.Instance(), site))
	require.NoError(t, err)
	forged := natsMessage(msg.Subject, []byte(strings.Replace(string(msg.Data), `"practice":true`, `"practice":false`, 1)))
	require.NotEqual(t, msg.Data, forged.Data)
	forged.Header = msg.Header
	_, err = o.c.js.PublishMsg(t.Context(), forged)
	require.NoError(t, err)
	seats, err := office(t, n, secret(t, 1)).Sites(t.Context())
	require.ErrorIs(t, err, errSeat)
	require.Empty(t, seats)
}

// A made-up clock does not get onto a real site by way of a cluster.
func TestAMadeUpClockIsForPracticeSites(t *testing.T) {
	n, x := newNode(t), newCrew(t)
	token := x.invite(events.RelayRole)
	token.Practice = false
	_, err := office(t, n, secret(t, 1)).Join(t.Context(), token)
	require.Error(t, err)
}

func TestPicturesInTheCluster(t *testing.T) {
	n := newNode(t)
	one, other := office(t, n, secret(t, 1)).album.shelf(), office(t, n, secret(t, 2)).album.shelf()
	content := []byte(strings.Repeat("photo", 300_000))
	sum := sha256.Sum256(content)
	name := hex.EncodeToString(sum[:])
	require.ErrorIs(t, one.Put(name, content[1:]), album.ErrWrong)
	require.NoError(t, one.Append(name, 0, content[:1000]))
	require.Error(t, one.Append(name, 1001, content[1001:]), "a piece that leaves a gap")
	require.ErrorIs(t, one.Finish(name, 1000), album.ErrWrong)
	require.Zero(t, one.Got(name))
	require.NoError(t, one.Append(name, 0, content[:1000]))
	require.NoError(t, one.Append(name, 1000, content[1000:]))
	require.False(t, one.Holds(name))
	require.NoError(t, one.Finish(name, int64(len(content))))
	require.True(t, one.Holds(name))
	until(t, "the other knows of it", func() bool { return other.Holds(name) })
	b, err := other.Read(name)
	require.NoError(t, err)
	require.Equal(t, content, b)
	piece, of, err := other.Piece(name, 10, 5)
	require.NoError(t, err)
	require.Equal(t, []any{"photo", int64(len(content))}, []any{string(piece), of})
	_, err = other.Read(strings.Repeat("0", 64))
	require.ErrorIs(t, err, fs.ErrNotExist)

	late := office(t, n, secret(t, 3)).album.shelf()
	until(t, "one that comes later knows of it", func() bool { return late.Holds(name) })
	_, err = one.g.objects.PutBytes(t.Context(), name, []byte("another"))
	require.NoError(t, err)
	lost, err := one.Check()
	require.NoError(t, err)
	require.Equal(t, []string{name}, lost, "an altered picture is missing")
	require.False(t, one.Holds(name))
	require.True(t, one.Damaged(name))
	require.NoError(t, one.Put(name, content))
	require.True(t, one.Holds(name))
}

// A photo goes from the lead's device through one relay to another, which hands it on.
func TestAPhotoGoesThroughTwoRelays(t *testing.T) {
	n, x := newNode(t), newCrew(t)
	var relays []*member.Member
	for i := range 2 {
		o := office(t, n, secret(t, byte(i)))
		_, err := o.Join(t.Context(), x.invite(events.RelayRole))
		require.NoError(t, err)
		relays = append(relays, opens(t, o))
	}
	content := []byte(strings.Repeat("picture", 100_000))
	p := events.Picture{SHA256: nameOf(content), Bytes: int64(len(content)), Type: "image/jpeg"}
	require.NoError(t, x.lead.KeepPicture(p, content))
	_, err := x.lead.Record(t.Context(), member.Entry{Payload: events.PhotoAdded{Of: events.Site(), Picture: p}})
	require.NoError(t, err)
	meet(t, relays[0], x.lead)
	views(t, relays[0], x.lead)
	until(t, "the other relay has it", func() bool { return relays[1].PicturesAway() == 0 })
	ben := x.joins("ben")
	meet(t, relays[1], ben)
	views(t, ben, relays[1])
	got, err := ben.Picture(p.SHA256)
	require.NoError(t, err)
	require.Equal(t, content, got)
}

// views fetches pictures from a member until nothing more is wanted.
func views(t *testing.T, to, from *member.Member) {
	t.Helper()
	fetch(t, to, from)
	for asks := to.PictureAsks(); len(asks) > 0; asks = to.PictureAsks() {
		for _, ask := range asks {
			reply := from.ShowHeld(ask.Encode())
			if ask.OfPiece() {
				reply = from.ShowPiece(busOf(to), ask.Encode())
			}
			_, err := to.PictureAnswered(t.Context(), ask, reply)
			require.NoError(t, err)
		}
	}
}
