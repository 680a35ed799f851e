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
	branches map[*events.Event]*branch
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

func newSight(ranks *events.Ranks, view []*events.Event) sight {
	s := sight{ranks, make(map[*events.Event]*branch, len(view))}
	s.add(view)
	return s
}

func (s sight) add(evs []*events.Event) {
	for _, e := range evs {
		before := s.ranks.Before(e)
		b := s.grow(e, before)
		for _, x := range before {
			if of := s.branches[x]; of != nil && x.Feed != e.Feed {
				b.glimpse(e.Seq, of, x)
			}
		}
	}
}

// grow puts a line on the branch whose tip it follows, or begins a branch.
func (s sight) grow(e *events.Event, before []*events.Event) *branch {
	b := &branch{looks: map[events.FeedID][]look{}}
	if len(before) > 0 && before[0].Feed == e.Feed {
		if on := s.branches[before[0]]; on != nil && on.tip == before[0] {
			b = on
		} else {
			b.parent, b.off = on, before[0].Seq
		}
	}
	b.tip = e
	s.branches[e] = b
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
	on := s.branches[b]
	if a.Feed == b.Feed {
		return a != b && s.holds(on, b.Seq, a)
	}
	for upto := b.Seq; on != nil; on, upto = on.parent, on.off {
		for _, x := range on.looks[a.Feed] {
			n := sort.Search(len(x.glimpses), func(i int) bool { return x.glimpses[i].at > upto })
			if n > 0 && s.holds(x.of, x.glimpses[n-1].most, a) {
				return true
			}
		}
	}
	return false
}

// holds says whether a branch up to a line, and what that follows, contains a.
func (s sight) holds(on *branch, upto events.Seq, a *events.Event) bool {
	home := s.branches[a]
	for ; on != nil; on, upto = on.parent, on.off {
		if on == home {
			return a.Seq <= upto
		}
	}
	return false
}
