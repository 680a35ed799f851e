package events

import (
	"errors"
	"fmt"
	"strconv"
)

// maxInt bounds every integer on the wire, so that any JSON reader holds it.
const maxInt = 1<<53 - 1

// walk goes over the fields of a struct in their written order, either writing
// them to buf or reading them from it. One field list serves both, so what can
// be read is exactly what can be written. The first error stops it. Writing
// leaves the struct alone: an event may be encoded by several goroutines.
type walk struct {
	buf     []byte
	pos     int // next byte to read
	reading bool
	started bool     // the open object has a field already
	words   *Lexicon // reading: where texts are kept
	err     error
}

var errNotCanonical = errors.New("not in canonical form")

func (w *walk) fail(format string, args ...any) {
	if w.err == nil {
		w.err = fmt.Errorf(format, args...)
	}
}

// lit writes s, or reads exactly s.
func (w *walk) lit(s string) {
	if w.err != nil {
		return
	}
	if !w.reading {
		w.buf = append(w.buf, s...)
		return
	}
	if !w.next(s) {
		w.fail("%w: expected %q", errNotCanonical, s)
	}
}

// next consumes s if it comes next.
func (w *walk) next(s string) bool {
	if len(w.buf)-w.pos < len(s) || string(w.buf[w.pos:w.pos+len(s)]) != s {
		return false
	}
	w.pos += len(s)
	return true
}

// peek says whether byte c comes next.
func (w *walk) peek(c byte) bool { return w.pos < len(w.buf) && w.buf[w.pos] == c }

// key opens a field. Writing, it is there if present says so; reading, if the
// input has it.
func (w *walk) key(name string, present bool) bool {
	if w.err != nil {
		return false
	}
	if w.reading {
		present = w.nextKey(name)
	} else if present {
		if w.started {
			w.buf = append(w.buf, ',')
		}
		w.buf = append(append(append(w.buf, '"'), name...), `":`...)
	}
	w.started = w.started || present
	return present
}

// need is key for a field that must be there.
func (w *walk) need(name string) bool {
	ok := w.key(name, true)
	if !ok {
		w.fail("%s is missing", name)
	}
	return ok
}

// object walks a nested object.
func (w *walk) object(fields func()) {
	w.lit("{")
	outer := w.started
	w.started = false
	fields()
	w.started = outer
	w.lit("}")
}

// str is a JSON string holding *s; it must satisfy the rule.
func (w *walk) str(name string, s *string, ok rule) {
	if w.err != nil {
		return
	}
	if w.reading {
		*s = w.readString()
	}
	if w.err == nil {
		if err := ok(*s); err != nil {
			w.fail("%s: %w", name, err)
		}
	}
	if !w.reading && w.err == nil {
		w.buf = appendString(w.buf, *s)
	}
}

// text is a required string field.
func text[T ~string](w *walk, name string, p *T, ok rule) {
	if w.need(name) {
		textValue(w, name, p, ok)
	}
}

// textOpt is a string field that is absent where empty.
func textOpt[T ~string](w *walk, name string, p *T, ok rule) {
	if w.key(name, *p != "") {
		textValue(w, name, p, ok)
		if w.err == nil && *p == "" {
			w.fail("%w: %s is empty, not absent", errNotCanonical, name)
		}
	}
}

func textValue[T ~string](w *walk, name string, p *T, ok rule) {
	s := string(*p)
	w.str(name, &s, ok)
	if w.reading {
		*p = T(s)
	}
}

// integer is any of the whole-number types that events use.
type integer interface {
	~int | ~int16 | ~int32 | ~int64 | ~uint64
}

// num is a required integer field between lo and hi.
func num[T integer](w *walk, name string, p *T, lo, hi int64) {
	if w.need(name) {
		numValue(w, name, p, lo, hi)
	}
}

// numOpt is an integer field that is absent where zero.
func numOpt[T integer](w *walk, name string, p *T, lo, hi int64) {
	if w.key(name, *p != 0) {
		numValue(w, name, p, lo, hi)
		if w.err == nil && *p == 0 {
			w.fail("%w: %s is 0, not absent", errNotCanonical, name)
		}
	}
}

// numMaybe is an integer field that is absent where unknown.
func numMaybe[T integer](w *walk, name string, p *Maybe[T], lo, hi int64) {
	if maybe(w, name, p) {
		numValue(w, name, &p.Value, lo, hi)
	}
}

func numValue[T integer](w *walk, name string, p *T, lo, hi int64) {
	if w.err != nil {
		return
	}
	n := int64(*p)
	if w.reading {
		n = w.readInt()
		*p = T(n)
	}
	if w.err == nil && (n < lo || n > hi || int64(*p) != n) {
		w.fail("%s: %d is not between %d and %d", name, n, lo, hi)
	}
	if !w.reading && w.err == nil {
		w.buf = strconv.AppendInt(w.buf, n, 10)
	}
}

// flag is a field that is true or absent.
func flag(w *walk, name string, p *bool) {
	present := w.key(name, *p)
	if w.reading {
		*p = present
	}
	if present {
		w.lit("true")
	}
}

// boolean is a required field, true or false.
func boolean(w *walk, name string, p *bool) {
	if !w.need(name) {
		return
	}
	if w.reading {
		*p = w.next("true")
	}
	if *p {
		if !w.reading {
			w.lit("true")
		}
		return
	}
	w.lit("false")
}

// list is an array field that is absent where empty.
func list[T any](w *walk, name string, p *[]T, elem func(*T)) {
	if !w.key(name, len(*p) > 0) {
		return
	}
	w.lit("[")
	if w.reading {
		for w.err == nil {
			var v T
			elem(&v)
			*p = append(*p, v)
			if !w.next(",") {
				break
			}
		}
	} else {
		for i := range *p {
			if i > 0 {
				w.lit(",")
			}
			elem(&(*p)[i])
		}
	}
	w.lit("]")
}

// tags is a list of device tags.
func tags(w *walk, name string, p *[]Tag) {
	list(w, name, p, func(t *Tag) { textValue(w, name, t, named) })
}

// appendString quotes s as RFC 8785 §3.2.2.2 does: short escapes where JSON has
// them, \u00xx for other controls, everything else as it is.
func appendString(dst []byte, s string) []byte {
	dst = append(dst, '"')
	for i := 0; i < len(s); i++ {
		c := s[i]
		if c >= 0x20 && c != '"' && c != '\\' {
			dst = append(dst, c)
			continue
		}
		dst = appendEscape(dst, c)
	}
	return append(dst, '"')
}

func appendEscape(dst []byte, c byte) []byte {
	for i := 0; i < len(escapes); i += 2 {
		if escapes[i] == c {
			return append(dst, '\\', escapes[i+1])
		}
	}
	return fmt.Appendf(dst, `\u%04x`, c)
}
