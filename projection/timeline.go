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
	anew     int             // of the ranks, when the view was made
	order    []events.Number // the view, in record order
	records  []events.Number // those of it that are no field facts
	trust    *trust
	settings Settings
	resolved map[string]Resolution
	disputed map[string]bool // what those are about: their keys without the digest
	clocks   clocks
	sight    sight
	laid     pages[laid]
	facts    []events.Number // field facts by (point, rank)
	passed   *laid           // the last of the field facts that nobody read, by the same; nil for none
	odd      []Anomaly       // records that make no sense
	opened   *events.Event
	serials  serials
	exported map[events.FeedID]int // numbers of the feeds that exports speak of
	lists    lists
	wide     *wide // nil until it is asked for
	strays   bool  // a fault was found on a position that nobody knew

	withdrawn []*void  // from place 1 on
	doubts    []string // why entries may not be folded, from place 1 on
	doubtOf   map[string]int32

	awaited map[events.Ref]bool          // entries that voids name and nobody has brought yet
	holes   map[events.FeedID]bool       // feeds of which lines are missing that others follow
	gaps    map[events.FeedID]events.Seq // of those, the first line of their own that follows a missing one
	forGood *always                      // nil until it is asked for
	last    events.Instant               // when the last entry was recorded, or the last fact that counts was
	folds   int                          // how many were begun
	spare   []*tableLeaf                 // of folds that nobody needs any more
	pace    pace
	paths   map[string]*path
	watch   *watch // nil until the course is asked for
	telling telling

	spoke     map[events.Key]int // see lastWords
	spokeUpTo int
}

// laid is an event's place in site time. Withdrawn and quarantined field facts
// stay on the timeline: a settle wait must count them.
type laid struct {
	Cause
	said   events.Instant // when it was recorded, never before what its author had heard said
	pushes events.Instant // the latest point of a "now" entry among it and all before it
	void   int32          // who withdrew it, if anybody: place in timeline.withdrawn
	doubt  int32          // why its author may not say it, if they may not: place in timeline.doubts
	number events.Number
	fact   bool // it happened on site, and is understood
}

// void is a withdrawal that stands.
type void struct {
	Cause
	Why  events.VoidWhy
	Note string
	Own  bool // by the member who had said it
}

func (h *History) newTimeline(view []events.Number) *timeline {
	t := &timeline{
		site: h.Site, ranks: &h.ranks, anew: h.ranks.Anew(), pace: cmp.Or(h.pace, usualPace), order: view,
		holes: map[events.FeedID]bool{}, gaps: map[events.FeedID]events.Seq{},
		exported:  map[events.FeedID]int{},
		withdrawn: []*void{nil}, doubts: []string{""}, doubtOf: map[string]int32{},
	}
	for _, n := range view {
		t.enter(n)
	}
	t.sight = newSight(&h.ranks)
	h.Together.do(func() { t.sight.add(view) }, func() {
		t.trust = newTrust(h.Site, t.ranks, h.proven(), view, t.records, t.inView)
		t.applyRecords()
		t.clocks = newClocks(t.reference(), t.readings, t.comparisons())
	})
	t.facts = t.sortedFacts(t.layOut(view))
	return t
}

// enter takes an event into view.
func (t *timeline) enter(n events.Number) {
	x := t.laid.at(n)
	x.Event, x.number = t.ranks.Event(n), n
	if rank := t.ranks.RankOf(n); rank != x.Event.HLC {
		late := rank // and not rank itself, which would be made for every event
		x.late = &late
	}
	if x.fact = isFact(x.Event); !x.fact {
		t.records = append(t.records, n)
	}
}

// isFact says whether an event happened on site and is understood.
func isFact(e *events.Event) bool {
	_, unread := e.Payload.(events.Unread)
	return unread || e.Understood() && !e.Kind().IsRecord()
}

// layOut gives events their points, in record order, and lists the field facts
// among them, but for those that nobody read.
func (t *timeline) layOut(view []events.Number) []events.Number {
	facts := make([]events.Number, 0, len(view))
	for _, n := range view {
		x := t.laid.at(n)
		e := x.Event
		offset := t.clocks.place(&x.Cause, t.ranks.Feed(n))
		for _, before := range t.ranks.Prior(n) {
			if y := t.laid.look(before); y != nil && y.Event != nil && t.ranks.Compare(before, n) < 0 {
				x.said, x.pushes = max(x.said, y.said), max(x.pushes, y.pushes)
			}
		}
		x.doubt = t.noteDoubt(t.trust.quarantine(n))
		counts := x.counts()
		if !e.When().Known {
			x.At = max(x.At, x.pushes)
			if counts {
				x.pushes = x.At
			}
		}
		if counts {
			x.said = max(x.said, e.Wall.At+offset)
		}
		t.last = max(t.last, x.said)
		if x.fact && counts {
			t.last = max(t.last, x.At)
		}
		if _, unread := e.Payload.(events.Unread); unread {
			t.passOver(x)
		} else if x.fact {
			facts = append(facts, n)
			t.serials.note(e.Payload)
		}
		t.noteHoles(n)
	}
	return facts
}

