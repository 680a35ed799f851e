package events

import (
	"bytes"
	"fmt"

	"github.com/oklog/ulid/v2"
)

// fields walks the header: the whole of it, or what is left where the line begins as
// the one before it did.
func (h *Header) fields(w *walk) {
	if !w.reading || !w.words.sameFeed(w, h) {
		h.origin(w)
	}
	num(w, "seq", &h.Seq, 1, maxInt)
	if w.need("prev") && !w.nextHash(&h.Prev) {
		s := h.Prev.String()
		w.str("prev", &s, func(s string) error { _, err := ParseHash(s); return err })
		if w.reading && w.err == nil {
			h.Prev, w.err = ParseHash(s)
		}
	}
	if w.err == nil && (h.Seq == 1) != (h.Prev == Hash{}) {
		w.fail("prev: only the first event has none")
	}
}

// origin walks what the lines of a feed have in common.
func (h *Header) origin(w *walk) {
	var o Origin
	if !w.reading {
		o = *h.Origin
	}
	num(w, "v", &o.Version, 1, 1<<31)
	text(w, "site", &o.Site, isKey)
	text(w, "feed", &o.Feed, isFeed)
	if w.reading && w.err == nil {
		h.Origin = w.words.begin(w, o)
	}
}

// envelope walks the fields between the header and the kind.
func (e *Event) envelope(w *walk) {
	if w.need("id") && !w.nextULID(&e.ID) {
		id := e.ID.String()
		textValue(w, "id", &id, isULID)
		if w.reading && w.err == nil {
			e.ID, w.err = ulid.ParseStrict(id)
		}
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
	when, by := e.When(), e.By()
	spanMaybe(w, "when", &when)
	textOpt(w, "by", &by, named)
	if w.reading {
		e.Told = NewTold(when, by)
	}
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
	bootValue(w, &m.Boot)
	w.lit(",")
	numValue(w, "mono", &m.Ms, 0, maxInt)
	w.lit("]")
}

// bootValue is the name of a boot, in which a line mostly says what the one before it
// did.
func bootValue(w *walk, boot *string) {
	if w.reading && w.nextText(w.words.boot) {
		*boot = w.words.boot
		return
	}
	start := w.pos
	textValue(w, "mono", boot, named)
	if w.reading && w.err == nil && w.pos-start == len(*boot)+2 { // nothing in it was escaped
		w.words.boot = *boot
	}
}

// seen walks the heads as {"feed":[seq,"hash8"],…}, absent where there are none.
func seen(w *walk, refs *[]Ref) {
	if !w.key("seen", len(*refs) > 0) {
		return
	}
	w.lit("{")
	if w.reading {
		readSeen(w, refs)
	} else {
		writeSeen(w, *refs)
	}
	w.lit("}")
	if w.err == nil && len(*refs) == 0 {
		w.fail("%w: seen is empty, not absent", errNotCanonical)
	}
}

// seenLeast is the fewest bytes that a head takes.
const seenLeast = len(`"":[1,"0123456789abcdef"]`) + feedChars

func readSeen(w *walk, refs *[]Ref) {
	if end := bytes.IndexByte(w.buf[w.pos:], '}'); w.err == nil && end > 0 {
		*refs = make([]Ref, 0, min(bytes.Count(w.buf[w.pos:w.pos+end], []byte{':'}), end/seenLeast))
	}
	for w.err == nil && !w.peek('}') {
		if len(*refs) > 0 {
			w.lit(",")
		}
		var r Ref
		textValue(w, "seen", &r.Feed, isFeed)
		w.lit(":")
		seenValue(w, &r)
		if n := len(*refs); n > 0 && r.Feed <= (*refs)[n-1].Feed {
			w.fail("%w: keys out of order", errNotCanonical)
		}
		*refs = append(*refs, r)
	}
}

func writeSeen(w *walk, refs []Ref) {
	for i, r := range refs {
		if i > 0 {
			w.lit(",")
			if r.Feed <= refs[i-1].Feed {
				w.fail("seen: not sorted, or %s twice", r.Feed.Short())
			}
		}
		textValue(w, "seen", &r.Feed, isFeed)
		w.lit(":")
		seenValue(w, &r)
	}
}

func seenValue(w *walk, r *Ref) {
	w.lit("[")
	numValue(w, "seen", &r.Seq, 1, maxInt)
	w.lit(",")
	if !w.nextHex(r.Hash[:]) {
		s := r.Hash.String()
		w.str("seen", &s, func(s string) error { _, err := ParseHash8(s); return err })
		if w.reading && w.err == nil {
			r.Hash, w.err = ParseHash8(s)
		}
	}
	w.lit("]")
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
