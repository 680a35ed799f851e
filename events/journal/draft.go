package journal

import (
	"slices"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// draft is a change in the making: strands as they will be. Places are appended
// past the end of what readers see, or to a copy where old ones change.
type draft struct {
	j       *Journal
	now     events.Stamp
	strands map[string]*change
	known   map[events.FeedID][]string // names of all strands of a feed, main first
	own     events.StartWhy            // why the own feed must now be replaced, or ""
	forks   []*change                  // begun now
	news    []seal.Verified            // what changes what is held, in the order offered
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

// goesOn takes lines that simply go on where a feed without forks ends, as nearly all
// that ever come do, and says how many that are.
func (d *draft) goesOn(lines []seal.Verified) int {
	all := d.of(lines[0].Feed())
	if len(all) != 1 || all[0].fork() || lines[0].Seq() != all[0].next() || !all[0].follows(lines[0]) {
		return 0
	}
	n := 1
	for n < len(lines) && lines[n].Follows(lines[n-1]) {
		n++
	}
	d.extend(all[0], lines[:n]...)
	return n
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

// extend puts lines at the end of a strand that are new and follow each other.
func (d *draft) extend(c *change, lines ...seal.Verified) {
	c.add(lines...)
	if c.name == string(d.j.own.Feed) && d.own == "" {
		d.own = events.Restored // somebody holds more of our feed than we do
	}
	d.taken.Fresh, d.news = behind(d.taken.Fresh, lines), behind(d.news, lines)
}

// behind puts lines behind others. Where there are none they are not copied: what it
// returns then has no room at its end, and may be added to but not changed.
func behind(before, lines []seal.Verified) []seal.Verified {
	if len(before) == 0 {
		return slices.Clip(lines)
	}
	return append(before, lines...)
}

// butLast is what behind returned, without the last line.
func butLast(lines []seal.Verified) []seal.Verified { return slices.Clip(lines[:len(lines)-1]) }

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