// passOver notes a fact that is on the timeline, and not among those to be folded.
func (t *timeline) passOver(x *laid) {
	if t.passed == nil || comparePoints(&t.passed.Cause, &x.Cause) < 0 {
		t.passed = x
	}
}

// spoken is when an entry was recorded, in site time as well as it is known.
func (x *laid) spoken() events.Instant {
	told := events.At(x.Event.Wall.At)
	if x.Event.When().Known {
		told = x.Event.When().Value
	}
	return x.Event.Wall.At + (x.Span.From+x.Span.To-told.From-told.To)/2
}

func (t *timeline) noteDoubt(why string) int32 {
	if why == "" {
		return 0
	}
	at, noted := t.doubtOf[why]
	if !noted {
		at = int32(len(t.doubts))
		t.doubtOf[why] = at
		t.doubts = append(t.doubts, why)
	}
	return at
}

// noteHoles notes of which feeds an event follows lines that are missing here.
func (t *timeline) noteHoles(n events.Number) {
	if t.ranks.Whole(n) {
		return
	}
	e := t.ranks.Event(n)
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

func (t *timeline) voidOf(n events.Number) *void { return t.withdrawn[t.laid.at(n).void] }

// find is the event of the view that ref names. The ranks may know more.
func (t *timeline) find(ref events.Ref) (events.Number, bool) {
	n, found := t.ranks.FindNumber(ref)
	return n, found && t.inView(n)
}

func (t *timeline) inView(n events.Number) bool {
	x := t.laid.look(n)
	return x != nil && x.Event != nil
}

// cause places an event of the view in site time.
func (t *timeline) cause(e *events.Event) Cause {
	n, _ := t.ranks.Number(e)
	return t.laid.at(n).Cause
}

// point is a field fact and where it stands, to be sorted by.
type point struct {
	at events.Instant
	i  int // in record order
	n  events.Number
}

// sortedFacts puts field facts, given in record order, into the order of their
// points.
func (t *timeline) sortedFacts(facts []events.Number) []events.Number {
	points := make([]point, len(facts))
	for i, n := range facts {
		points[i] = point{t.laid.at(n).At, i, n}
	}
	slices.SortFunc(points, func(a, b point) int {
		switch {
		case a.at != b.at && a.at < b.at, a.at == b.at && a.i < b.i:
			return -1
		}
		return 1
	})
	for i, x := range points {
		facts[i] = x.n
	}
	return facts
}

// extend takes in the newest events of a history without starting over, if
// nothing they say can reach back. Where it says false, the timeline is of no more
// use.
func (t *timeline) extend() bool {
	old := len(t.order)
	if old == 0 || t.ranks.Anew() != t.anew {
		return false
	}
	fresh := make([]events.Number, 0, t.ranks.Len()-old)
	for i := old; i < t.ranks.Len(); i++ {
		n := events.Number(i)
		fresh = append(fresh, n)
		if !t.reachesBackNowhere(n) {
			return false
		}
	}
	slices.SortFunc(fresh, t.ranks.Compare)
	for _, n := range fresh {
		t.enter(n)
	}
	slices.SortFunc(t.records, t.ranks.Compare)
	t.order = t.ranks.Order()
	t.trust.add(fresh)
	t.sight.add(fresh)
	t.insert(t.sortedFacts(t.layOut(fresh)))
	t.goOnAlways(fresh)
	return true
}

// insert puts facts where they belong among those there are. What was folded beyond
// the first of them is mended where each of them can be worked in, if that is less
// than folding it again, and else forgotten.
func (t *timeline) insert(facts []events.Number) {
	if len(facts) == 0 {
		return
	}
	if slices.ContainsFunc(facts, func(n events.Number) bool { return isWide(t.ranks.Event(n).Payload) }) {
		t.wide = nil
	}
	first := t.placeOf(facts[0])
	few := len(t.facts)-first > int(t.pace)*len(facts)
	if !few {
		t.forget(first)
	}
	for len(facts) > 0 && first < len(t.facts) {
		at := t.placeOf(facts[0])
		t.facts, facts = slices.Insert(t.facts, at, facts[0]), facts[1:]
		if few && !t.mend(at) {
			t.forget(at)
		}
	}
	t.facts = append(t.facts, facts...)
}

// placeOf is where a fact belongs among those there are.
func (t *timeline) placeOf(n events.Number) int {
	at := len(t.facts)
	if at > 0 && t.comparePoints(t.facts[at-1], n) > 0 {
		at, _ = slices.BinarySearchFunc(t.facts, n, t.comparePoints)
	}
	return at
}

func (t *timeline) comparePoints(a, b events.Number) int {
	return comparePoints(&t.laid.at(a).Cause, &t.laid.at(b).Cause)
}

// reachesBackNowhere says whether an event leaves everything else as it was: a
// plain field fact, or the beginning of a feed, by somebody in good standing, that
// nobody was waiting for.
func (t *timeline) reachesBackNowhere(n events.Number) bool {
	e := t.ranks.Event(n)
	_, begins := e.Payload.(events.FeedStarted)
	return (isFact(e) || begins && e.Seq == 1) && !t.awaited[e.Ref()] && !t.holes[e.Feed] && t.trust.plain(n) &&
		(e.Member() != t.clocks.reference || t.clocks.eras.runOn(e.Stamp()))
}
