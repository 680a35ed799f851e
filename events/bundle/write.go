package bundle

import (
	"crypto/ed25519"
	"fmt"
	"io"
	"iter"
	"slices"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// Count is how much a bundle holds.
type Count struct {
	Feeds int
	Lines int // events
	Holes int // events that the maker lacked

	// LeftOut counts the events of branches that leave their feed at a line that
	// is not in the file, so that nothing in it could tie them to the feed. It is 0
	// after reading.
	LeftOut int
}

// Write writes a bundle. The key is the maker's feed key. Lines come feed by feed
// in the order of the feeds' bytes, each feed's main branch first and then its
// other branches in any order, each by seq. What lies past the manifest's heads is
// left out, since a log may grow while it is written. Holes are the places of each
// feed that may be missing, in any order and with or without their hashes; one
// whose line comes all the same, such as a line whose own signature is damaged, is
// no hole.
//
// It fails where the lines do not come so, have gaps that are no holes, or do not
// lead to the manifest's heads; what has been written by then is no bundle.
func Write(w io.Writer, key ed25519.PrivateKey, m Manifest, lines iter.Seq2[seal.Verified, error], holes map[events.FeedID][]events.Head) (Count, error) {
	c, err := write(w, key, m, lines, holes, sizes{MaxText, MaxFile})
	if err != nil {
		return Count{}, fmt.Errorf("write bundle: %w", err)
	}
	return c, nil
}

func write(w io.Writer, key ed25519.PrivateKey, m Manifest, lines iter.Seq2[seal.Verified, error], holes map[events.FeedID][]events.Head, limit sizes) (Count, error) {
	if m.Maker.Key() != events.KeyOf(key.Public().(ed25519.PublicKey)) {
		return Count{}, seal.ErrWrongKey
	}
	first, err := m.line()
	if err != nil {
		return Count{}, err
	}
	wr := writing{packing: newPacking(w, limit), layout: newLayout(m.Site), heads: m.Heads, holes: spots(holes)}
	if err := wr.packing.line(first); err != nil {
		return Count{}, err
	}
	for v, err := range lines {
		if err == nil {
			err = wr.event(v)
		}
		if err != nil {
			return Count{}, err
		}
	}
	if err := wr.end(); err != nil {
		return Count{}, err
	}
	last, err := trailerLine(key, m.Site, wr.count.Lines+wr.count.Holes, wr.text.Sum(nil))
	if err == nil {
		err = wr.packing.line(last)
	}
	if err == nil {
		err = wr.close()
	}
	return wr.count, err
}

// spot is a place in a feed.
type spot struct {
	feed events.FeedID
	seq  events.Seq
}

func spots(holes map[events.FeedID][]events.Head) map[spot]bool {
	set := map[spot]bool{}
	for feed, list := range holes {
		for _, head := range list {
			set[spot{feed, head.Seq}] = true
		}
	}
	return set
}

// writing is a bundle's body half written. The main branch of each feed is
// written as it comes; others wait for the end of the feed, to be sorted.
type writing struct {
	*packing
	layout *layout
	heads  map[events.FeedID]events.Head
	holes  map[spot]bool

	last     seal.Verified     // the event before, as it came
	past     bool              // the main branch of its feed is written up to the head
	branches [][]seal.Verified // of its feed, but for the main one
	written  seal.Verified     // the event before, as it was written
	count    Count
}

func (w *writing) event(v seal.Verified) error {
	head, wanted := w.heads[v.Feed()]
	if !wanted {
		return nil
	}
	if v.Feed() != w.last.Feed() {
		if err := w.endFeed(); err != nil {
			return err
		}
		w.last, w.past = seal.Verified{}, false
	}
	first := w.last.Feed() == ""
	runs := first || v.Follows(w.last) || w.resumes(v)
	w.last = v
	if !runs {
		w.branches = append(w.branches, nil)
	}
	if n := len(w.branches); n > 0 {
		w.branches[n-1] = append(w.branches[n-1], v)
		return nil
	}
	if w.past {
		return nil
	}
	w.past = v.Head() == head
	return w.put(v, false)
}

// resumes says whether v goes on after a gap in the branch of the last line, and
// does not begin another.
func (w *writing) resumes(v seal.Verified) bool {
	if w.past && len(w.branches) == 0 || w.layout.follows(v) {
		return false
	}
	for _, branch := range w.branches {
		if slices.ContainsFunc(branch, v.Follows) {
			return false
		}
	}
	return w.spans(w.last.Seq()+1, v)
}

// spans says whether holes, at least one, fill the gap from seq up to v.
func (w *writing) spans(seq events.Seq, v seal.Verified) bool {
	for s := seq; s < v.Seq(); s++ {
		if !w.holes[spot{v.Feed(), s}] {
			return false
		}
	}
	return seq < v.Seq()
}

// endFeed writes the branches that wait.
func (w *writing) endFeed() error {
	slices.SortFunc(w.branches, func(a, b []seal.Verified) int {
		return compareHeads(a[0].Head(), b[0].Head())
	})
	for _, branch := range w.branches {
		if !w.layout.follows(branch[0]) {
			w.count.LeftOut += len(branch)
			continue
		}
		for i, v := range branch {
			if err := w.put(v, i == 0); err != nil {
				return err
			}
		}
	}
	w.branches = nil
	return nil
}

// put writes an event, and before it the holes of a gap unless it begins a branch.
func (w *writing) put(v seal.Verified, branch bool) error {
	from := events.Seq(1)
	if v.Feed() == w.layout.feed {
		from = w.layout.last.Seq + 1
	}
	if !branch && w.spans(from, v) {
		if err := w.gap(from, v); err != nil {
			return err
		}
	}
	at, err := w.layout.line(v)
	if err != nil {
		return err
	}
	if at != runsOn {
		if err := w.endRun(); err != nil {
			return err
		}
	}
	w.written = v
	w.count.Lines++
	return w.packing.line(v.Line())
}

// gap writes the holes from seq up to v, which proves the last of them.
func (w *writing) gap(seq events.Seq, v seal.Verified) error {
	for ; seq < v.Seq(); seq++ {
		head := events.Head{Seq: seq}
		if seq+1 == v.Seq() {
			head.Hash = v.Prev()
		}
		if err := w.layout.hole(v.Feed(), head); err != nil {
			return err
		}
		line, err := holeLine(v.Feed(), head)
		if err != nil {
			return err
		}
		if err := w.packing.line(line); err != nil {
			return err
		}
		w.count.Holes++
	}
	return nil
}

// endRun sees to it that a reader will be able to open the run that ended.
func (w *writing) endRun() error {
	if w.count.Lines > 0 && w.written.CheckSignature() != nil {
		return ErrUnproved
	}
	return nil
}

func (w *writing) end() error {
	if err := w.endFeed(); err != nil {
		return err
	}
	if err := w.endRun(); err != nil {
		return err
	}
	if err := w.layout.end(w.heads); err != nil {
		return err
	}
	w.count.Feeds = len(w.heads)
	return nil
}
