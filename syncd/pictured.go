package syncd

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"pairwalk/events"
)

// Bounds on questions about pictures.
const (
	MaxNamed = 1024      // pictures that one question names
	MaxPiece = 256 << 10 // bytes of a piece, of which one is on its way from a peer
	minPiece = 16 << 10  // of one over a link so slow that larger ones do not come through
)

var pictureName = regexp.MustCompile(`^[0-9a-f]{64}$`)

// Piece is a part of a picture.
type Piece struct {
	SHA256 string
	From   int64
	Max    int // bytes; fewer come only where the picture ends
}

// PictureAsk is a question to be sent to a peer: which of these pictures it holds,
// or a piece of one.
type PictureAsk struct {
	ID    uint64
	Peer  events.Key // its bus key
	Named []string   // which of these are held; empty where a piece is asked for
	Piece Piece

	sizes []int64 // what entries say of the picture's size
}

// OfPiece says whether a piece is asked for.
func (a *PictureAsk) OfPiece() bool { return len(a.Named) == 0 }

type heldWire struct {
	V        int      `json:"v"`
	Pictures []string `json:"pictures"`
}

type heldReply struct {
	V    int    `json:"v"`
	Held string `json:"held"` // 1 or 0 for each that was named
}

type pieceWire struct {
	V       int    `json:"v"`
	Picture string `json:"picture"`
	From    int64  `json:"from"`
	Max     int    `json:"max"`
}

type pieceHead struct {
	V       int     `json:"v"`
	Picture string  `json:"picture"`
	Is      outcome `json:"is"`
	From    int64   `json:"from"`
	Of      int64   `json:"of"` // bytes of the whole
}

// piece is what a reply to a question for one is, where it is not unknown or
// refused.
const piece outcome = "piece"

func written(v any) []byte {
	b, err := json.Marshal(v)
	if err != nil {
		panic("write message: " + err.Error()) // strings and numbers always encode
	}
	return b
}

// Encode writes an ask as bytes.
func (a *PictureAsk) Encode() []byte {
	if a.OfPiece() {
		return written(pieceWire{Version, a.Piece.SHA256, a.Piece.From, a.Piece.Max})
	}
	return written(heldWire{Version, a.Named})
}

// DecodeNamed reads a question for what is held.
func DecodeNamed(b []byte) ([]string, error) {
	var w heldWire
	if len(b) > 128*MaxNamed {
		return nil, fmt.Errorf("read names of pictures: %d bytes are too many", len(b))
	}
	if err := json.Unmarshal(b, &w); err != nil {
		return nil, fmt.Errorf("read names of pictures: %w", err)
	}
	odd := func(name string) bool { return !pictureName.MatchString(name) }
	if w.V != Version || len(w.Pictures) == 0 || len(w.Pictures) > MaxNamed || slices.ContainsFunc(w.Pictures, odd) {
		return nil, errors.New("read names of pictures: these are none")
	}
	return w.Pictures, nil
}

// DecodePiece reads a question for a piece.
func DecodePiece(b []byte) (Piece, error) {
	var w pieceWire
	if len(b) > 1024 {
		return Piece{}, fmt.Errorf("read question for a piece: %d bytes are too many", len(b))
	}
	if err := json.Unmarshal(b, &w); err != nil {
		return Piece{}, fmt.Errorf("read question for a piece: %w", err)
	}
	if w.V != Version || !pictureName.MatchString(w.Picture) || w.From < 0 || w.From > events.MaxPicture || w.Max < 1 {
		return Piece{}, errors.New("read question for a piece: out of range")
	}
	return Piece{w.Picture, w.From, w.Max}, nil
}

// AnswerHeld says which of the pictures that a question names are held here. Of
// one that counts says no entry speaks of, it says no. A question that is none has
// no answer.
func AnswerHeld(shelf Shelf, counts func(sha256 string) bool, question []byte) []byte {
	names, err := DecodeNamed(question)
	if err != nil {
		return nil
	}
	var held strings.Builder
	for _, name := range names {
		if counts(name) && shelf.Holds(name) {
			held.WriteByte('1')
		} else {
			held.WriteByte('0')
		}
	}
	return written(heldReply{Version, held.String()})
}

// AnswerPiece is the reply to a question for a piece, of pictures that entries
// speak of alone. Given is how many bytes of one it holds.
func AnswerPiece(shelf Shelf, counts func(sha256 string) bool, question []byte) (reply []byte, given int) {
	p, err := DecodePiece(question)
	if err != nil {
		return written(pieceHead{V: Version, Is: refused}), 0
	}
	if !counts(p.SHA256) {
		return written(pieceHead{V: Version, Picture: p.SHA256, Is: unknown}), 0
	}
	b, of, err := shelf.Piece(p.SHA256, p.From, min(p.Max, MaxPiece))
	if err != nil {
		return written(pieceHead{V: Version, Picture: p.SHA256, Is: unknown}), 0
	}
	head := written(pieceHead{Version, p.SHA256, piece, p.From, of})
	return slices.Concat(head, []byte{'\n'}, b), len(b)
}

// PictureReply is what came of an ask, checked as far as it can be by itself.
type PictureReply struct {
	Ask   PictureAsk
	Bytes []byte // of a piece
	Of    int64  // bytes of the whole picture

	held  []bool
	is    outcome
	short bool // it ends before the piece begins, so what is here of it is of another
	fault error
}

// Last says whether the picture is whole with this piece.
func (r *PictureReply) Last() bool {
	return len(r.Bytes) > 0 && r.Ask.Piece.From+int64(len(r.Bytes)) == r.Of
}

// OpenPicture checks a reply to an ask: that it keeps to what was asked for. What
// the bytes are worth only the whole picture tells.
func OpenPicture(ask PictureAsk, reply []byte) PictureReply {
	r := PictureReply{Ask: ask}
	if ask.OfPiece() {
		r.openPiece(reply)
	} else {
		r.openHeld(reply)
	}
	return r
}

func (r *PictureReply) openHeld(reply []byte) {
	var w heldReply
	if len(reply) > 2*MaxNamed || json.Unmarshal(reply, &w) != nil || w.V != Version || len(w.Held) != len(r.Ask.Named) {
		r.fault = errors.New("said which pictures it holds in a way that makes no sense")
		return
	}
	r.held = make([]bool, len(w.Held))
	for i, c := range []byte(w.Held) {
		r.held[i] = c == '1'
	}
}

func (r *PictureReply) openPiece(reply []byte) {
	ask := r.Ask.Piece
	head, body, _ := bytes.Cut(reply, []byte{'\n'})
	var w pieceHead
	if len(head) > 512 || json.Unmarshal(head, &w) != nil || w.V != Version || w.Is != piece && w.Is != unknown && w.Is != refused {
		r.fault = errors.New("sent what is no piece of a picture")
		return
	}
	r.is = w.Is
	if w.Is != piece {
		return
	}
	r.Of = w.Of
	switch {
	case w.Picture != ask.SHA256 || w.From != ask.From:
		r.fault = errors.New("sent another piece than it was asked for")
	case !slices.Contains(r.Ask.sizes, w.Of):
		r.is = unknown // what it holds is not what the entry speaks of, whoever of the two is wrong
	case w.Of <= ask.From:
		r.short = true
	case int64(len(body)) != min(int64(ask.Max), w.Of-ask.From):
		r.fault = fmt.Errorf("sent %d bytes of a picture where it was asked for %d", len(body), min(int64(ask.Max), w.Of-ask.From))
	default:
		r.Bytes = body
	}
}
