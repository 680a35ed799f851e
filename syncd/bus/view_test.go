package bus

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/album"
	"pairwalk/syncd"
)

// painter is a hand that carries pictures; which ones entries speak of, all know.
type painter struct {
	*hand
	mu      sync.Mutex
	shelf   *album.Album
	gallery *syncd.Gallery
}

var _ Pictures = (*painter)(nil)

func (h *hand) paints(t *testing.T, named []events.Picture, images ...[]byte) *painter {
	t.Helper()
	shelf, err := album.Open(journal.Memory())
	require.NoError(t, err)
	p := &painter{hand: h, shelf: shelf, gallery: syncd.NewGallery(shelf)}
	p.gallery.Name(named)
	for _, b := range images {
		require.NoError(t, shelf.Put(pictureOf(b).SHA256, b))
	}
	return p
}

func (p *painter) sits(t *testing.T, listen string, pace pace) *desk {
	t.Helper()
	d := &desk{hand: p.hand, t: t, news: make(chan struct{})}
	b, err := openAlone(t.Context(), p, Options{Listen: listen, Notice: d.told}, pace)
	require.NoError(t, err)
	d.Bus = b
	t.Cleanup(func() { require.NoError(t, b.Close()) })
	return d
}

func (p *painter) Hear(k events.Key, have syncd.Have, asked events.Stamp) {
	p.hand.Hear(k, have, asked)
	p.mu.Lock()
	defer p.mu.Unlock()
	if asked != noStamp {
		p.gallery.Heard(k)
	}
}

func (p *painter) Left(k events.Key) {
	p.hand.Left(k)
	p.mu.Lock()
	defer p.mu.Unlock()
	p.gallery.Left(k)
}

func (p *painter) PictureAsks() []syncd.PictureAsk {
	p.hand.mu.Lock()
	busy := p.hand.exchange.Busy()
	p.hand.mu.Unlock()
	p.mu.Lock()
	defer p.mu.Unlock()
	if busy {
		return nil
	}
	return p.gallery.Asks()
}

func (p *painter) PictureAnswered(_ context.Context, ask syncd.PictureAsk, reply []byte) (n int, err error) {
	r := syncd.OpenPicture(ask, reply)
	p.mu.Lock()
	defer p.mu.Unlock()
	wrong := false
	if p.gallery.Open(ask.ID) && len(r.Bytes) > 0 {
		err = p.shelf.Append(ask.Piece.SHA256, ask.Piece.From, r.Bytes)
		if err == nil && r.Last() {
			err = p.shelf.Finish(ask.Piece.SHA256, r.Of)
			if wrong = errors.Is(err, album.ErrWrong); wrong {
				err = nil
			} else if err == nil {
				n = 1
			}
		}
	}
	return n, errors.Join(err, p.gallery.Took(r, wrong))
}

func (p *painter) PictureUnanswered(ask syncd.PictureAsk) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.gallery.Unanswered(ask.ID)
}

func (p *painter) ShowHeld(question []byte) []byte {
	return syncd.AnswerHeld(p.shelf, p.counts, question)
}

func (p *painter) ShowPiece(_ events.Key, question []byte) []byte {
	reply, _ := syncd.AnswerPiece(p.shelf, p.counts, question)
	return reply
}

func (p *painter) counts(name string) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.gallery.Counts(name)
}

// has says whether pictures are here, byte for byte.
func (p *painter) has(images ...[]byte) bool {
	for _, b := range images {
		if got, err := p.shelf.Read(pictureOf(b).SHA256); err != nil || !bytes.Equal(got, b) {
			return false
		}
	}
	return true
}

func pictureOf(b []byte) events.Picture {
	sum := sha256.Sum256(b)
	return events.Picture{SHA256: hex.EncodeToString(sum[:]), Bytes: int64(len(b)), Type: "image/png"}
}

func images(sizes ...int) (all [][]byte, named []events.Picture) {
	for i, n := range sizes {
		b := bytes.Repeat([]byte{byte(i), 'a', byte(n), byte(n >> 8), 0}, n/5+1)[:n]
		all, named = append(all, b), append(named, pictureOf(b))
	}
	return all, named
}

