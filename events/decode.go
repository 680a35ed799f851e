package events

import "fmt"

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
	return x.decode(h, header, hash, signed, x.decodeBody)
}

// Outline is Decode for a reader who wants to know what some field facts say: the
// others get an [Unread] payload, and body is what that reads. Everything else is
// decoded, and has no body.
func (x *Lexicon) Outline(h Header, header int, hash Hash, signed []byte, wanted func(Kind, []byte) bool) (e Event, body []byte) {
	e = x.decode(h, header, hash, signed, func(k Kind, b []byte) (Payload, error) {
		if c, known := kinds[k]; known && !c.record && !wanted(k, b) {
			body = b
			return c.unread, nil
		}
		return x.decodeBody(k, b)
	})
	return e, body
}

func (x *Lexicon) decode(h Header, header int, hash Hash, signed []byte, read func(Kind, []byte) (Payload, error)) Event {
	e := Event{Header: h, Hash: hash}
	if h.Version != Version {
		e.Payload = Opaque{Why: fmt.Sprintf("version %d", h.Version)}
		return e
	}
	w := walk{buf: signed, pos: header, reading: true, started: true, words: x}
	e.envelope(&w)
	var kind Kind
	text(&w, "kind", &kind, named)
	if !w.need("body") || w.err != nil {
		return Event{Header: h, Hash: e.Hash, Payload: Opaque{Of: kind, Why: w.err.Error()}}
	}
	var err error
	e.Payload, err = read(kind, signed[w.pos:])
	if err != nil {
		e.Payload = Opaque{Of: kind, Why: err.Error()}
	}
	return e
}
