package events

// Maybe is a value that may be unknown: an RSSI of 0 dBm and no RSSI at all are
// different things. The zero value is unknown.
type Maybe[T any] struct {
	Value T
	Known bool
}

// Some is a known value.
func Some[T any](v T) Maybe[T] { return Maybe[T]{v, true} }

// maybe opens a field that is absent where unknown.
func maybe[T any](w *walk, name string, p *Maybe[T]) bool {
	known := w.key(name, p.Known)
	if w.reading {
		p.Known = known
	}
	return known
}

// Point is a place in the site's own axes, in millimetres: x and y on the plan,
// z above the site's datum.
type Point struct{ X, Y, Z int64 }

// mmMax bounds a coordinate: a thousand kilometres is no building.
const mmMax = 1_000_000_000

// place is a [x,y,z] field in mm that is absent where unknown.
func place(w *walk, name string, p *Maybe[Point]) {
	if maybe(w, name, p) {
		pointValue(w, name, &p.Value)
	}
}

func pointValue(w *walk, name string, p *Point) {
	w.lit("[")
	numValue(w, name, &p.X, -mmMax, mmMax)
	w.lit(",")
	numValue(w, name, &p.Y, -mmMax, mmMax)
	w.lit(",")
	numValue(w, name, &p.Z, -mmMax, mmMax)
	w.lit("]")
}

// spanMaybe is a [from_ms,to_ms] field that is absent where unknown.
func spanMaybe(w *walk, name string, v *Maybe[Interval]) {
	if maybe(w, name, v) {
		spanValue(w, name, &v.Value)
	}
}

func spanValue(w *walk, name string, v *Interval) {
	w.lit("[")
	numValue(w, name, &v.From, -maxInt, maxInt)
	w.lit(",")
	numValue(w, name, &v.To, -maxInt, maxInt)
	w.lit("]")
	if w.err == nil && v.From > v.To {
		w.fail("%s: ends before it begins", name)
	}
}

// heads is a required {"feed":[seq,"hash"],…} field with whole hashes.
func heads(w *walk, name string, m *map[FeedID]Head) {
	if !w.need(name) {
		return
	}
	sortedMap(w, name, m, isFeed, func(feed FeedID, h *Head) {
		w.lit("[")
		numValue(w, name, &h.Seq, 1, maxInt)
		w.lit(",")
		if !w.nextHash(&h.Hash) {
			s := h.Hash.String()
			w.str(name, &s, isHash)
			if w.reading && w.err == nil {
				h.Hash, w.err = ParseHash(s)
			}
		}
		w.lit("]")
	})
}

// refText is a required field that names an event.
func refText(w *walk, name string, r *Ref) {
	if w.need(name) {
		refValue(w, name, r)
	}
}

func refValue(w *walk, name string, r *Ref) {
	if w.nextRef(r) {
		return
	}
	s := r.String()
	w.str(name, &s, func(s string) error { _, err := ParseRef(s); return err })
	if w.reading && w.err == nil {
		*r, w.err = ParseRef(s)
	}
}
