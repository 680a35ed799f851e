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

type errUnknownKind Kind

func (e errUnknownKind) Error() string {
	return fmt.Sprintf("kind %q is not known here", clip(string(e)))
}
