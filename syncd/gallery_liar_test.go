package syncd_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/syncd"
)

// lying is a peer that hands over something else than the picture.
func (s *shop) lying(lie func(piece []byte)) seller {
	honest := s.seller()
	return seller{s.key, func(ask syncd.PictureAsk) []byte {
		reply := honest.answer(ask)
		if ask.OfPiece() {
			lie(reply)
		}
		return reply
	}}
}

func lastByte(reply []byte) { reply[len(reply)-1] ^= 1 }

func TestALiarIsFoundOutAndAnotherIsAsked(t *testing.T) {
	images, named := album1(syncd.MaxPiece*2+5, 300)
	liar, ada, ben := newShop(t, 1, named...).holds(images...), newShop(t, 3, named...).holds(images...), newShop(t, 2, named...)
	for range 8 {
		ben.meets(-1, liar.lying(lastByte))
	}
	for _, p := range named {
		require.False(t, ben.shelf.Holds(p.SHA256))
		require.Zero(t, ben.shelf.Got(p.SHA256))
	}
	require.Equal(t, []string{"sent a picture that is not what its name says", "sent a picture that is not what its name says"}, ben.blame)
	require.Equal(t, len(images[0])+len(images[1]), ben.bytes[liar.key], "each picture was taken from it once")
	require.Zero(t, ben.g.Towards(liar.key).Want)
	ben.meets(-1, liar.lying(lastByte), ada.seller())
	ben.requireHas(images...)
}

// Where a liar and an honest peer had a hand in a picture nobody is blamed; the
// next try tells who it was.
func TestALiarsPieceAmongOthers(t *testing.T) {
	images, named := album1(syncd.MaxPiece * 6)
	liar, ada, ben := newShop(t, 1, named...).holds(images...), newShop(t, 3, named...).holds(images...), newShop(t, 2, named...)
	ben.meets(3, liar.lying(lastByte))
	ben.g.Left(liar.key)
	ben.meets(-1, ada.seller())
	require.Empty(t, ben.blame, "it can't be told who")
	ben.requireHas(images...)
	require.Equal(t, syncd.MaxPiece*(4+6), ben.bytes[ada.key], "she began at the first byte again")

	cas := newShop(t, 4, named...)
	cas.meets(3, ada.seller())
	cas.g.Left(ada.key)
	for range 4 {
		cas.meets(-1, liar.lying(lastByte))
	}
	require.Len(t, cas.blame, 1, "alone with it from the first byte on, the liar is found out")
	cas.meets(-1, liar.lying(lastByte), ada.seller())
	cas.requireHas(images...)
	require.LessOrEqual(t, cas.bytes[liar.key], syncd.MaxPiece*(4+6))
}

func TestWhatIsTooLargeIsNeverAskedFor(t *testing.T) {
	images, named := album1(1000, 2000)
	named[0].Bytes = events.MaxPicture + 1
	ada, ben := newShop(t, 1, named...).holds(images...), newShop(t, 2, named...)
	require.Equal(t, 2, ben.meets(-1, ada.seller()))
	require.False(t, ben.shelf.Holds(named[0].SHA256))
	ben.requireHas(images[1])
}

// Two entries say a different size of one picture: the right one can be had.
func TestAnEntryThatLiesAboutASize(t *testing.T) {
	images, named := album1(300_000)
	more, less := named[0], named[0]
	more.Bytes, less.Bytes = 20<<20, 5
	ada := newShop(t, 1, named...).holds(images...)
	ben := newShop(t, 2, less, more)
	for range 3 {
		ben.meets(-1, ada.seller())
	}
	require.Zero(t, ben.bytes[ada.key], "what is held is not what was named")
	require.Empty(t, ben.blame)
	ben.g.Name([]events.Picture{less, more, named[0]})
	ben.meets(-1, ada.seller())
	ben.requireHas(images...)

	cas, liar := newShop(t, 4, less, more, named[0]), newShop(t, 5)
	bomb := seller{liar.key, func(ask syncd.PictureAsk) []byte {
		if !ask.OfPiece() {
			return []byte(`{"v":1,"held":"1"}`)
		}
		return pieceReply(ask, 20<<20, make([]byte, ask.Piece.Max))
	}}
	cas.meets(4, bomb) // which says that it is larger than it is
	cas.g.Left(liar.key)
	cas.meets(-1, ada.seller())
	cas.requireHas(images...)
	require.Empty(t, cas.blame, "ada sent what there is")
}

