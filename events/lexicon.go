package events

import "hash/maphash"

// Lexicon is for reading many lines: what they share (the site, feeds, boots,
// tags, serials) is kept in memory once and not once a line, and what the line
// before said in the same words need not be looked at again. The zero value does
// so for neighbouring lines alone. It is not safe for use by several goroutines.
type Lexicon struct {
	site  SiteID // as the last line said them, which was in order
	feed  FeedID
	boot  string
	from  *Origin  // of the last line
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

// shared is an origin, in memory once for neighbouring lines of one feed.
func (x *Lexicon) shared(o Origin) *Origin {
	if x.from == nil || *x.from != o {
		fresh := o // and not o itself, which would be made anew for every line
		x.from = &fresh
	}
	return x.from
}

// What the line before said.

func (x *Lexicon) lastSite() *SiteID { return &x.site }
func (x *Lexicon) lastFeed() *FeedID { return &x.feed }
func (x *Lexicon) lastBoot() *string { return &x.boot }
