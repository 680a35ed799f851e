package events

import (
	"errors"
	"fmt"
	"slices"

	"github.com/oklog/ulid/v2"
)

// Version is the version of the line format that this package writes.
const Version = 1

// Header is the part of a line that is the same in every version.
type Header struct {
	Version int64
	Site    SiteID
	Feed    FeedID
	Seq     Seq
	Prev    Hash
}

// Event is one thing said by one installation. Events are values: once sealed
// or decoded, nobody changes one.
type Event struct {
	Header
	Hash Hash // of the signed bytes

	ID      ulid.ULID
	HLC     HLC
	Wall    Wall
	Mono    Mono
	When    Maybe[Interval]
	By      string // the doer, if not the member who recorded it
	Seen    []Ref  // heads taken in since the previous event, sorted by feed
	Payload Payload
}

// Ref names the event.
func (e *Event) Ref() Ref { return Ref{e.Feed, e.Seq, e.Hash.Short()} }

// Member is the key that recorded the event.
func (e *Event) Member() Key { return e.Feed.Key() }

// Kind is the payload's kind.
func (e *Event) Kind() Kind { return e.Payload.Kind() }

// Stamp is the recorder's clocks as the event was recorded.
func (e *Event) Stamp() Stamp { return Stamp{e.Wall, e.Mono} }

// Understood says whether this version can fold the event.
func (e *Event) Understood() bool {
	_, opaque := e.Payload.(Opaque)
	return !opaque
}

// Encode writes the signed bytes of an event: the whole line but for its tail.
// It fails, saying which field and why, where the event breaks a rule of shape.
// Hash is not read.
func (e *Event) Encode() ([]byte, error) {
	if e.Payload == nil {
		return nil, errors.New("write event: payload is missing")
	}
	c, ok := kinds[e.Kind()]
	if !ok {
		return nil, errUnknownKind(e.Kind())
	}
	w := walk{buf: make([]byte, 0, 640)}
	w.lit("{")
	h := e.Header
	h.Version = Version
	h.fields(&w)
	e.envelope(&w)
	kind := e.Kind()
	text(&w, "kind", &kind, named)
	w.key("body", true)
	if w.err == nil {
		c.write(&w, e.Payload)
	}
	if w.err != nil {
		return nil, fmt.Errorf("write %s: %w", e.Kind(), w.err)
	}
	return w.buf, nil
}

// Decode reads the signed bytes of a line. It fails only where the header does;
// whatever else is not understood becomes an Opaque payload.
func Decode(signed []byte) (Event, error) {
	h, n, err := ParseHeader(signed)
	if err != nil {
		return Event{}, err
	}
	e := Event{Header: h, Hash: HashOf(signed)}
	if h.Version != Version {
		e.Payload = Opaque{Why: fmt.Sprintf("version %d", h.Version)}
		return e, nil
	}
	w := walk{buf: signed, pos: n, reading: true, started: true}
	e.envelope(&w)
	var kind Kind
	text(&w, "kind", &kind, named)
	if !w.need("body") || w.err != nil {
		return Event{Header: h, Hash: e.Hash, Payload: Opaque{Of: kind, Why: w.err.Error()}}, nil
	}
	e.Payload, err = DecodeBody(kind, signed[w.pos:])
	if err != nil {
		e.Payload = Opaque{Of: kind, Why: err.Error()}
	}
	return e, nil
}

// ParseHeader reads the fields that every version begins with, and says how many
// bytes they took.
func ParseHeader(signed []byte) (Header, int, error) {
	var h Header
	w := walk{buf: signed, reading: true}
	w.lit("{")
	h.fields(&w)
	if w.err != nil {
		return Header{}, 0, fmt.Errorf("read header: %w", w.err)
	}
	return h, w.pos, nil
}

func (h *Header) fields(w *walk) {
	num(w, "v", &h.Version, 1, 1<<31)
	text(w, "site", &h.Site, isKey)
	text(w, "feed", &h.Feed, isFeed)
	num(w, "seq", &h.Seq, 1, maxInt)
	if !w.need("prev") {
		return
	}
	s := h.Prev.String()
	w.str("prev", &s, func(s string) error { _, err := ParseHash(s); return err })
	if w.reading && w.err == nil {
		h.Prev, w.err = ParseHash(s)
	}
	if w.err == nil && (h.Seq == 1) != (h.Prev == Hash{}) {
		w.fail("prev: only the first event has none")
	}
}

// envelope walks the fields between the header and the kind.
func (e *Event) envelope(w *walk) {
	id := e.ID.String()
	text(w, "id", &id, isULID)
	if w.reading && w.err == nil {
		e.ID, w.err = ulid.ParseStrict(id)
	}
	if w.need("hlc") {
		w.lit("[")
		numValue(w, "hlc", &e.HLC.L, 0, maxInt)
		w.lit(",")
		numValue(w, "hlc", &e.HLC.C, 0, maxInt)
		w.lit("]")
	}
	if w.need("wall") {
		w.lit("[")
		numValue(w, "wall", &e.Wall.At, 0, maxInt)
		w.lit(",")
		numValue(w, "wall", &e.Wall.Offset, -24*60, 24*60)
		w.lit("]")
	}
	if w.key("mono", e.Mono != Mono{}) {
		monoValue(w, &e.Mono)
	}
	spanMaybe(w, "when", &e.When)
	textOpt(w, "by", &e.By, named)
	seen(w, &e.Seen)
}

// mono is a required ["boot",ms] field.
func mono(w *walk, name string, m *Mono) {
	if w.need(name) {
		monoValue(w, m)
	}
}

func monoValue(w *walk, m *Mono) {
	w.lit("[")
	w.str("mono", &m.Boot, named)
	w.lit(",")
	numValue(w, "mono", &m.Ms, 0, maxInt)
	w.lit("]")
}

// seen walks the heads as {"feed":[seq,"hash8"],…}, absent where there are none.
func seen(w *walk, refs *[]Ref) {
	if !w.key("seen", len(*refs) > 0) {
		return
	}
	m := map[FeedID]Ref{}
	for _, r := range *refs {
		if _, twice := m[r.Feed]; twice {
			w.fail("seen: %s twice", r.Feed.Short())
		}
		m[r.Feed] = r
	}
	sortedMap(w, "seen", &m, isFeed, func(feed FeedID, r *Ref) {
		w.lit("[")
		numValue(w, "seen", &r.Seq, 1, maxInt)
		w.lit(",")
		s := r.Hash.String()
		w.str("seen", &s, func(s string) error { _, err := ParseHash8(s); return err })
		if w.reading && w.err == nil {
			r.Feed = feed
			r.Hash, w.err = ParseHash8(s)
			*refs = append(*refs, *r)
		}
		w.lit("]")
	})
	if w.err == nil && len(*refs) == 0 {
		w.fail("%w: seen is empty, not absent", errNotCanonical)
	}
	if !w.reading && !slices.IsSortedFunc(*refs, Ref.Compare) {
		w.fail("seen: not sorted")
	}
}

func isULID(s string) error {
	id, err := ulid.ParseStrict(s)
	if err != nil {
		return fmt.Errorf("%q is no ULID: %w", clip(s), err)
	}
	if id.String() != s {
		return fmt.Errorf("%q is not the canonical spelling", clip(s))
	}
	return nil
}

type errUnknownKind Kind

func (e errUnknownKind) Error() string {
	return fmt.Sprintf("kind %q is not known here", clip(string(e)))
}