func pieceReply(ask syncd.PictureAsk, of int, b []byte) []byte {
	head, _ := json.Marshal(map[string]any{"v": 1, "picture": ask.Piece.SHA256, "is": "piece", "from": ask.Piece.From, "of": of})
	return append(append(head, '\n'), b...)
}

func TestRepliesThatKeepToNothing(t *testing.T) {
	images, named := album1(syncd.MaxPiece * 3)
	honest := newShop(t, 9, named...).holds(images...).seller()
	for name, tt := range map[string]struct {
		lie   func(ask syncd.PictureAsk) []byte
		blame string
	}{
		"text":        {func(syncd.PictureAsk) []byte { return []byte("hello") }, "sent what is no piece"},
		"nothing":     {func(syncd.PictureAsk) []byte { return []byte{} }, "sent what is no piece"},
		"too few":     {func(a syncd.PictureAsk) []byte { return pieceReply(a, len(images[0]), []byte{1}) }, "sent 1 bytes of a picture where"},
		"too many":    {func(a syncd.PictureAsk) []byte { return pieceReply(a, len(images[0]), make([]byte, a.Piece.Max+1)) }, "bytes of a picture where"},
		"other place": {func(a syncd.PictureAsk) []byte { a.Piece.From++; return pieceReply(a, len(images[0]), nil) }, "sent another piece"},
		"other name":  {func(a syncd.PictureAsk) []byte { a.Piece.SHA256 = "x"; return pieceReply(a, len(images[0]), nil) }, "sent another piece"},
		"other size":  {func(a syncd.PictureAsk) []byte { return pieceReply(a, 1<<40, nil) }, ""},
		"unknown":     {func(a syncd.PictureAsk) []byte { return []byte(`{"v":1,"is":"unknown"}`) }, ""},
		"refused":     {func(a syncd.PictureAsk) []byte { return []byte(`{"v":1,"is":"refused"}`) }, ""},
		"version":     {func(a syncd.PictureAsk) []byte { return []byte(`{"v":2,"is":"piece"}`) }, "sent what is no piece"},
		"silence":     {func(a syncd.PictureAsk) []byte { return nil }, ""},
	} {
		t.Run(name, func(t *testing.T) {
			ben := newShop(t, 2, named...)
			ill := seller{honest.key, func(a syncd.PictureAsk) []byte {
				if a.OfPiece() {
					return tt.lie(a)
				}
				return honest.answer(a)
			}}
			asks := 0
			for range 20 {
				asks += ben.meets(-1, ill)
			}
			require.Less(t, asks, 60, "it costs a few questions a round")
			require.Zero(t, ben.bytes[ill.key])
			if tt.blame == "" {
				require.Empty(t, ben.blame)
			} else {
				require.NotEmpty(t, ben.blame)
				require.Contains(t, ben.blame[0], tt.blame)
				require.Less(t, len(ben.blame), 7, "it is passed over for longer each time")
			}
			for range 70 {
				ben.meets(-1, honest)
			}
			ben.requireHas(images...)
		})
	}
}

func TestOddAnswersToWhatIsHeld(t *testing.T) {
	_, named := album1(10, 20)
	for _, answer := range []string{"", "x", `{"v":1,"held":"1"}`, `{"v":1,"held":"111"}`, `{"v":2,"held":"11"}`} {
		ben, odd := newShop(t, 2, named...), busKey(7)
		require.Equal(t, 1, ben.meets(-1, seller{odd, func(syncd.PictureAsk) []byte { return []byte(answer) }}))
		require.Len(t, ben.blame, 1)
		require.False(t, ben.g.Towards(odd).Said)
	}
}

// Who says that it holds everything and hands over nothing costs a few questions a
// round.
func TestAnEmptyBoast(t *testing.T) {
	sizes := make([]int, 50)
	for i := range sizes {
		sizes[i] = 100 + i
	}
	images, named := album1(sizes...)
	ada, ben, sam := newShop(t, 1, named...).holds(images...), newShop(t, 2, named...), newShop(t, 3, named...)
	boast := seller{sam.key, func(ask syncd.PictureAsk) []byte {
		if ask.OfPiece() {
			return sam.seller().answer(ask)
		}
		return ada.seller().answer(ask)
	}}
	for range 10 {
		require.LessOrEqual(t, ben.meets(-1, boast), 10)
	}
	require.Empty(t, ben.blame, "his disk may have lost them")
	ben.meets(-1, boast, ada.seller())
	ben.requireHas(images...)
}
