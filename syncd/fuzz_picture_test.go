package syncd_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/album"
	"pairwalk/syncd"
)

// Whatever is asked about pictures, only those that entries speak of are told of,
// and no more of them than a piece.
func FuzzAnswerPictures(f *testing.F) {
	images, named := album1(1000, 300_000)
	shelf, err := album.Open(journal.Memory())
	require.NoError(f, err)
	for i, b := range images {
		require.NoError(f, shelf.Put(named[i].SHA256, b))
	}
	counts := func(name string) bool { return name == named[0].SHA256 }
	for _, ask := range []syncd.PictureAsk{
		{Named: []string{named[0].SHA256, named[1].SHA256}},
		{Piece: syncd.Piece{SHA256: named[0].SHA256, From: 990, Max: 1 << 30}}, {Piece: syncd.Piece{SHA256: named[1].SHA256, Max: 1}},
		{Piece: syncd.Piece{SHA256: named[0].SHA256, From: events.MaxPicture, Max: 1}},
	} {
		f.Add(ask.Encode())
	}
	f.Add([]byte("{}"))
	f.Fuzz(func(t *testing.T, question []byte) {
		if names, err := syncd.DecodeNamed(question); err == nil {
			again, err := syncd.DecodeNamed((&syncd.PictureAsk{Named: names}).Encode())
			require.NoError(t, err)
			require.Equal(t, names, again)
			require.LessOrEqual(t, len(syncd.AnswerHeld(shelf, counts, question)), syncd.MaxNamed+32)
		}
		if p, err := syncd.DecodePiece(question); err == nil {
			again, err := syncd.DecodePiece((&syncd.PictureAsk{Piece: p}).Encode())
			require.NoError(t, err)
			require.Equal(t, p, again)
		}
		reply, given := syncd.AnswerPiece(shelf, counts, question)
		_, body, _ := bytes.Cut(reply, []byte{'\n'})
		require.Equal(t, given, len(body))
		require.LessOrEqual(t, given, syncd.MaxPiece)
		if given > 0 {
			require.True(t, bytes.Contains(images[0], body))
		}
	})
}

// Whatever a reply is, what comes out of it keeps to what was asked for.
func FuzzOpenPicture(f *testing.F) {
	images, named := album1(1000)
	ben := newGallery(named)
	held := ben.Asks()[0]
	require.NoError(f, ben.Took(syncd.OpenPicture(held, []byte(`{"v":1,"held":"1"}`)), false))
	ask := ben.Asks()[0]
	require.True(f, ask.OfPiece())
	for _, reply := range [][]byte{
		pieceReply(ask, 1000, images[0]), pieceReply(ask, 1000, images[0][1:]), pieceReply(ask, 5, nil), []byte(`{"v":1,"is":"unknown"}`),
		[]byte(`{"v":1,"held":"1"}`), nil, noise(500),
	} {
		f.Add(reply)
	}
	f.Fuzz(func(t *testing.T, reply []byte) {
		r := syncd.OpenPicture(ask, reply)
		require.Contains(t, []int{0, 1000}, len(r.Bytes))
		require.Equal(t, len(r.Bytes) == 1000, r.Last())
		syncd.OpenPicture(held, reply)
	})
}

// newGallery knows one peer, and holds nothing.
func newGallery(named []events.Picture) *syncd.Gallery {
	shelf, err := album.Open(journal.Memory())
	if err != nil {
		panic(err)
	}
	g := syncd.NewGallery(shelf)
	g.Name(named)
	g.Heard(busKey(1))
	return g
}
