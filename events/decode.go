package events

import (
	"bytes"
	"fmt"
)

// Decode reads the signed bytes of a line. It fails only where the header does;
// whatever else is not understood becomes an Opaque payload.
func Decode(signed []byte) (Event, error) {
	var x Lexicon
	h, n, err := x.ParseHeader(signed)
	if err != nil {
		return Event{}, err
	}
	return x.Decode(h, n, HashOf(signed), signed), nil
}

// ParseHeader reads the fields that every version begins with, and says how many
// bytes they took.
func ParseHeader(signed []byte) (Header, int, error) {
	var x Lexicon
	return x.ParseHeader(signed)
}

// ParseHeader is [ParseHeader] for one line of many.
func (x *Lexicon) ParseHeader(signed []byte) (Header, int, error) {
	var h Header
	w := walk{buf: signed, reading: true, words: x}
	w.lit("{")
	h.fields(&w)
	if w.err != nil {
		return Header{}, 0, fmt.Errorf("read header: %w", w.err)
	}
	return h, w.pos, nil
}

// Decode is [Decode] for one line of many, whose header was read and took so many
// bytes, and whose hash is known.
func (x *Lexicon) Decode(h Header, header int, hash Hash, signed []byte) Event {
	e, _ := x.Outline(h, header, hash, signed, everything)
	return e
}

func everything(Kind, []byte) bool { return true }

// Outline is Decode for a reader who wants to know what some field facts say: the
// others get an [Unread] payload, and body is what that reads. Everything else is
// decoded, and has no body.
func (x *Lexicon) Outline(h Header, header int, hash Hash, signed []byte, wanted func(Kind, []byte) bool) (e Event, body []byte) {
	e.Header, e.Hash = h, hash
	if h.Version != Version {
		e.Payload = Opaque{Why: fmt.Sprintf("version %d", h.Version)}
		return e, nil
	}
	w := walk{buf: signed, pos: header, reading: true, started: true, words: x}
	e.envelope(&w)
	kind, c := w.kind()
	if !w.need("body") || w.err != nil {
		return Event{Header: h, Hash: hash, Payload: Opaque{Of: kind, Why: w.err.Error()}}, nil
	}
	body = signed[w.pos:]
	if c != nil && !c.record && !wanted(kind, body) {
		e.Payload = c.unread
		return e, body
	}
	var err error
	if e.Payload, err = x.decodeBody(kind, body); err != nil {
		e.Payload = Opaque{Of: kind, Why: err.Error()}
	}
	return e, nil
}

// kind reads what an event is, and finds the codec of a kind that there is.
func (w *walk) kind() (k Kind, c *codec) {
	if !w.need("kind") {
		return "", nil
	}
	if rest := w.buf[w.pos:]; len(rest) > 0 && rest[0] == '"' {
		name, _, ended := bytes.Cut(rest[1:], quote)
		if c = kinds[Kind(name)]; c != nil && ended {
			w.pos += len(name) + 2
			return c.unread.Kind(), c
		}
	}
	textValue(w, "kind", &k, named)
	return k, kinds[k]
}

var quote = []byte{'"'}
