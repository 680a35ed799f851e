package events

import (
	"errors"
	"fmt"

	"github.com/oklog/ulid/v2"
)

// Version is the version of the line format that this package writes.
const Version = 1

// Header is the part of a line that is the same in every version.
type Header struct {
	*Origin
	Seq  Seq
	Prev Hash
}

// Origin is what the lines of a feed have in common. Lines that were read together
// share it, so nobody changes one.
type Origin struct {
	Version int64
	Site    SiteID
	Feed    FeedID
}

// NextHeader is that of the line which follows the head of a feed.
func NextHeader(site SiteID, feed FeedID, head Head) Header {
	return Header{&Origin{Version, site, feed}, head.Seq + 1, head.Hash}
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
	Told    *Told // nil for what was recorded at once by who did it, as most is
	Seen    []Ref // heads taken in since the previous event, sorted by feed
	Payload Payload
}

// Told is what was told of an event that was recorded later, or by somebody else.
type Told struct {
	When Maybe[Interval] // when it happened, if that was not now
	By   string          // the doer, if not the member who recorded it
}

// NewTold is nil where there is nothing to tell.
func NewTold(when Maybe[Interval], by string) *Told {
	if !when.Known && by == "" {
		return nil
	}
	return &Told{when, by}
}

// When is when the event happened, if that was not as it was recorded.
func (e *Event) When() Maybe[Interval] {
	if e.Told == nil {
		return Maybe[Interval]{}
	}
	return e.Told.When
}

// By is the doer, "" for the member who recorded it.
func (e *Event) By() string {
	if e.Told == nil {
		return ""
	}
	return e.Told.By
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
	h.Origin = &Origin{Version, e.Site, e.Feed}
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

type errUnknownKind Kind

func (e errUnknownKind) Error() string {
	return fmt.Sprintf("kind %q is not known here", clip(string(e)))
}
