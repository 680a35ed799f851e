package member

import (
	"bytes"
	"fmt"
	"io"
	"iter"

	"pairwalk/events"
	"pairwalk/events/bundle"
	"pairwalk/events/seal"
	"pairwalk/projection"
)

// Excerpt is a log as somebody knew it: what there was to know, on its own.
type Excerpt struct {
	Site    SiteInfo // as the log itself tells it; Member and Key are who seals it
	History *projection.History
	Opened  bool                          // the entry that opened the site is in it
	Last    events.Instant                // of its last entry, in site time
	Heads   map[events.FeedID]events.Head // of the main branches
	Pages   string                        // of one that was read: what it was sealed with
}

// Excerpt gives what somebody knew, as a history of its own.
func (m *Member) Excerpt(k projection.Known) Excerpt {
	m.mu.Lock()
	h := m.history.Excerpt(k)
	m.mu.Unlock()
	site := h.At(projection.Moment{})
	x := Excerpt{
		Site:    SiteInfo{ID: m.keys.Site, Name: m.keys.SiteName, Practice: m.keys.Practice, Member: m.keys.Name, Key: m.self},
		History: h, Opened: !site.Opened.IsZero(), Last: site.Moment.When.Value, Heads: site.Heads,
	}
	if x.Opened {
		x.Site.Name, x.Site.Practice = site.Name, site.Practice
	}
	return x
}

// Seal writes an excerpt of this member's log as a bundle, sealed for the pages of
// a handover pack. The file hangs on the entries, the pages and this member alone:
// not on when it is made, nor on how the entries came here. So it is no word that
// nothing more had been said; see package bundle.
func (m *Member) Seal(x Excerpt, pages string) ([]byte, error) {
	if m.reading {
		return nil, ErrReading // nobody's seal
	}
	lines, err := m.strands(x.History)
	if err != nil {
		return nil, fmt.Errorf("read journal: %w", err)
	}
	var file bytes.Buffer
	n, err := bundle.Write(&file, m.signer, bundle.Manifest{
		Site:      x.Site.ID,
		Name:      x.Site.Name,
		Practice:  x.Site.Practice,
		Maker:     events.NewFeedID(m.self, [8]byte{}), // whichever of our feeds goes on just now
		MakerName: x.Site.Member,
		Pages:     pages,
		Heads:     x.Heads,
	}, lines, m.journal.Holes())
	if err == nil && n.LeftOut > 0 {
		err = fmt.Errorf("%d entries of a copied feed follow one that is not here; sync with a member who has it", n.LeftOut)
	}
	return file.Bytes(), err
}

// ReadExcerpt reads a file that [Member.Seal] wrote. It takes no member: what is in
// it proves itself.
func ReadExcerpt(r io.Reader) (Excerpt, error) {
	b, err := bundle.Read(r)
	if err != nil {
		return Excerpt{}, err
	}
	h := &projection.History{Site: b.Site}
	for _, run := range b.Runs() {
		h.Adopt(World{}.decode(run.Lines))
	}
	site := h.At(projection.Moment{})
	return Excerpt{
		Site:    SiteInfo{ID: b.Site, Name: b.Name, Practice: b.Practice, Member: b.MakerName, Key: b.Maker.Key()},
		History: h,
		Opened:  !site.Opened.IsZero(),
		Last:    site.Moment.When.Value,
		Heads:   b.Heads,
		Pages:   b.Pages,
	}, nil
}

// strands gives the lines of a history as a bundle wants them, in an order that
// hangs on nothing but the lines.
func (m *Member) strands(h *projection.History) (iter.Seq2[seal.Verified, error], error) {
	wanted := make(map[events.Hash]bool, h.Len())
	for _, e := range h.Ordered() {
		wanted[e.Hash] = true
	}
	var feeds [][]seal.Verified
	for v, err := range m.journal.All() {
		if err != nil {
			return nil, err
		}
		if !wanted[v.Hash()] {
			continue
		}
		if n := len(feeds); n == 0 || feeds[n-1][0].Feed() != v.Feed() {
			feeds = append(feeds, nil)
		}
		feeds[len(feeds)-1] = append(feeds[len(feeds)-1], v)
	}
	return func(yield func(seal.Verified, error) bool) {
		for _, lines := range feeds {
			for _, v := range newForking(lines).inOrder() {
				if !yield(v, nil) {
					return
				}
			}
		}
	}, nil
}