// Pictures go from one to another to a third, with no question due for an hour.
func TestPicturesArePassedOn(t *testing.T) {
	var site roster
	all, named := images(1000, 900_000, syncd.MaxPiece)
	ann, ben, cas := site.hire("Ann", 1).paints(t, named, all...), site.hire("Ben", 2).paints(t, named), site.hire("Cas", 3).paints(t, named)
	ann.notes(5)
	a, b := ann.sits(t, "127.0.0.1:0", calm()), ben.sits(t, "127.0.0.1:0", calm())
	c := cas.sits(t, "", calm())
	c.Call(b.addr())
	c.hears(Same, b.id(), 1)
	b.Call(a.addr())
	b.until("the pictures are here", func() bool { return ben.has(all...) })
	b.hears(Pictured, a.id(), 1)
	c.until("the pictures are passed on", func() bool { return cas.has(all...) })
	c.hears(Pictured, b.id(), 1)
	require.Zero(t, a.count(Pictured, b.id()))
	for _, d := range []*desk{a, b, c} {
		for _, o := range []*desk{a, b, c} {
			require.Zero(t, d.count(Complaint, o.id()))
			require.Zero(t, d.count(Left, o.id()))
		}
	}
}

// A member that carries no pictures, as an older one, exchanges entries as ever.
func TestAMemberWithoutPictures(t *testing.T) {
	var site roster
	all, named := images(1000)
	ann, old := site.hire("Ann", 1).paints(t, named, all...), site.hire("Old", 2)
	a := ann.sits(t, "127.0.0.1:0", brisk)
	o := old.sits(t, "")
	o.Call(a.addr())
	for range 20 {
		a.notes(1)
		o.agrees(a)
		o.notes(1)
		a.agrees(o)
	}
	a.until("she knows", func() bool {
		ann.mu.Lock()
		defer ann.mu.Unlock()
		return ann.gallery.Towards(o.id()).Mute
	})
	for _, d := range []*desk{a, o} {
		require.Zero(t, d.count(Left, a.id())+d.count(Left, o.id())+d.count(Complaint, a.id())+d.count(Complaint, o.id()))
	}
}

// comes has an imp say that it is here, once the server's own member is there to
// hear it.
func comes(a *desk, nc *nats.Conn, h *hand) {
	a.until("on its own bus", func() bool {
		a.Bus.mu.Lock()
		defer a.Bus.mu.Unlock()
		return len(a.lines) > 0
	})
	require.NoError(a.t, nc.Publish(toAll(sayHere, h.id()), nil))
}

// On an older server questions about pictures get nowhere, and no answer says so.
// Whoever leaves them unanswered has not left.
func TestQuestionsAboutPicturesGetNowhere(t *testing.T) {
	var site roster
	hasty := brisk
	hasty.answer = 100 * time.Millisecond
	all, named := images(1000)
	ann, kim := site.hire("Ann", 1).paints(t, named, all...), site.hire("Kim", 3)
	a := ann.sits(t, "127.0.0.1:0", hasty)
	nc := imp(t, kim, a)
	answers(t, nc, kim, askClock, func([]byte) []byte { return syncd.AnswerClock(kim.Stamp) })
	answers(t, nc, kim, askHave, func([]byte) []byte { return kim.Have().Encode() })
	answers(t, nc, kim, askPull, kim.answer)
	var asked atomic.Int64
	answers(t, nc, kim, askHeld, func([]byte) []byte { asked.Add(1); return nil })
	comes(a, nc, kim)
	a.until("asked again and again", func() bool { return asked.Load() >= 3 })
	require.Equal(t, 1, a.count(Here, kim.id()))
	require.Zero(t, a.count(Left, kim.id()))
}

// One who says that it holds a picture and hands over another is found out, and the
// picture comes from somebody else.
func TestAPictureThatIsAnother(t *testing.T) {
	var site roster
	all, named := images(syncd.MaxPiece + 1000)
	ann, ben, kim := site.hire("Ann", 1).paints(t, named), site.hire("Ben", 2).paints(t, named, all...), site.hire("Kim", 3)
	a := ann.sits(t, "127.0.0.1:0", brisk)
	nc := imp(t, kim, a)
	answers(t, nc, kim, askClock, func([]byte) []byte { return syncd.AnswerClock(kim.Stamp) })
	answers(t, nc, kim, askHave, func([]byte) []byte { return kim.Have().Encode() })
	answers(t, nc, kim, askPull, kim.answer)
	answers(t, nc, kim, askHeld, ben.ShowHeld)
	answers(t, nc, kim, askPiece, func(question []byte) []byte {
		reply := ben.ShowPiece("", question)
		reply[len(reply)-1] ^= 1
		return reply
	})
	comes(a, nc, kim)
	a.hears(Complaint, kim.id(), 1)
	require.Contains(t, a.story(), "not what its name says")
	require.False(t, ann.has(all...))
	b := ben.sits(t, "", brisk)
	b.Call(a.addr())
	a.until("the picture is here", func() bool { return ann.has(all...) })
	a.hears(Pictured, b.id(), 1)
}
