package projection

import (
	"sort"

	"pairwalk/events"
)

// sight answers what an author had taken in when they spoke. It goes by what
// their entries say they had seen, and by nothing else.
type sight struct {
	ranks    *events.Ranks
	glimpses map[events.FeedID]map[events.FeedID][]glimpse // of one feed, by another
	forkedAt map[events.FeedID]events.Seq                  // where a feed first has two lines
}

// glimpse says that line at of a feed had newly seen a line of another; most is
// the highest line of that one seen so far.
type glimpse struct {
	at         events.Seq
	seen, most events.Ref
}

func newSight(ranks *events.Ranks, forkedAt map[events.FeedID]events.Seq, view []*events.Event) sight {
	s := sight{ranks, map[events.FeedID]map[events.FeedID][]glimpse{}, forkedAt}
	s.add(view)
	return s
}

func (s sight) add(evs []*events.Event) {
	for _, e := range evs {
		for _, ref := range e.Seen {
			by := s.glimpses[e.Feed]
			if by == nil {
				by = map[events.FeedID][]glimpse{}
				s.glimpses[e.Feed] = by
			}
			g := glimpse{e.Seq, ref, ref}
			if list := by[ref.Feed]; len(list) > 0 && list[len(list)-1].most.Seq > ref.Seq {
				g.most = list[len(list)-1].most
			}
			by[ref.Feed] = append(by[ref.Feed], g)
		}
	}
}

// sees says whether b's author had taken in a when b was said.
func (s sight) sees(b, a *events.Event) bool {
	switch {
	case a.Feed == b.Feed:
		return a.Seq < b.Seq && s.holds(events.Ref{Feed: b.Feed, Seq: b.Seq - 1, Hash: b.Prev.Short()}, a)
	case s.beyondFork(b):
		return s.seesFromBranch(b, a)
	}
	list := s.glimpses[b.Feed][a.Feed]
	n := sort.Search(len(list), func(i int) bool { return list[i].at > b.Seq })
	if n == 0 {
		return false
	}
	if !s.beyondFork(a) {
		return s.holds(list[n-1].most, a)
	}
	for _, g := range list[:n] {
		if s.holds(g.seen, a) {
			return true
		}
	}
	return false
}

// seesFromBranch asks b and the lines before it on its own branch of a forked
// feed.
func (s sight) seesFromBranch(b, a *events.Event) bool {
	for e, ok := b, true; ok; e, ok = s.before(e) {
		for _, ref := range e.Seen {
			if ref.Feed == a.Feed && s.holds(ref, a) {
				return true
			}
		}
	}
	return false
}

// holds says whether a feed up to the head contains a, which is on the head's
// branch where the feed has several.
func (s sight) holds(head events.Ref, a *events.Event) bool {
	if head.Seq == a.Seq {
		return head.Hash == a.Hash.Short()
	}
	if head.Seq < a.Seq || !s.beyondFork(a) {
		return head.Seq > a.Seq
	}
	e, ok := s.ranks.Find(head)
	for ok && e.Seq > a.Seq {
		e, ok = s.before(e)
	}
	return ok && e.Hash == a.Hash
}

// before is the line before e in its feed.
func (s sight) before(e *events.Event) (*events.Event, bool) {
	return s.ranks.Find(events.Ref{Feed: e.Feed, Seq: e.Seq - 1, Hash: e.Prev.Short()})
}

func (s sight) beyondFork(e *events.Event) bool {
	at, forked := s.forkedAt[e.Feed]
	return forked && e.Seq >= at
}
