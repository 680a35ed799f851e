package projection

import (
	"sort"

	"pairwalk/events"
)

// sight answers what an author had taken in when they spoke. It goes by what
// their entries say they had seen, and by nothing else.
//
// A feed is one branch of lines, or a tree of branches where it forks: whoever
// had seen a line had seen the lines it follows, and none of another branch.
type sight struct {
	ranks    *events.Ranks
	branches *pages[*branch]
}

// branch is a run of lines without a fork. It follows line off of its parent, if
// it has one; tip is its last line.
type branch struct {
	parent *branch
	off    events.Seq
	tip    *events.Event
	looks  map[events.FeedID][]look
}

// look is what the lines of one branch had seen of a branch of another feed.
type look struct {
	of       *branch
	glimpses []glimpse
}

// glimpse says that by line at, the other branch had been seen up to line most.
type glimpse struct{ at, most events.Seq }

func newSight(ranks *events.Ranks) sight { return sight{ranks, &pages[*branch]{}} }

func (s sight) add(view []events.Number) {
	for _, n := range view {
		before := s.ranks.Prior(n)
		b := s.grow(n, before)
		for _, m := range before {
			if of := s.branch(m); of != nil && s.ranks.Feed(m) != s.ranks.Feed(n) {
				b.glimpse(s.ranks.Event(n).Seq, of, s.ranks.Event(m))
			}
		}
	}
}

// branch is the one that a line is on, nil for a line that is not in view.
func (s sight) branch(n events.Number) *branch {
	if on := s.branches.look(n); on != nil {
		return *on
	}
	return nil
}

func (s sight) branchOf(e *events.Event) *branch {
	if n, held := s.ranks.Number(e); held {
		return s.branch(n)
	}
	return nil
}

// grow puts a line on the branch whose tip it follows, or begins a branch.
func (s sight) grow(n events.Number, before []events.Number) *branch {
	var b *branch
	if len(before) > 0 && s.ranks.Feed(before[0]) == s.ranks.Feed(n) {
		last := s.ranks.Event(before[0])
		if on := s.branch(before[0]); on != nil && on.tip == last {
			b = on
		} else {
			b = &branch{parent: on, off: last.Seq}
		}
	}
	if b == nil {
		b = &branch{}
	}
	if b.looks == nil {
		b.looks = map[events.FeedID][]look{}
	}
	b.tip = s.ranks.Event(n)
	*s.branches.at(n) = b
	return b
}

func (b *branch) glimpse(at events.Seq, of *branch, x *events.Event) {
	looks := b.looks[x.Feed]
	for i := range looks {
		if list := looks[i].glimpses; looks[i].of == of {
			looks[i].glimpses = append(list, glimpse{at, max(x.Seq, list[len(list)-1].most)})
			return
		}
	}
	b.looks[x.Feed] = append(looks, look{of, []glimpse{{at, x.Seq}}})
}

// sees says whether b's author had taken in a when b was said.
func (s sight) sees(b, a *events.Event) bool {
	on := s.branchOf(a)
	return a != b && on != nil && s.seen(b, on) >= a.Seq
}

// seen is the last line of a branch that an entry's author had taken in when it was
// said; 0 for none.
func (s sight) seen(e *events.Event, of *branch) events.Seq {
	own := s.branchOf(e)
	if e.Feed == of.tip.Feed {
		return own.holds(e.Seq, of)
	}
	var most events.Seq
	for upto := e.Seq; own != nil; own, upto = own.parent, own.off {
		for _, x := range own.looks[of.tip.Feed] {
			n := sort.Search(len(x.glimpses), func(i int) bool { return x.glimpses[i].at > upto })
			if n > 0 {
				most = max(most, x.of.holds(x.glimpses[n-1].most, of))
			}
		}
	}
	return most
}

// holds is the last line of a branch that is on this one up to a line, or on what
// that follows; 0 for none.
func (b *branch) holds(upto events.Seq, of *branch) events.Seq {
	for on := b; on != nil; on, upto = on.parent, on.off {
		if on == of {
			return upto
		}
	}
	return 0
}
