package journal

import (
	"errors"
	"fmt"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// Wants is what a journal would do with lines, asked before it is done.
type Wants struct {
	Lines []seal.Verified // what Take would store of them, in the order offered
	Gaps  []*Gap          // what it would refuse, and what is missing before that
}

// Wants says what Take would do with these lines as things stand, and changes
// nothing. A keeper that has to put lines elsewhere first, before they count as
// held, asks this and puts away no more than is new. Nobody else may write between
// the question and the Take, or the answer is out of date.
func (j *Journal) Wants(lines []seal.Verified) (Wants, error) {
	if err := j.checkSite(lines); err != nil {
		return Wants{}, err
	}
	j.write.Lock()
	defer j.write.Unlock()
	d := j.newDraft()
	d.offer(lines)
	return Wants{d.news, d.taken.Gaps}, nil
}

// WantsHole says in the same way what TakeHole would do: whether it would leave
// room, and whether it would store the line after it.
func (j *Journal) WantsHole(feed events.FeedID, missing events.Head, next seal.Verified) (hole, line bool, err error) {
	if err := errors.Join(j.checkSite([]seal.Verified{next}), checkHole(feed, missing, next)); err != nil {
		return false, false, err
	}
	j.write.Lock()
	defer j.write.Unlock()
	d := j.newDraft()
	before := 0
	if all := d.of(feed); len(all) > 0 {
		before = len(all[0].places)
	}
	if err := d.leaveRoom(feed, missing); err != nil {
		return false, false, fmt.Errorf("take hole %d of %s: %w", missing.Seq, feed.Short(), err)
	}
	hole = len(d.of(feed)[0].places) > before
	if gap := d.take(next); gap != nil {
		return false, false, gap
	}
	return hole, len(d.news) > 0, nil
}

// HoleLine is how a hole is written among lines: its place, and its hash as the
// next line says it.
func HoleLine(missing events.Head) []byte { return holeLine(missing) }

// ParseHole reads what HoleLine writes, and nothing else.
func ParseHole(line []byte) (missing events.Head, ok bool) { return parseHole(line) }
