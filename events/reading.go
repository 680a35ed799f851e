package events

import (
	"fmt"
	"math"
	"strconv"
	"unicode/utf8"

	"github.com/oklog/ulid/v2"
)

// What follows reads, for a walk. Functions that are called next… consume what
// comes next if it is just that, and otherwise nothing.

// nextKey is for the key of a field.
func (w *walk) nextKey(name string) bool {
	b := w.buf[w.pos:]
	n := len(name) + len(`"":`)
	if w.started {
		if len(b) == 0 || b[0] != ',' {
			return false
		}
		b, n = b[1:], n+1
	}
	if len(b) < len(name)+3 || b[0] != '"' || b[1+len(name)] != '"' || b[2+len(name)] != ':' || string(b[1:1+len(name)]) != name {
		return false
	}
	w.pos += n
	return true
}

// nextText is for a string that is s, where s is not empty and was read before.
func (w *walk) nextText(s string) bool {
	b, n := w.quoted(len(s))
	if n == 0 || string(b) != s {
		return false
	}
	w.pos += n
	return true
}

// nextHex is for a string of as many bytes in lower-case hex as h has.
func (w *walk) nextHex(h []byte) bool {
	b, n := w.quoted(2 * len(h))
	if !w.reading || n == 0 || !readHex(h, b) {
		return false
	}
	w.pos += n
	return true
}

// nextHash is for a whole hash; the zero hash has another spelling.
func (w *walk) nextHash(h *Hash) bool {
	from := w.pos
	if w.nextHex(h[:]) && *h != (Hash{}) {
		return true
	}
	w.pos = from
	return false
}

// nextRef is for a reference, whose feed others are likely to name as well.
func (w *walk) nextRef(r *Ref) bool {
	const least = feedChars + len("/1/") + 2*len(r.Hash)
	b := w.buf[w.pos:]
	if !w.reading || w.err != nil || len(b) < 1+least || b[0] != '"' || b[1+feedChars] != '/' {
		return false
	}
	from := w.pos
	w.pos += 1 + feedChars + len("/")
	feed := w.words.text(b[1 : 1+feedChars])
	seq, ok := w.plainInt()
	b = w.buf[w.pos:]
	if !ok || seq < 1 || isFeed(feed) != nil || len(b) < 2+2*len(r.Hash) || b[0] != '/' || !readHex(r.Hash[:], b[1:1+2*len(r.Hash)]) || b[1+2*len(r.Hash)] != '"' {
		w.pos = from
		return false
	}
	w.pos += 2 + 2*len(r.Hash)
	r.Feed, r.Seq = FeedID(feed), Seq(seq)
	return true
}

// nextULID is for a ULID in its one spelling.
func (w *walk) nextULID(id *ulid.ULID) bool {
	b, n := w.quoted(ulid.EncodedSize)
	if !w.reading || n == 0 || !readULID(id, b) {
		return false
	}
	w.pos += n
	return true
}

// quoted is the n bytes that come next between quotes, and how many bytes that is
// with them; 0 where something else comes.
func (w *walk) quoted(n int) ([]byte, int) {
	b := w.buf[w.pos:]
	if w.err != nil || n == 0 || len(b) < n+2 || b[0] != '"' || b[n+1] != '"' {
		return nil, 0
	}
	return b[1 : n+1], n + 2
}

// plainInt reads a number of digits that can't be too many.
func (w *walk) plainInt() (int64, bool) {
	const most = 15 // digits of a number below 2^53
	b, sign := w.buf[w.pos:], 0
	if w.peek('-') {
		b, sign = b[1:], 1
	}
	n, i := int64(0), 0
	for i < len(b) && i <= most && b[i]-'0' < 10 {
		n = 10*n + int64(b[i]-'0')
		i++
	}
	if i == 0 || i > most || b[0] == '0' && sign+i > 1 {
		return 0, false
	}
	w.pos += sign + i
	if sign > 0 {
		return -n, true
	}
	return n, true
}

