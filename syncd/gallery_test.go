package syncd_test

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io/fs"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/album"
	"pairwalk/syncd"
)

// shop is a member's pictures and its side of the exchange of them.
type shop struct {
	t     *testing.T
	key   events.Key
	shelf *album.Album
	g     *syncd.Gallery
	named []events.Picture
	bytes map[events.Key]int // that came from each
	blame []string
}

func newShop(t *testing.T, name uint64, named ...events.Picture) *shop {
	t.Helper()
	a, err := album.Open(journal.Memory())
	require.NoError(t, err)
	s := &shop{t: t, key: busKey(name), shelf: a, named: named, bytes: map[events.Key]int{}}
	s.restart()
	return s
}

// restart begins the exchange afresh, as after a break.
func (s *shop) restart() {
	s.g = syncd.NewGallery(s.shelf)
	s.g.Name(s.named)
}

func (s *shop) holds(pictures ...[]byte) *shop {
	s.t.Helper()
	for _, b := range pictures {
		require.NoError(s.t, s.shelf.Put(pictureOf(b).SHA256, b))
	}
	return s
}

// image is a picture's content.
func image(seed byte, size int) []byte {
	b := make([]byte, size)
	for i := range b {
		b[i] = seed ^ byte(i*31) ^ byte(i>>8)
	}
	return b
}

func pictureOf(b []byte) events.Picture {
	sum := sha256.Sum256(b)
	return events.Picture{SHA256: hex.EncodeToString(sum[:]), Bytes: int64(len(b)), Type: "image/jpeg"}
}

func album1(sizes ...int) (images [][]byte, named []events.Picture) {
	for i, n := range sizes {
		b := image(byte(i+1), n)
		images, named = append(images, b), append(named, pictureOf(b))
	}
	return images, named
}

// seller is whoever can be asked about pictures; it answers nothing with nil.
type seller struct {
	key    events.Key
	answer func(ask syncd.PictureAsk) []byte
}

func (s *shop) seller() seller {
	return seller{s.key, func(ask syncd.PictureAsk) []byte {
		if !ask.OfPiece() {
			return syncd.AnswerHeld(s.shelf, s.g.Counts, ask.Encode())
		}
		reply, _ := syncd.AnswerPiece(s.shelf, s.g.Counts, ask.Encode())
		return reply
	}}
}

// meets is a round with peers: it asks until nothing is to be asked, or for so
// many answers, and counts the asks.
func (s *shop) meets(most int, peers ...seller) (asks int) {
	s.t.Helper()
	for _, p := range peers {
		s.g.Heard(p.key)
	}
	var open []syncd.PictureAsk
	for {
		open = append(open, s.g.Asks()...)
		of := map[events.Key]int{}
		for _, ask := range open {
			of[ask.Peer]++
			require.Equal(s.t, 1, of[ask.Peer], "one thing at a time of each peer")
		}
		if len(open) == 0 || asks == most {
			return asks
		}
		ask := open[0]
		open = open[1:]
		asks++
		require.Less(s.t, asks, 5000, "asks without end")
		for _, p := range peers {
			if p.key == ask.Peer {
				s.answered(ask, p.answer(ask))
			}
		}
	}
}

// answered keeps what a reply holds, as a member does.
func (s *shop) answered(ask syncd.PictureAsk, reply []byte) {
	s.t.Helper()
	if reply == nil {
		s.g.Unanswered(ask.ID)
		return
	}
	r := syncd.OpenPicture(ask, reply)
	if !s.g.Open(ask.ID) {
		return
	}
	wrong := false
	if len(r.Bytes) > 0 {
		s.bytes[ask.Peer] += len(r.Bytes)
		require.NoError(s.t, s.shelf.Append(ask.Piece.SHA256, ask.Piece.From, r.Bytes))
	}
	if r.Last() {
		err := s.shelf.Finish(ask.Piece.SHA256, r.Of)
		if wrong = errors.Is(err, album.ErrWrong); !wrong {
			require.NoError(s.t, err)
		}
	}
	if c := (*syncd.Complaint)(nil); errors.As(s.g.Took(r, wrong), &c) {
		require.Equal(s.t, ask.Peer, c.Peer)
		s.blame = append(s.blame, c.Why)
	}
}

