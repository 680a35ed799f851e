package journal

import (
	"slices"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// again is a line whose hash is known at its place.
func (d *draft) again(c *change, v seal.Verified) {
	switch p := c.at(v.Seq()); p.state {
	case held:
		d.taken.Known++
		if p.print != printOf(v.Tail()) && d.better(c, v) {
			d.taken.Healed++
			d.news = append(d.news, v)
			d.put(c, v, p.rec)
		}
	case badSeal:
		d.taken.Known++
		if v.CheckSignature() == nil {
			d.taken.Healed++
			d.news = append(d.news, v)
			d.put(c, v, p.rec)
		}
	default:
		known := d.elsewhere(c, v)
		d.heal(c, v)
		if known { // it stood on a branch already, and shows that this one is the same up to there
			d.taken.Fresh = butLast(d.taken.Fresh)
			d.taken.Known++
		}
	}
}

// elsewhere says whether another strand holds a line.
func (d *draft) elsewhere(c *change, v seal.Verified) bool {
	return slices.ContainsFunc(d.of(v.Feed()), func(o *change) bool {
		return o.name != c.name && o.hashAt(v.Seq()) == v.Hash() && o.at(v.Seq()).readable()
	})
}

// better says whether v is the held line with a signature that fits, where that
// of the held one does not: a peer whose file was damaged there passed it on, and
// only the lines after it vouch for it.
func (d *draft) better(c *change, v seal.Verified) bool {
	held, err := d.j.line(c.strand, v.Seq())
	return err == nil && held.CheckSignature() != nil && v.CheckSignature() == nil
}

// heal fills the place of a line that is damaged or missing. The receipt stays
// where the lost line is known to have been this one.
func (d *draft) heal(c *change, v seal.Verified) {
	was := *c.at(v.Seq())
	rec := int32(0)
	if was.state == damaged && was.hash == v.Hash() {
		rec = was.rec
	}
	d.put(c, v, rec)
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
	d.news = append(d.news, v)
}

// evict moves the line before v into a fork: it took a damaged place as the only
// claimant, and v now shows that another line was there.
func (d *draft) evict(c *change, v seal.Verified) {
	q := v.Seq() - 1
	var before seal.Verified
	held := c.at(q).readable()
	if held {
		var err error
		before, err = d.j.line(c.strand, q)
		held = err == nil // else its bytes are kept aside, as damaged ones are
	}
	d.set(c, q, place{hash: v.Prev(), state: damaged})
	if k, ok := c.kept(q); ok {
		c.fresh = slices.Delete(c.unshared(), k, k+1)
	}
	if held {
		d.fork(before)
		d.taken.Fresh = butLast(d.taken.Fresh) // it is not new
		d.news = butLast(d.news)
	}
}

// put sets a place to a line that is new there.
func (d *draft) put(c *change, v seal.Verified, rec int32) {
	p := placeOf(v)
	p.rec = rec
	d.set(c, v.Seq(), p)
	c.keep(v)
	if v.Seq() == c.first {
		c.base = v.Prev()
	}
}

// set changes an old place.
func (d *draft) set(c *change, q events.Seq, p place) {
	if !c.rewrite {
		c.places, c.rewrite = slices.Clone(c.places), true
	}
	*c.at(q) = p
}
