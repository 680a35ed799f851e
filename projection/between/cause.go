package between

import (
	"cmp"
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// enough is how many moments between the two may be asked for what moved a way
// home from one route to another. A day on which everything is paired has as many
// reasons as entries; past this the answer names the stretch.
const enough = 200

// differences lists the facts that are not the same.
func (c *comparison) differences(in scope) []Change {
	l := c.climb()
	top := len(l.rungs) - 1
	first, last := l.at(0), l.at(top)
	out := c.against(first.most(), last.most(), in)
	return append(out, c.against(first.all(ofWays), last.all(ofWays), in)...)
}

// against compares two tables, key by key in a fixed order, since what is asked for
// one change is had for the next; ways home that were lost or won come before those
// that only run elsewhere.
func (c *comparison) against(early, late map[key]fact, in scope) []Change {
	var keys []key
	for k, after := range late {
		before, was := early[k]
		if differ(before, was, after, true) && in.holds(k, slices.Concat(before.also, after.also)) {
			keys = append(keys, k)
		}
	}
	for k, before := range early {
		if _, still := late[k]; !still && differ(before, true, fact{}, false) && in.holds(k, before.also) {
			keys = append(keys, k)
		}
	}
	slices.SortFunc(keys, func(a, b key) int {
		return cmp.Or(sooner(early[a].same != late[a].same, early[b].same != late[b].same), a.compare(b))
	})
	out := make([]Change, 0, len(keys))
	for _, k := range keys {
		before, was := early[k]
		after, is := late[k]
		out = append(out, c.change(k, before, was, after, is))
	}
	return out
}

func sooner(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return -1
	}
	return 1
}

// differ says whether a fact is not the same; what is told only of what is there
// at both moments is passed over where it is not.
func differ(before fact, was bool, after fact, is bool) bool {
	if was && is {
		return !after.is(before)
	}
	return !(was && before.within) && !(is && after.within)
}

func (c *comparison) change(k key, before fact, was bool, after fact, is bool) Change {
	x := Change{Of: k.of, What: k.what, Before: wordsOf(k, before, was), After: wordsOf(k, after, is)}
	if x.Before == x.After && k.what == State {
		x.Before += " " + c.late.Clock(before.cause.At)
		x.After += " again " + c.late.Clock(after.cause.At)
	}
	c.blame(&x, k, before, was, after, is)
	return x
}

// blame finds the entry that did a change.
func (c *comparison) blame(x *Change, k key, before fact, was bool, after fact, is bool) {
	if is && !fell(k, before, after) && c.own(x, k, after, was) {
		return
	}
	if was && c.withdrawn(x, before) {
		return
	}
	if after.ripe > c.early.Site.Moment.When.Value && after.ripe <= c.late.Site.Moment.When.Value && !after.cause.IsZero() {
		x.Cause = c.entry(after.cause.Ref())
		x.Why = "by time alone: its settle time was over at " + c.late.Clock(after.ripe)
		return
	}
	if k.what == Path && was && is && before.same == after.same && c.aged(k, after) {
		x.Why = agedAlone // what went and came back in between did not do it
		return
	}
	c.search(x, k, after, is)
}

// aged says whether a fact is as time alone would have it.
func (c *comparison) aged(k key, after fact) bool {
	f, _ := c.climb().aged().fact(k)
	return after.is(f)
}

// agedAlone is why a fact differs that is as if nothing had been logged since.
const agedAlone = "by time alone: nothing that was logged did it"

// joined is why a device has a way home that had none: it is not searched which of
// the entries since made it this way and no other.
const joined = "it came onto the net"

// own takes a fact's own entry for the cause, if it is news. A way home has one
// only where there is one now and was none.
func (c *comparison) own(x *Change, k key, f fact, was bool) bool {
	if k.what == Path && (was || f.same != string(mesh.Yes)) {
		return false
	}
	refs := f.by
	if !f.cause.IsZero() {
		refs = []events.Ref{f.cause.Ref()}
	}
	for _, ref := range refs {
		t := c.late.look(ref)
		if t != nil && c.news(ref) && !contradicts(t, k, f) && (x.Cause.IsZero() || t.After(x.Cause.Cause)) {
			x.Cause = c.entry(ref)
		}
	}
	if x.Cause.IsZero() {
		return false
	}
	c.firstWord(x, k, f)
	if k.what == Power && c.stood(x.Cause.Ref(), k, f) { // what cut it off again is not what cut it off
		x.Cause = Entry{}
		return false
	}
	if x.Why = c.unheard(x.Cause); k.what == Path {
		x.Why = none(x.Why, joined)
	}
	return true
}

