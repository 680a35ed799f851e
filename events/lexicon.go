package events

import "hash/maphash"

// Lexicon is for reading many lines: what they share (the site, feeds, boots,
// tags, serials) is kept in memory once and not once a line, and what the line
// before said in the same words need not be looked at again. The zero value does
// so for neighbouring lines alone. It is not safe for use by several goroutines.
type Lexicon struct {
	start string   // how the last line that was in order began, up to its feed
	from  *Origin  // what that says
	boot  string   // as a line said it that was in order
	body  walk     // over the body that is being read
	texts []string // by their hash; a newer text takes the place of an older one
	seed  maphash.Seed
}

const (
	lexiconLeast = 1 << 6
	lexiconMost  = 1 << 16
	sharedMost   = 80 // bytes of a text that is worth sharing
)

// NewLexicon is one for about so many lines.
func NewLexicon(lines int) *Lexicon {
	n := lexiconLeast
	for n < lines && n < lexiconMost {
		n *= 2
	}
	return &Lexicon{texts: make([]string, n), seed: maphash.MakeSeed()}
}

// text is b as a string, shared with others that read the same.
func (x *Lexicon) text(b []byte) string {
	if x == nil || len(x.texts) == 0 || len(b) > sharedMost {
		return string(b)
	}
	at := &x.texts[maphash.Bytes(x.seed, b)&uint64(len(x.texts)-1)]
	if *at != string(b) {
		*at = string(b)
	}
	return *at
}

// begin keeps what a line said up to its feed.
func (x *Lexicon) begin(w *walk, o Origin) *Origin {
	x.start, x.from = string(w.buf[:w.pos]), &o
	return x.from
}

// sameFeed is for a line that begins as the one before it did.
func (x *Lexicon) sameFeed(w *walk, h *Header) bool {
	n := len(x.start)
	if n == 0 || len(w.buf) < n || string(w.buf[:n]) != x.start {
		return false
	}
	h.Origin, w.pos, w.started = x.from, n, true
	return true
}
