package between

import (
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// ladder leads from one moment to another, one entry a rung: first what is known
// grows, with the clock held, and then the clock runs on. Its lowest rung is the
// first moment and its highest the second.
type ladder struct {
	c       *comparison
	rungs   []rung
	where   map[events.Ref]int
	grounds map[lay]*mesh.Ground
	last    map[events.HubID]*mesh.Ground // of each hub and of all, which the next is mended from
	cost    int                           // moments that were asked for
	old     *rung
}

// rung is the facts once some entries count.
type rung struct {
	entries []events.Ref    // that count from here on, or no more where taken away
	view    []*events.Event // what is known here; nil for what is known at the later moment
	when    events.Instant  // as of when
	about   map[events.Subject]bool
	reach   bool  // it may change who reaches whom
	turns   bool  // it turns something off or on
	laid    int   // how many entries up to here lay the ground anew
	after   asked // with the entries
	before  asked // an instant before them
}

// asked is what was asked for of one moment.
type asked struct {
	site  *projection.Site
	table *table
}

// climb builds the ladder. Only entries that count for facts have a rung.
func (c *comparison) climb() *ladder {
	if c.ladder != nil {
		return c.ladder
	}
	l := &ladder{c: c, grounds: map[lay]*mesh.Ground{}, last: map[events.HubID]*mesh.Ground{}}
	l.rungs = []rung{{when: c.early.Site.Moment.When.Value, after: asked{site: c.early.Site}}}
	c.ladder = l
	l.learn()
	l.run()
	l.rungs = append(l.rungs, rung{when: c.late.Site.Moment.When.Value, after: asked{site: c.late.Site}})
	return l
}

// learn adds what is known at the later moment and not at the earlier one, in
// record order, which keeps whatever an entry follows before it; and first takes
// away, the newest first, what is known only at the earlier one.
func (l *ladder) learn() {
	var both, lost, won []*events.Event
	if l.c.early.Site.Moment.Known == l.c.late.Site.Moment.Known {
		return
	}
	for _, e := range l.c.h.Ordered() {
		early, late := l.c.early.all.Holds(e.Ref()), l.c.late.all.Holds(e.Ref())
		switch {
		case early && late:
			both = append(both, e)
		case early:
			lost = append(lost, e)
		case late:
			won = append(won, e)
		}
	}
	if len(lost)+len(won) == 0 {
		return
	}
	when := l.c.early.Site.Moment.When.Value
	for i := len(lost) - 1; i >= 0; i-- {
		l.add(lost[i], when, together(both, lost[:i]))
	}
	for i := range won {
		l.add(won[i], when, together(both, won[:i+1]))
	}
}

// together is a view of its own, also where nothing is in it.
func together(both, some []*events.Event) []*events.Event {
	return append(append(make([]*events.Event, 0, len(both)+len(some)), both...), some...)
}

// run lets the clock go from the earlier moment to the later one, as known at the
// later. Entries of one instant share a rung.
func (l *ladder) run() {
	from, upto := l.c.early.Site.Moment.When.Value, l.c.late.Site.Moment.When.Value
	all := &l.c.late.all
	for i := range l.c.late.upto {
		if at := all.Point(i); at > from && at <= upto && !all.Event(i).Kind().IsRecord() && all.Stands(i) {
			l.add(all.Event(i), at, nil)
		}
	}
}

// add puts an entry on a rung of its own, or with those of the same instant.
func (l *ladder) add(e *events.Event, when events.Instant, view []*events.Event) {
	last := &l.rungs[len(l.rungs)-1]
	if view != nil || last.view != nil || last.when != when || len(last.entries) == 0 {
		l.rungs = append(l.rungs, rung{when: when, view: view, about: map[events.Subject]bool{}, laid: last.laid})
		last = &l.rungs[len(l.rungs)-1]
	}
	last.entries = append(last.entries, e.Ref())
	for _, s := range l.c.names.subjects(e.Ref()) {
		last.about[s] = true
	}
	last.reach = last.reach || bearsOnReach(e.Kind())
	last.turns = last.turns || turnsThings(string(e.Kind()))
	if laysGround(e.Kind()) {
		last.laid++
	}
}

// bearsOnReach says whether entries of a kind may change who reaches whom.
func bearsOnReach(k events.Kind) bool {
	family, _, _ := strings.Cut(string(k), ".")
	switch family {
	case "note", "photo", "check", "work", "hold", "fault", "drawing", "wifi", "test", "records":
		return false
	}
	return k != "hub.assigned" && k != "device.skipped" && k != "device.refused"
}

// laysGround says whether entries of a kind may change what radio can do between
// the places of the site.
func laysGround(k events.Kind) bool {
	switch k {
	case "power.off", "power.on", "device.heard", "device.fitted", "device.unpaired", "device.paired", "push.done", "push.failed",
		"hub.ready", "hub.lost", "hub.loaded", "hub.channel":
		return false
	}
	return bearsOnReach(k)
}

// rungWith is the rung on which an entry begins to count, -1 for none.
func (l *ladder) rungWith(ref events.Ref) int {
	if l.where == nil {
		l.where = map[events.Ref]int{}
		for i := range l.rungs {
			for _, ref := range l.rungs[i].entries {
				l.where[ref] = i
			}
		}
	}
	if i, ok := l.where[ref]; ok {
		return i
	}
	return -1
}