// fell says whether a device was paired and is no more: what its state rests on now
// is not what took it there.
func fell(k key, before, after fact) bool {
	return k.what == State && before.same != "" && after.same == ""
}

// contradicts says whether an entry said something else than what stands: the word
// of another may have been set aside.
func contradicts(t *projection.Told, k key, f fact) bool {
	said, speaks := says(t, k, f)
	return speaks && said != f.words
}

// unheard says of an entry from before the first moment why it is news all the
// same.
func (c *comparison) unheard(e Entry) string {
	known := c.early.Site.Moment.Known
	if known.Everything() || c.early.all.Holds(e.Ref()) {
		return ""
	}
	return "not known to " + c.late.Site.MemberName(known.Member) + " at the first moment"
}

// withdrawn takes the withdrawal of what a fact rested on for the cause.
func (c *comparison) withdrawn(x *Change, f fact) bool {
	if f.cause.IsZero() {
		return false
	}
	void, ok := c.voidOf(f.cause.Ref())
	if ok {
		x.Cause = void
		x.Why = "it rested on an entry withdrawn since"
	}
	return ok
}

// voidOf is the withdrawal of an entry, as the later moment has it.
func (c *comparison) voidOf(ref events.Ref) (Entry, bool) {
	if t := c.late.look(ref); t == nil || t.Withdrawn == "" {
		return Entry{}, false
	}
	by, ok := c.voids()[ref]
	if !ok {
		return Entry{}, false
	}
	return c.entry(by), true
}

// voids is the first withdrawal of each entry that counts, in the order of site time.
func (c *comparison) voids() map[events.Ref]events.Ref {
	if c.taken == nil {
		c.taken = map[events.Ref]events.Ref{}
		for i := range c.late.upto {
			p, void := c.late.all.Event(i).Payload.(events.EventVoided)
			if _, already := c.taken[p.Event]; void && !already && c.late.all.Stands(i) {
				c.taken[p.Event] = c.late.all.Event(i).Ref()
			}
		}
	}
	return c.taken
}

// search climbs the ladder for the last entry before which the fact is not as at
// the end and after which it is.
func (c *comparison) search(x *Change, k key, after fact, is bool) {
	l := c.climb()
	s, top := seeker{l, k, after, is}, len(l.rungs)-1
	lo, hi, whole := s.find(0)
	for whole && hi < top {
		away, off := s.away(hi)
		if !off {
			break
		}
		lo, hi, whole = s.find(away) // it was otherwise once more
	}
	r := &l.rungs[hi]
	switch {
	case !whole:
		x.Why = fmt.Sprintf("by one of the entries from %s; ask of a shorter time to learn which", c.late.stretch(l.rungs[lo].when, r.when, " to "))
	case len(r.entries) == 0 || r.view == nil && s.same(l.just(hi)):
		x.Why = agedAlone
	default:
		x.Cause = c.entry(l.nearest(r, k.of))
		x.Why = c.how(x, k)
	}
}

// how says how an entry did what is not its own word.
func (c *comparison) how(x *Change, k key) string {
	if !c.late.all.Holds(x.Cause.Ref()) {
		return "by an entry that is not known at the second moment"
	}
	if why := c.unheard(x.Cause); why != "" {
		return why
	}
	var about []string
	for _, s := range x.Cause.Subjects {
		if s == k.of {
			return ""
		}
		about = append(about, s.Words())
	}
	return "by an entry about " + listed(about)
}

// nearest is the entry of a rung that speaks of a subject, else the first.
func (l *ladder) nearest(r *rung, of events.Subject) events.Ref {
	for _, ref := range r.entries {
		if slices.Contains(l.c.names.subjects(ref), of) {
			return ref
		}
	}
	return r.entries[0]
}
