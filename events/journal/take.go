package journal

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"

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
	refused := map[events.FeedID]bool{}
	for _, v := range lines {
		if refused[v.Feed()] {
			continue
		}
		if gap := d.take(v); gap != nil {
			refused[v.Feed()] = true
			d.taken.Gaps = append(d.taken.Gaps, gap)
		}
	}
	if err := d.commit(); err != nil {
		return Taken{}, j.broke(err)
	}
	var gaps []error
	for _, g := range d.taken.Gaps {
		gaps = append(gaps, g)
	}
	return d.taken, errors.Join(gaps...)
}

// TakeHole stores next, and in front of it the mark of a line that no peer asked
// could supply: its place, and its hash as next says it. If still earlier lines
// are missing, their places are kept as well. The journal names these places in
// Holes, and Take fills them whenever somebody has the lines.
func (j *Journal) TakeHole(ctx context.Context, feed events.FeedID, missing events.Head, next seal.Verified) (Taken, error) {
	if err := errors.Join(ctx.Err(), j.checkSite([]seal.Verified{next})); err != nil {
		return Taken{}, err
	}
	if next.Feed() != feed || next.Seq() != missing.Seq+1 || next.Prev() != missing.Hash {
		return Taken{}, fmt.Errorf("take hole %d of %s: %w", missing.Seq, feed.Short(), ErrHole)
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

// draft is a change in the making: strands as they will be. Places are appended
// past the end of what readers see, or to a copy where old ones change.
type draft struct {
	j       *Journal
	now     events.Stamp
	strands map[string]*change
	known   map[events.FeedID][]string // names of all strands of a feed, main first
	own     events.StartWhy            // why the own feed must now be replaced, or ""
	forks   []*change                  // begun now
	taken   Taken
}

// change is a strand as it will be.
type change struct {
	*strand
	from    int  // the first new place
	rewrite bool // old places change: the file is written whole
}

func (j *Journal) newDraft() *draft {
	return &draft{j: j, now: j.env.Now(), strands: map[string]*change{}, known: map[events.FeedID][]string{}}
}

// of is a feed's strands as drafted, main branch first.
func (d *draft) of(feed events.FeedID) []*change {
	if d.known[feed] == nil {
		for _, s := range d.j.strandsOf(feed) {
			c := *s
			d.add(&change{strand: &c, from: len(s.places), rewrite: false})
		}
	}
	out := make([]*change, 0, 2)
	for _, name := range d.known[feed] {
		out = append(out, d.strands[name])
	}
	return out
}

func (d *draft) add(c *change) *change {
	d.strands[c.name] = c
	d.known[c.feed] = append(d.known[c.feed], c.name)
	slices.Sort(d.known[c.feed])
	return c
}

// take finds the place of one line.
func (d *draft) take(v seal.Verified) *Gap {
	all := d.of(v.Feed())
	for _, c := range all {
		if c.hashAt(v.Seq()) == v.Hash() {
			d.again(c, v)
			return nil
		}
	}
	for _, c := range all {
		if c.has(v.Seq()) && c.at(v.Seq()).hash == (events.Hash{}) && c.follows(v) {
			d.heal(c, v)
			return nil
		}
	}
	for _, c := range all {
		if v.Seq() == c.next() && c.follows(v) && (len(c.places) > 0 || c.name == strandName(v, c.fork())) {
			d.extend(c, v)
			return nil
		}
	}
	if len(all) == 0 && v.Seq() == 1 {
		d.extend(d.add(&change{strand: &strand{name: string(v.Feed()), feed: v.Feed(), first: 1}}), v)
		return nil
	}
	for _, c := range all {
		if c.has(v.Seq()) && c.follows(v) {
			d.fork(v)
			return nil
		}
	}
	return d.gap(all, v)
}

// strandName is the name of the strand that v begins.
func strandName(v seal.Verified, fork bool) string {
	if !fork {
		return string(v.Feed())
	}
	return string(v.Feed()) + "~" + v.Hash().Short().String()
}

// follows says whether v comes right after a line that the strand knows.
func (s *strand) follows(v seal.Verified) bool {
	if v.Seq() == 1 {
		return s.first == 1
	}
	if len(s.places) == 0 && s.fork() {
		return v.Seq() == s.first // its base was checked when it was first taken
	}
	return s.hashAt(v.Seq()-1) == v.Prev()
}

// gap says from where the lines of a feed are wanted. A line that is not past
// our head belongs to a fork that began earlier: halving finds where.
func (d *draft) gap(all []*change, v seal.Verified) *Gap {
	g := &Gap{Feed: v.Feed(), Got: v.Seq(), Want: 1}
	if len(all) > 0 {
		g.Want = all[0].next()
	}
	if g.Want >= v.Seq() {
		g.Want = max(1, v.Seq()/2)
	}
	return g
}

// again is a line whose hash is known at its place.
func (d *draft) again(c *change, v seal.Verified) {
	switch p := c.at(v.Seq()); p.state {
	case held:
		d.taken.Known++
	case badSeal:
		d.taken.Known++
		if v.CheckSignature() == nil {
			d.taken.Healed++
			d.set(c, v.Seq(), place{line: v, hash: v.Hash(), rec: p.rec})
		}
	default:
		d.heal(c, v)
	}
}

// heal fills the place of a line that is damaged or missing. The receipt stays
// where the lost line is known to have been this one.
func (d *draft) heal(c *change, v seal.Verified) {
	was := *c.at(v.Seq())
	fresh := place{line: v, hash: v.Hash()}
	if was.state == damaged && was.hash == v.Hash() {
		fresh.rec = was.rec
	}
	d.set(c, v.Seq(), fresh)
	if c.has(v.Seq() - 1) {
		if before := *c.at(v.Seq() - 1); before.hash == (events.Hash{}) {
			before.hash = v.Prev()
			d.set(c, v.Seq()-1, before)
		} else if before.hash != v.Prev() {
			d.evict(c, v)
		}
	}
	d.taken.Healed++
	d.taken.Fresh = append(d.taken.Fresh, v)
}

// evict moves the line before v into a fork: it took a damaged place as the only
// claimant, and v now shows that another line was there.
func (d *draft) evict(c *change, v seal.Verified) {
	before := *c.at(v.Seq() - 1)
	d.set(c, v.Seq()-1, place{hash: v.Prev(), state: damaged})
	if before.readable() {
		d.fork(before.line)
		d.taken.Fresh = d.taken.Fresh[:len(d.taken.Fresh)-1] // it is not new
	}
}

// set changes an old place.
func (d *draft) set(c *change, q events.Seq, p place) {
	if !c.rewrite {
		c.places, c.rewrite = slices.Clone(c.places), true
	}
	*c.at(q) = p
}

func (d *draft) extend(c *change, v seal.Verified) {
	if len(c.places) == 0 {
		c.first = v.Seq()
	}
	c.places = append(c.places, place{line: v, hash: v.Hash()})
	if c.name == string(d.j.own.Feed) && d.own == "" {
		d.own = events.Restored // somebody holds more of our feed than we do
	}
	d.taken.Fresh = append(d.taken.Fresh, v)
}

func (d *draft) fork(v seal.Verified) {
	name := strandName(v, true)
	c := d.strands[name]
	if c == nil { // not one whose every line is damaged
		c = d.add(&change{strand: &strand{name: name, feed: v.Feed(), first: v.Seq()}})
	}
	d.extend(c, v)
	if v.Feed() == d.j.own.Feed {
		d.own = events.Diverged
	}
	d.forks = append(d.forks, c)
}

// leaveRoom puts holes up to and with the missing line at the end of a feed.
func (d *draft) leaveRoom(feed events.FeedID, missing events.Head) error {
	all := d.of(feed)
	if len(all) == 0 || all[0].fork() {
		d.add(&change{strand: &strand{name: string(feed), feed: feed, first: 1}})
		all = d.of(feed)
	}
	c := all[0]
	if c.has(missing.Seq) && c.hashAt(missing.Seq) == missing.Hash {
		return nil // nothing is missing
	}
	if missing.Seq < c.next() || missing.Seq-c.next() >= maxHoles {
		return ErrHole
	}
	for c.next() < missing.Seq {
		c.places = append(c.places, place{state: hole})
	}
	c.places = append(c.places, place{hash: missing.Hash, state: hole})
	return nil
}

// commit makes the draft durable and then visible.
func (d *draft) commit() error {
	if d.own != "" {
		// First of all: a feed that is known to go on elsewhere must not be
		// continued here, even if storing these lines fails.
		if err := d.j.replaceOwn(d.own, d.now); err != nil {
			return err
		}
	}
	var receipts []byte
	var done []*strand
	for _, name := range slices.Sorted(maps.Keys(d.strands)) {
		c := d.strands[name]
		if !c.rewrite && len(c.places) == c.from {
			continue
		}
		b, err := d.write(c)
		if err != nil {
			return err
		}
		receipts = append(receipts, b...)
		done = append(done, c.strand)
	}
	if err := d.j.appendReceipts(receipts, nil); err != nil {
		return err
	}
	d.j.publish(done...)
	for _, c := range d.forks {
		d.taken.Forks = append(d.taken.Forks, c.asFork())
	}
	return nil
}

// write makes one strand durable and returns its receipts, still to be written.
func (d *draft) write(c *change) ([]byte, error) {
	mine := c.name == string(d.j.own.Feed)
	if !c.rewrite && !c.spoilt {
		if err := d.j.extend(c.strand, c.from); err != nil {
			return nil, err
		}
		return issue(c.strand, c.from, false, d.now, false)
	}
	old, err := d.j.site.Read(c.file())
	if err != nil {
		return nil, fmt.Errorf("read damaged feed: %w", err)
	}
	if mine && d.j.ownFile != nil { // its name is about to mean another file
		_ = d.j.ownFile.Close()
		d.j.ownFile = nil
	}
	if !c.rewrite {
		c.places = slices.Clone(c.places)
	}
	if err := d.j.rewrite(c.strand, old); err != nil {
		return nil, err
	}
	// What is new at the end came from a peer, also in the own feed; what else of
	// that has no record was said here. All of it is written once more below.
	if _, err := issue(c.strand, c.from, false, d.now, false); err != nil {
		return nil, err
	}
	return issue(c.strand, 0, mine, d.now, true)
}