// requireHas says that pictures are here, byte for byte.
func (s *shop) requireHas(images ...[]byte) {
	s.t.Helper()
	for _, b := range images {
		got, err := s.shelf.Read(pictureOf(b).SHA256)
		require.NoError(s.t, err)
		require.Equal(s.t, b, got)
	}
}

func TestPicturesComeWhereTheyAreNamed(t *testing.T) {
	images, named := album1(1000, 700_000, syncd.MaxPiece)
	ada, ben := newShop(t, 1, named...).holds(images...), newShop(t, 2, named[:2]...)
	ada.g.Heard(ben.key)
	require.Equal(t, 1+1+3, ben.meets(-1, ada.seller()), "one question for what is held, and one for each piece")
	ben.requireHas(images[:2]...)
	require.False(t, ben.shelf.Holds(named[2].SHA256), "no entry that he knows speaks of it")
	require.Equal(t, 701_000, ben.bytes[ada.key])
	require.Zero(t, ben.meets(-1, ada.seller()), "a second time nothing is asked")
	require.Equal(t, syncd.Showing{Said: true, From: 701_000}, ben.g.Towards(ada.key))
	require.Equal(t, []events.Key{ada.key}, ben.g.HeldBy(named[0].SHA256))

	require.Equal(t, 1, ada.meets(-1, ben.seller()))
	require.Equal(t, 1, ada.g.Towards(ben.key).Lack, "she knows that he has not the third")
	ben.named = named
	ben.g.Name(named)
	ben.meets(-1, ada.seller())
	ben.requireHas(images...)
	ada.g.Gave(ben.key, syncd.MaxPiece)
	require.Equal(t, 1, ada.g.Towards(ben.key).Lack, "whether he could keep it he has to say")
	ada.meets(-1, ben.seller())
	require.Zero(t, ada.g.Towards(ben.key).Lack)
	require.Equal(t, int64(syncd.MaxPiece), ada.g.Towards(ben.key).To)
}

// What was here when a link broke or a process died is not fetched again.
func TestAPictureGoesOnWhereItStopped(t *testing.T) {
	images, named := album1(10*syncd.MaxPiece + 77)
	ada, cas, ben := newShop(t, 1, named...).holds(images...), newShop(t, 3, named...).holds(images...), newShop(t, 2, named...)
	ben.meets(5, ada.seller())
	ben.g.Left(ada.key)
	ben.meets(4, cas.seller())
	ben.restart()
	require.Equal(t, int64((4+3)*syncd.MaxPiece), ben.shelf.Got(named[0].SHA256))
	ben.meets(-1, ada.seller())
	ben.requireHas(images...)
	require.Equal(t, len(images[0]), ben.bytes[ada.key]+ben.bytes[cas.key], "no byte came twice")
	require.Equal(t, 3*syncd.MaxPiece, ben.bytes[cas.key])
	require.Empty(t, ben.blame)
}

// A part that was whole when the process died costs one byte more.
func TestAWholePartIsFinished(t *testing.T) {
	images, named := album1(3000)
	ada, ben := newShop(t, 1, named...).holds(images...), newShop(t, 2, named...)
	require.NoError(t, ben.shelf.Append(named[0].SHA256, 0, images[0]))
	ben.meets(-1, ada.seller())
	ben.requireHas(images...)
	require.Equal(t, 1, ben.bytes[ada.key])
}

func TestTwoPeersShareTheWork(t *testing.T) {
	images, named := album1(syncd.MaxPiece*4, syncd.MaxPiece*4)
	ada, cas, ben := newShop(t, 1, named...).holds(images...), newShop(t, 3, named...).holds(images...), newShop(t, 2, named...)
	ben.meets(-1, ada.seller(), cas.seller())
	ben.requireHas(images...)
	require.Equal(t, syncd.MaxPiece*4, ben.bytes[ada.key], "each gave one")
	require.Equal(t, syncd.MaxPiece*4, ben.bytes[cas.key])
}