func (w *walk) readInt() int64 {
	if n, ok := w.plainInt(); ok {
		return n
	}
	start := w.pos
	if w.peek('-') {
		w.pos++
	}
	digits := w.pos
	for w.pos < len(w.buf) && w.buf[w.pos] >= '0' && w.buf[w.pos] <= '9' {
		w.pos++
	}
	n, err := parseInt(string(w.buf[start:w.pos]), math.MinInt64, math.MaxInt64)
	if err != nil || w.pos == digits {
		w.fail("%w: not an integer", errNotCanonical)
		return 0
	}
	return n
}

// parseInt reads the one spelling of an integer: no plus, no leading zero, no
// minus zero.
func parseInt(s string, lo, hi int64) (int64, error) {
	n, err := strconv.ParseInt(s, 10, 64)
	if err != nil || strconv.FormatInt(n, 10) != s {
		return 0, fmt.Errorf("%q is not a whole number", clip(s))
	}
	if n < max(lo, -maxInt) || n > min(hi, maxInt) {
		return 0, fmt.Errorf("%d is out of range", n)
	}
	return n, nil
}

func (w *walk) readString() string {
	if !w.next(`"`) {
		w.fail("%w: expected a string", errNotCanonical)
		return ""
	}
	rest := w.buf[w.pos:]
	end, plain := 0, byte(0)
	for end < len(rest) && rest[end] != '"' && rest[end] != '\\' {
		plain |= rest[end] - ' ' | rest[end] // a control or a byte past ASCII sets the high bit
		end++
	}
	if end < len(rest) && rest[end] == '"' {
		w.pos += end + 1
		if s := w.words.text(rest[:end]); plain < 0x80 {
			return s
		} else {
			return w.canonical(s, rest[:end])
		}
	}
	return w.readEscaped()
}

// readEscaped reads a string that has escapes in it.
func (w *walk) readEscaped() string {
	start := w.pos
	var out []byte
	for w.pos < len(w.buf) {
		switch c := w.buf[w.pos]; {
		case c == '"':
			raw := w.buf[start:w.pos]
			w.pos++
			return w.canonical(string(out), raw)
		case c != '\\':
			out = append(out, c)
			w.pos++
		default:
			r, n := unescape(w.buf[w.pos:])
			if n == 0 {
				w.fail("%w: bad escape", errNotCanonical)
				return ""
			}
			out = append(out, r)
			w.pos += n
		}
	}
	w.fail("%w: string does not end", errNotCanonical)
	return ""
}

// canonical returns s if raw is how it would be written.
func (w *walk) canonical(s string, raw []byte) string {
	if !utf8.ValidString(s) {
		w.fail("%w: invalid UTF-8", errNotCanonical)
		return ""
	}
	for i := 0; i < len(s); i++ {
		if s[i] < 0x20 { // only controls have two spellings that readString takes
			if again := appendString(nil, s); string(again[1:len(again)-1]) != string(raw) {
				w.fail("%w: string escaped another way", errNotCanonical)
				return ""
			}
			break
		}
	}
	return s
}

// The two-character escapes of RFC 8785 §3.2.2.2, in pairs.
const escapes = "\bb\tt\nn\ff\rr\"\"\\\\"

// unescape reads one escape; n is its length, 0 if it is none of ours.
func unescape(b []byte) (c byte, n int) {
	if len(b) < 2 {
		return 0, 0
	}
	for i := 1; i < len(escapes); i += 2 {
		if b[1] == escapes[i] {
			return escapes[i-1], 2
		}
	}
	if len(b) >= 6 && string(b[1:4]) == "u00" {
		v, err := strconv.ParseUint(string(b[4:6]), 16, 8)
		if err == nil && v < 0x20 {
			return byte(v), 6
		}
	}
	return 0, 0
}
