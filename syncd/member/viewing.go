package member

import (
	"context"
	"errors"
	"slices"

	"pairwalk/events"
	"pairwalk/events/journal/album"
	"pairwalk/syncd"
)

// This file is the exchange of pictures as a carrier drives it. It follows that of
// entries: a carrier asks for pictures once Asks has nothing more to say.

// PictureAsks is what to ask about pictures now, and of whom: nothing while entries
// are on their way. Each must be followed by PictureAnswered or PictureUnanswered,
// or its peer by Left.
func (m *Member) PictureAsks() []syncd.PictureAsk {
	m.talk.Lock()
	busy := m.exchange.Busy()
	m.talk.Unlock()
	if busy {
		return nil
	}
	m.names()
	m.pictures.mu.Lock()
	defer m.pictures.mu.Unlock()
	return m.pictures.gallery.Asks()
}

// names tells the gallery which pictures entries speak of.
func (m *Member) names() {
	m.mu.Lock()
	if !m.pictured {
		m.mu.Unlock()
		return
	}
	s := m.folded()
	m.mu.Unlock()
	m.pictures.mu.Lock()
	defer m.pictures.mu.Unlock()
	if m.pictures.of == s {
		return
	}
	m.pictures.of = s
	var all []events.Picture
	for _, p := range picturesOf(s) {
		all = append(all, p.Picture)
	}
	m.pictures.gallery.Name(all)
}

// PictureAnswered takes in a reply, and says how many pictures are here with it
// that were not: none, or one, which is durable. The error is a *syncd.Complaint
// where the peer is at fault, and otherwise says why nothing could be kept.
func (m *Member) PictureAnswered(_ context.Context, ask syncd.PictureAsk, reply []byte) (int, error) {
	r := syncd.OpenPicture(ask, reply)
	whole, err := m.takePicture(r)
	if whole > 0 {
		m.pictureCame()
	}
	return whole, err
}

func (m *Member) takePicture(r syncd.PictureReply) (whole int, err error) {
	m.pictures.mu.Lock()
	defer m.pictures.mu.Unlock()
	g := m.pictures.gallery
	if !g.Open(r.Ask.ID) {
		return 0, nil
	}
	name, wrong := r.Ask.Piece.SHA256, false
	if len(r.Bytes) > 0 {
		err = m.album.Append(name, r.Ask.Piece.From, r.Bytes)
	}
	if err == nil && r.Last() {
		err = m.album.Finish(name, r.Of)
		if wrong = errors.Is(err, album.ErrWrong); wrong {
			err = nil
		} else if err == nil {
			whole = 1
		}
	}
	if err != nil {
		m.pictures.why = err.Error()
		g.Failed(r.Ask.ID)
		return 0, err
	}
	if len(r.Bytes) > 0 {
		m.pictures.why = ""
	}
	return whole, g.Took(r, wrong)
}

// PictureUnanswered notes that nothing came of an ask.
func (m *Member) PictureUnanswered(ask syncd.PictureAsk) {
	m.pictures.mu.Lock()
	defer m.pictures.mu.Unlock()
	m.pictures.gallery.Unanswered(ask.ID)
}

// ShowHeld answers a peer that asks which pictures are here, whatever its bytes
// are.
func (m *Member) ShowHeld(question []byte) []byte {
	m.names()
	return syncd.AnswerHeld(m.album, m.counts, question)
}

// ShowPiece answers a peer that asks for a piece of a picture.
func (m *Member) ShowPiece(peer events.Key, question []byte) []byte {
	m.names()
	reply, given := syncd.AnswerPiece(m.album, m.counts, question)
	m.pictures.mu.Lock()
	defer m.pictures.mu.Unlock()
	m.pictures.gallery.Gave(peer, given)
	return reply
}

// counts says whether an entry that counts speaks of a picture.
func (m *Member) counts(sha256 string) bool {
	m.pictures.mu.Lock()
	defer m.pictures.mu.Unlock()
	return m.pictures.gallery.Counts(sha256)
}

// Showing is how things stand with a peer in pictures.
func (m *Member) Showing(peer events.Key) syncd.Showing {
	m.names()
	m.pictures.mu.Lock()
	defer m.pictures.mu.Unlock()
	return m.pictures.gallery.Towards(peer)
}

// picturesHeard is a new round with a peer, and picturesLeft its end.
func (m *Member) picturesHeard(peer events.Key) {
	m.pictures.mu.Lock()
	defer m.pictures.mu.Unlock()
	m.pictures.gallery.Heard(peer)
}

func (m *Member) picturesLeft(peer events.Key) {
	m.pictures.mu.Lock()
	defer m.pictures.mu.Unlock()
	m.pictures.gallery.Left(peer)
}

// speaksOfPicture says whether an entry names a picture.
func speaksOfPicture(e *events.Event) bool {
	return slices.Contains([]events.Kind{"photo.added", "drawing.placed"}, e.Kind())
}