// A member of an older version has no ear for these questions. It is asked more and
// more rarely; and answers, once it is newer.
func TestAnOlderMember(t *testing.T) {
	images, named := album1(1000)
	ada, ben := newShop(t, 1, named...).holds(images...), newShop(t, 2, named...)
	deaf, asks := seller{ada.key, func(syncd.PictureAsk) []byte { return nil }}, 0
	for range 100 {
		asks += ben.meets(-1, deaf)
	}
	require.Greater(t, asks, 4)
	require.Less(t, asks, 20)
	require.Empty(t, ben.blame)
	require.True(t, ben.g.Towards(ada.key).Mute)
	for range 70 {
		ben.meets(-1, ada.seller())
	}
	ben.requireHas(images...)
	require.False(t, ben.g.Towards(ada.key).Mute)
}

// Over a link too slow for a large piece smaller ones come through.
func TestASlowLink(t *testing.T) {
	images, named := album1(syncd.MaxPiece)
	ada, ben := newShop(t, 1, named...).holds(images...), newShop(t, 2, named...)
	slow := seller{ada.key, func(ask syncd.PictureAsk) []byte {
		if ask.Piece.Max > 40_000 {
			return nil
		}
		return ada.seller().answer(ask)
	}}
	for range 40 {
		ben.meets(-1, slow)
	}
	ben.requireHas(images...)
	require.Equal(t, len(images[0]), ben.bytes[ada.key])
}

// What is of nobody's entry is nobody's to ask for.
func TestOnlyNamedPicturesAreShown(t *testing.T) {
	images, named := album1(1000, 2000)
	ada := newShop(t, 1, named[0]).holds(images...)
	require.JSONEq(t, `{"v":1,"held":"10"}`, string(ada.seller().answer(syncd.PictureAsk{Named: []string{named[0].SHA256, named[1].SHA256}})))
	reply := ada.seller().answer(syncd.PictureAsk{Piece: syncd.Piece{SHA256: named[1].SHA256, Max: 10}})
	require.Contains(t, string(reply), `"unknown"`)
	reply, given := syncd.AnswerPiece(ada.shelf, ada.g.Counts, []byte("what?"))
	require.Contains(t, string(reply), `"refused"`)
	require.Zero(t, given)
	require.Nil(t, syncd.AnswerHeld(ada.shelf, ada.g.Counts, []byte("what?")))
	_, err := ada.shelf.Read("x")
	require.ErrorIs(t, err, fs.ErrNotExist)
}

// Many pictures are asked after in several questions, and left out once known.
func TestManyPictures(t *testing.T) {
	var named []events.Picture
	for i := range 2*syncd.MaxNamed + 1 {
		named = append(named, pictureOf(image(byte(i), 4+i/256)))
	}
	ada, ben := newShop(t, 1, named...), newShop(t, 2, named...)
	require.Equal(t, 3, ben.meets(-1, ada.seller()))
	require.Equal(t, 3, ben.meets(-1, ada.seller()), "who did not hold it may by the next round")
	require.True(t, ben.g.Towards(ada.key).Said)
}

// What can wait waits for entries, but not for those of a peer that leaves what it
// is asked unanswered.
func TestBusyWithEntries(t *testing.T) {
	lines, slow := feed(1, 5), feed(2, 5)
	ada, sam, ben := newMember(t, 1).holds(lines), newMember(t, 3).holds(slow), newMember(t, 2)
	require.False(t, ben.x.Busy())
	ben.hears(ada.peer(), sam.peer())
	asks := ben.x.Asks()
	require.Len(t, asks, 2)
	require.True(t, ben.x.Busy())
	for _, ask := range asks {
		if ask.Peer == ada.key {
			_, err := ben.answered(ask, ada.peer().answer(ask.Pull.Encode()))
			require.NoError(t, err)
		} else {
			ben.x.Unanswered(ask.ID)
		}
	}
	for asks := ben.x.Asks(); len(asks) > 0; asks = ben.x.Asks() {
		for _, ask := range asks {
			_, err := ben.answered(ask, ada.peer().answer(ask.Pull.Encode()))
			require.NoError(t, err)
		}
	}
	ben.hears(sam.peer())
	require.NotEmpty(t, ben.x.Asks())
	require.False(t, ben.x.Busy(), "sam left his last one unanswered")
}
