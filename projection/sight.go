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
	branches []*branch    // from place 1 on
	on       pages[int32] // which of them each line in view is on
}

// branch is a run of lines without a fork. It follows line off of its parent, if
// it has one; tip is its last line.
type branch struct {
	ranks  *events.Ranks
	parent *branch
	off    events.Seq
	tip    *events.Event
	feed   int            // by its number
	looks  map[int][]look // by the numbers of other feeds
}

// look is what the lines of one branch had seen of a branch of another feed.
type look struct {
	of       *branch
	glimpses []glimpse
}

// glimpse says that by line at, the other branch had been seen up to line most. There
// is one for most heads that anybody says they have seen, so it is as small as can be.
type glimpse struct{ at, most events.Number }

func newSight(ranks *events.Ranks) sight { return sight{ranks: ranks, branches: []*branch{nil}} }

func (s *sight) add(view []events.Number) {
	for _, n := range view {
		before := s.ranks.Prior(n)
		b := s.grow(n, before)
		for _, m := range before {
			if of := s.branch(m); of != nil && of.feed != b.feed {
				b.glimpse(glimpse{n, m}, of)
			}
		}
	}
}

// branch is the one that a line is on, nil for a line that is not in view.
func (s *sight) branch(n events.Number) *branch {
	if on := s.on.look(n); on != nil {
		return s.branches[*on]
	}
	return nil
}

func (s *sight) branchOf(e *events.Event) *branch {
	if n, held := s.ranks.Number(e); held {
		return s.branch(n)
	}
	return nil
}

// grow puts a line on the branch whose tip it follows, or begins a branch.
func (s *sight) grow(n events.Number, before []events.Number) *branch {
	var parent *branch
	var off events.Seq
	if len(before) > 0 && s.ranks.Feed(before[0]) == s.ranks.Feed(n) {
		last := s.ranks.Event(before[0])
		if parent, off = s.branch(before[0]), last.Seq; parent != nil && parent.tip == last {
			parent.tip = s.ranks.Event(n)
			*s.on.at(n) = *s.on.look(before[0])
			return parent
		}
	}
	b := &branch{s.ranks, parent, off, s.ranks.Event(n), s.ranks.Feed(n), map[int][]look{}}
	*s.on.at(n) = int32(len(s.branches))
	s.branches = append(s.branches, b)
	return b
}

// glimpse notes what was seen of another branch, line by line.
func (b *branch) glimpse(x glimpse, of *branch) {
	looks := b.looks[of.feed]
	for i := range looks {
		if list := looks[i].glimpses; looks[i].of == of {
			if b.seq(x.most) > b.seq(list[len(list)-1].most) {
				looks[i].glimpses = append(list, x)
			}
			return
		}
	}
	b.looks[of.feed] = append(looks, look{of, []glimpse{x}})
}

func (b *branch) seq(n events.Number) events.Seq { return b.ranks.Event(n).Seq }

// sees says whether b's author had taken in a when b was said.
func (s *sight) sees(b, a *events.Event) bool {
	on := s.branchOf(a)
	return a != b && on != nil && s.seen(b, on) >= a.Seq
}

// saw is what sees says, of two that are laid out.
func (s *sight) saw(b, a *laid) bool {
	on := s.branch(a.number)
	return a != b && on != nil && s.branch(b.number).seen(b.Event, on) >= a.Event.Seq
}

// seen is the last line of a branch that an entry's author had taken in when it was
// said; 0 for none.
func (s *sight) seen(e *events.Event, of *branch) events.Seq { return s.branchOf(e).seen(e, of) }

// seen is that for an entry on this branch.
func (b *branch) seen(e *events.Event, of *branch) events.Seq {
	own := b
	if e.Feed == of.tip.Feed {
		return own.holds(e.Seq, of)
	}
	var most events.Seq
	for upto := e.Seq; own != nil; own, upto = own.parent, own.off {
		for _, x := range own.looks[of.feed] {
			n := sort.Search(len(x.glimpses), func(i int) bool { return b.seq(x.glimpses[i].at) > upto })
			if n > 0 {
				most = max(most, x.of.holds(b.seq(x.glimpses[n-1].most), of))
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
