package projection

import (
	"cmp"
	"slices"

	"pairwalk/events"
)

// timeline is a view of the history with its records applied and its field
// facts laid out in site time.
type timeline struct {
	site     events.SiteID
	ranks    *events.Ranks
	view     []*events.Event // record order
	trust    *trust
	voids    map[events.Ref]void
	settings Settings
	resolved map[string]Resolution
	clocks   clocks
	sight    sight
	said     map[*events.Event]events.Instant // when it was said, in site time
	facts    []fact                           // field facts by (point, rank)
	odd      []Anomaly                        // records that make no sense
	opened   *events.Event
}

// fact is a field fact at its point in time. Withdrawn and quarantined ones
// stay on the timeline: a settle wait must count them.
type fact struct {
	Cause
	void        *void  // who withdrew it, if anybody
	quarantined string // why its author may not say it, "" if they may
}

// void is a withdrawal that stands.
type void struct {
	Cause
	Why  events.VoidWhy
	Note string
	Own  bool // by the member who had said it
}

func newTimeline(site events.SiteID, ranks *events.Ranks, view []*events.Event) *timeline {
	t := &timeline{site: site, ranks: ranks, view: view, said: make(map[*events.Event]events.Instant, len(view))}
	t.sight = newSight(view)
	t.trust = newTrust(site, view)
	t.applyRecords()
	t.clocks = newClocks(t.reference(), t.comparisons())
	t.layOut(view, 0)
	slices.SortStableFunc(t.facts, byPoint)
	return t
}

func byPoint(a, b fact) int {
	return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.rank, b.rank))
}

// layOut gives events their points, in record order, beginning with view[from].
func (t *timeline) layOut(view []*events.Event, from int) {
	for i := from; i < len(view); i++ {
		e := view[i]
		floor := events.Instant(0)
		for _, before := range t.ranks.Before(e) {
			floor = max(floor, t.said[before])
		}
		c := t.clocks.place(e)
		t.said[e] = floor
		if why := t.trust.quarantine(e); why == "" && t.voidOf(e) == nil {
			t.said[e] = max(floor, t.clocks.spoken(e))
		}
		if !e.When.Known {
			c.At = max(c.At, floor)
		}
		if e.Understood() && !e.Kind().IsRecord() {
			c.rank = i
			t.facts = append(t.facts, fact{Cause: c, void: t.voidOf(e), quarantined: t.trust.quarantine(e)})
		}
	}
}

func (t *timeline) voidOf(e *events.Event) *void {
	if v, ok := t.voids[e.Ref()]; ok {
		return &v
	}
	return nil
}

// cause places a record in site time.
func (t *timeline) cause(e *events.Event) Cause {
	c := t.clocks.place(e)
	if said, ok := t.said[e]; ok && !e.When.Known {
		c.At = said
	}
	return c
}

// extend takes in the newest events of a history without starting over, if
// nothing they say can reach back: order is the whole record order, of which
// the last n are new. It says false, having done nothing, if it can't.
func (t *timeline) extend(order []*events.Event, n int) bool {
	old := len(order) - n
	if old != len(t.view) || old == 0 || order[old-1] != t.view[old-1] {
		return false
	}
	for i := old; i < len(order); i++ {
		e := order[i]
		if !e.Understood() || e.Kind().IsRecord() || !t.trust.knows(e) || t.trust.forked(e) {
			return false
		}
	}
	before := len(t.facts)
	t.sight.add(order[old:])
	t.trust.add(order[old:])
	t.layOut(order, old)
	t.view = order
	fresh := t.facts[before:]
	slices.SortStableFunc(fresh, byPoint)
	if before > 0 && len(fresh) > 0 && byPoint(t.facts[before-1], fresh[0]) > 0 {
		slices.SortStableFunc(t.facts, byPoint)
	}
	return true
}

// sight remembers, for every feed, which lines of the others it had taken in by
// which of its own.
type sight map[events.FeedID]map[events.FeedID][]glimpse

type glimpse struct{ at, seen events.Seq }

func newSight(view []*events.Event) sight {
	s := sight{}
	s.add(view)
	return s
}

func (s sight) add(evs []*events.Event) {
	for _, e := range evs {
		for _, ref := range e.Seen {
			if s[e.Feed] == nil {
				s[e.Feed] = map[events.FeedID][]glimpse{}
			}
			s[e.Feed][ref.Feed] = append(s[e.Feed][ref.Feed], glimpse{e.Seq, ref.Seq})
		}
	}
}

// sees says whether b's author had taken in a when b was said.
func (s sight) sees(b, a *events.Event) bool {
	if a.Feed == b.Feed {
		return a.Seq < b.Seq
	}
	for _, g := range s[b.Feed][a.Feed] {
		if g.at <= b.Seq && g.seen >= a.Seq {
			return true
		}
	}
	return false
}
