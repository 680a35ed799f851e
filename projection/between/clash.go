package between

import (
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
)

// clashes lists the conflicts that were made and resolved between the moments. What
// a resolution closed is what its author knew to be open when they made it.
func (c *comparison) clashes() []Passage {
	var out []Passage
	for _, r := range c.late.Site.Resolved {
		if !c.between(r.Ref()) {
			continue
		}
		x, ok := c.openBefore(r)
		if !ok {
			continue
		}
		p := Passage{What: Conflict, Of: c.clash(r.Key), Ended: c.entry(r.Ref())}
		for _, ref := range x.Events {
			t := c.late.look(ref)
			if t != nil && t.At > c.early.Site.Moment.When.Value && (p.Began.IsZero() || t.After(p.Began.Cause)) {
				p.Began = c.entry(ref)
			}
		}
		if !p.Began.IsZero() {
			p.Words = fmt.Sprintf("%s: conflict from %s: %s; resolved: %s", p.Of.Words(), c.late.stretch(p.Began.At, p.Ended.Said, " to "), x.Why, r.Why)
			out = append(out, p)
		}
	}
	return out
}

// openBefore is a conflict as whoever resolved it had it before them.
func (c *comparison) openBefore(r projection.Resolution) (projection.Conflict, bool) {
	said := c.late.look(r.Ref()).Said
	_, most := c.h.KnownTo(projection.Known{Member: r.Member(), At: events.Some(said - 1)})
	before := &projection.History{Site: c.h.Site}
	for _, e := range c.h.Ordered() {
		if head, seen := most[e.Feed]; seen && e.Seq <= head.Seq && e != r.Event {
			before.Add(*e)
		}
	}
	for _, x := range conflictsOf(before.At(projection.Moment{})) {
		if x.Key == r.Key {
			return x, true
		}
	}
	return projection.Conflict{}, false
}

// cures are the kinds of entry that may end a conflict without anybody resolving
// it.
var cures = []events.Kind{"push.done", "device.fitted", "device.replaced", "device.paired", "hub.channel", "hub.loaded", "hub.ready"}

// cured lists the conflicts that were made between the moments and that an entry
// ended since, such as a channel that was changed and then pushed. Where more than
// 64 entries may have ended one, only the last 64 are asked.
func (c *comparison) cured() []Passage {
	l := c.climb()
	var stops []int
	for i := 1; i < len(l.rungs); i++ {
		if r := &l.rungs[i]; r.view == nil && slices.ContainsFunc(r.entries, func(ref events.Ref) bool { return slices.Contains(cures, c.late.look(ref).Event.Kind()) }) {
			stops = append(stops, i)
		}
	}
	stops = stops[max(0, len(stops)-few):]
	first, last := l.at(0).all(ofConflicts), l.at(len(l.rungs)-1).all(ofConflicts)
	var out []Passage
	for _, i := range stops {
		after := l.at(i).all(ofConflicts)
		for k, f := range l.just(i).all(ofConflicts) {
			_, was := first[k]
			_, still := after[k]
			_, again := last[k]
			if k.what == Conflict && !was && !still && !again {
				out = append(out, c.curedBy(k, f, l.nearest(&l.rungs[i], k.of)))
			}
		}
	}
	return slices.DeleteFunc(out, func(p Passage) bool { return p.Began.IsZero() })
}

func (c *comparison) curedBy(k key, f fact, by events.Ref) Passage {
	p := Passage{What: Conflict, Of: k.of, Ended: c.entry(by)}
	for _, ref := range f.by {
		if t := c.late.look(ref); t != nil && (p.Began.IsZero() || t.After(p.Began.Cause)) {
			p.Began = c.entry(ref)
		}
	}
	if !p.Began.IsZero() {
		p.Words = fmt.Sprintf("%s: conflict from %s: %s", p.Of.Words(), c.late.stretch(p.Began.At, p.Ended.At, " to "), strings.TrimPrefix(f.words, "open: "))
	}
	return p
}
