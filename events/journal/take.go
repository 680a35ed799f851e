package journal

import (
	"context"
	"errors"
	"fmt"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// maxHoles bounds how many missing lines one TakeHole may leave room for.
const maxHoles = 4096

// Taken says what became of lines that were offered.
type Taken struct {
	Fresh  []seal.Verified // now held for the first time, in the order offered
	Known  int             // were held already
	Healed int             // of Fresh and Known: took the place of something damaged or missing
	Forks  []Fork          // that began with these lines
	Gaps   []*Gap          // refused: something before them is missing
}

// Take stores lines of any feeds, each feed's in order, and returns when they
// and their receipts are durable. Lines that are held already change nothing;
// one that fills the place of a damaged or missing line heals it; a different
// line at the same place begins a fork, and others follow it there.
//
// The error joins a Gap for every feed whose lines don't connect; the lines of
// other feeds are taken all the same. Any other error means that nothing was
// taken.
func (j *Journal) Take(ctx context.Context, lines []seal.Verified) (Taken, error) {
	if err := errors.Join(ctx.Err(), j.checkSite(lines)); err != nil {
		return Taken{}, err
	}
	j.write.Lock()
	defer j.write.Unlock()
	if err := j.refusal(); err != nil {
		return Taken{}, fmt.Errorf("take lines: %w", err)
	}
	d := j.newDraft()
	d.offer(lines)
	if err := d.commit(); err != nil {
		return Taken{}, j.broke(err)
	}
	var gaps []error
	for _, g := range d.taken.Gaps {
		gaps = append(gaps, g)
	}
	return d.taken, errors.Join(gaps...)
}

// offer finds the place of every line that connects.
func (d *draft) offer(lines []seal.Verified) {
	refused := map[events.FeedID]bool{}
	for len(lines) > 0 {
		n := 1
		if feed := lines[0].Feed(); !refused[feed] {
			if n = d.goesOn(lines); n == 0 {
				n = 1
				if gap := d.take(lines[0]); gap != nil {
					refused[feed] = true
					d.taken.Gaps = append(d.taken.Gaps, gap)
				}
			}
		}
		lines = lines[n:]
	}
}

// TakeHole stores next, and in front of it the mark of a line that no peer asked
// could supply: its place, and its hash as next says it. If still earlier lines
// are missing, their places are kept as well. The journal names these places in
// Holes, and Take fills them whenever somebody has the lines.
func (j *Journal) TakeHole(ctx context.Context, feed events.FeedID, missing events.Head, next seal.Verified) (Taken, error) {
	if err := errors.Join(ctx.Err(), j.checkSite([]seal.Verified{next})); err != nil {
		return Taken{}, err
	}
	if err := checkHole(feed, missing, next); err != nil {
		return Taken{}, err
	}
	j.write.Lock()
	defer j.write.Unlock()
	if err := j.refusal(); err != nil {
		return Taken{}, fmt.Errorf("take hole: %w", err)
	}
	d := j.newDraft()
	if err := d.leaveRoom(feed, missing); err != nil {
		return Taken{}, fmt.Errorf("take hole %d of %s: %w", missing.Seq, feed.Short(), err)
	}
	if gap := d.take(next); gap != nil {
		return Taken{}, gap
	}
	if err := d.commit(); err != nil {
		return Taken{}, j.broke(err)
	}
	return d.taken, nil
}

// checkHole says whether the line proves the hole before it.
func checkHole(feed events.FeedID, missing events.Head, next seal.Verified) error {
	if next.Feed() != feed || next.Seq() != missing.Seq+1 || next.Prev() != missing.Hash {
		return fmt.Errorf("take hole %d of %s: %w", missing.Seq, feed.Short(), ErrHole)
	}
	return nil
}
