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
	view     []*events.Event       // record order
	index    map[*events.Event]int // place in view
	trust    *trust
	voids    map[events.Ref]void
	settings Settings
	resolved map[string]Resolution
	clocks   clocks
	sight    sight
	laid     []laid    // for each of view
	facts    []fact    // field facts by (point, rank)
	odd      []Anomaly // records that make no sense
	opened   *events.Event

	awaited map[events.Ref]bool          // entries that voids name and nobody has brought yet
	holes   map[events.FeedID]bool       // feeds of which lines are missing that others follow
	gaps    map[events.FeedID]events.Seq // of those, the first line of their own that follows a missing one
	forGood *always                      // nil until it is asked for
	folds   int                          // how many were begun
	pace    pace
	paths   map[string]*path
	watch   *watch // nil until the course is asked for
	telling telling
}

// laid is an event's place in site time.
type laid struct {
	Cause
	said   events.Instant // when it was recorded, never before what its author had heard said
	pushes events.Instant // the latest point of a "now" entry among it and all before it
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

func (h *History) newTimeline(view []*events.Event) *timeline {
	t := &timeline{site: h.Site, ranks: &h.ranks, pace: cmp.Or(h.pace, usualPace), view: view, index: make(map[*events.Event]int, len(view)), holes: map[events.FeedID]bool{}, gaps: map[events.FeedID]events.Seq{}}
	for i, e := range view {
		t.index[e] = i
	}
	t.trust = newTrust(h.Site, &h.ranks, h.proofs, view)
	t.sight = newSight(&h.ranks, view)
	t.applyRecords()
	t.clocks = newClocks(t.reference(), t.readings(), t.comparisons())
	t.layOut(0)
	slices.SortStableFunc(t.facts, byPoint)
	return t
}

func byPoint(a, b fact) int {
	return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.rank, b.rank))
}

// layOut gives events their points, in record order, beginning with view[from].
func (t *timeline) layOut(from int) {
	for i := from; i < len(t.view); i++ {
		e := t.view[i]
		x := laid{Cause: t.clocks.place(e)}
		x.rank = i
		for _, before := range t.ranks.Before(e) {
			if j := t.index[before]; j < i {
				x.said, x.pushes = max(x.said, t.laid[j].said), max(x.pushes, t.laid[j].pushes)
			}
		}
		void, quarantined := t.voidOf(e), t.trust.quarantine(e)
		counts := void == nil && quarantined == ""
		if !e.When.Known {
			x.At = max(x.At, x.pushes)
			if counts {
				x.pushes = x.At
			}
		}
		if counts {
			x.said = max(x.said, t.clocks.spoken(e))
		}
		t.laid = append(t.laid, x)
		if e.Understood() && !e.Kind().IsRecord() {
			t.facts = append(t.facts, fact{x.Cause, void, quarantined})
		}
		t.noteHoles(e)
	}
}

// noteHoles notes of which feeds an event follows lines that are missing here.
func (t *timeline) noteHoles(e *events.Event) {
	if e.Seq > 1 {
		if _, found := t.ranks.Find(events.Ref{Feed: e.Feed, Seq: e.Seq - 1, Hash: e.Prev.Short()}); !found {
			t.holes[e.Feed] = true
			if first, noted := t.gaps[e.Feed]; !noted || e.Seq < first {
				t.gaps[e.Feed] = e.Seq
			}
		}
	}
	for _, ref := range e.Seen {
		if _, found := t.ranks.Find(ref); !found {
			t.holes[ref.Feed] = true
		}
	}
}

func (t *timeline) voidOf(e *events.Event) *void {
	if v, ok := t.voids[e.Ref()]; ok {
		return &v
	}
	return nil
}

// find is the event of the view that ref names. The ranks may know more.
func (t *timeline) find(ref events.Ref) (*events.Event, bool) {
	e, found := t.ranks.Find(ref)
	if _, inView := t.index[e]; !found || !inView {
		return nil, false
	}
	return e, true
}

// cause places an event of the view in site time.
func (t *timeline) cause(e *events.Event) Cause { return t.laid[t.index[e]].Cause }

// extend takes in the newest events of a history without starting over, if
// nothing they say can reach back: order is the whole record order, of which
// the last n are new. Where it says false, the timeline is of no more use.
func (t *timeline) extend(order []*events.Event, n int) bool {
	old := len(order) - n
	if old == 0 || !slices.Equal(order[:old], t.view) {
		return false
	}
	places := map[place]bool{}
	for _, e := range order[old:] {
		at := place{e.Feed, e.Seq}
		if places[at] || !t.reachesBackNowhere(e) {
			return false
		}
		places[at] = true
	}
	before := len(t.facts)
	for i, e := range order[old:] {
		t.index[e] = old + i
	}
	t.view, t.forGood = order, nil
	t.trust.add(order[old:])
	t.sight.add(order[old:])
	t.layOut(old)
	fresh := t.facts[before:]
	slices.SortStableFunc(fresh, byPoint)
	if before > 0 && len(fresh) > 0 && byPoint(t.facts[before-1], fresh[0]) > 0 {
		n, _ := slices.BinarySearchFunc(t.facts[:before], fresh[0], byPoint)
		t.forget(n)
		slices.SortStableFunc(t.facts, byPoint)
	}
	return true
}

// reachesBackNowhere says whether an event at the end of the record order leaves
// everything before it as it was: a plain field fact, by somebody in good
// standing, that nobody was waiting for.
func (t *timeline) reachesBackNowhere(e *events.Event) bool {
	return e.Understood() && !e.Kind().IsRecord() &&
		!t.awaited[e.Ref()] && !t.holes[e.Feed] && t.trust.plain(e) &&
		(e.Member() != t.clocks.reference || t.clocks.eras.runOn(e.Stamp()))
}
