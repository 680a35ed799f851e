package events

import (
	"cmp"
	"slices"
)

// Ranks computes the record order of a set of events, however they arrived:
//
//	rank(e) = max(hlc(e), next(rank(prev)), next(rank(each seen head)))
//
// A head that is not in the set counts as the newest line before it in the same
// feed. The zero value is ready to use; feeds may be added to in any order. It
// is not safe for use by several goroutines.
type Ranks struct {
	feeds map[FeedID][]*ranked // by seq; a fork has several at one seq
	stale bool
}

type ranked struct {
	event *Event
	rank  Rank
	state int8 // 0 new, 1 being computed, 2 done
}

// Add puts events into the set. Adding one twice is no error.
func (r *Ranks) Add(evs ...*Event) {
	if r.feeds == nil {
		r.feeds = map[FeedID][]*ranked{}
	}
	for _, e := range evs {
		feed := r.feeds[e.Feed]
		i, found := slices.BinarySearchFunc(feed, e, compareInFeed)
		if found {
			continue
		}
		r.feeds[e.Feed] = slices.Insert(feed, i, &ranked{event: e})
		r.stale = true
	}
}

func compareInFeed(x *ranked, e *Event) int {
	return cmp.Or(cmp.Compare(x.event.Seq, e.Seq), slices.Compare(x.event.Hash[:], e.Hash[:]))
}

// Ordered lists the set in record order: by rank, feed, seq and hash.
func (r *Ranks) Ordered() []*Event {
	r.compute()
	var all []*ranked
	for _, feed := range r.feeds {
		all = append(all, feed...)
	}
	slices.SortFunc(all, func(a, b *ranked) int {
		return cmp.Or(a.rank.Compare(b.rank), cmp.Compare(a.event.Feed, b.event.Feed), compareInFeed(a, b.event))
	})
	out := make([]*Event, len(all))
	for i, x := range all {
		out[i] = x.event
	}
	return out
}

// Rank is an event's place in the record order; zero for one not in the set.
func (r *Ranks) Rank(e *Event) Rank {
	r.compute()
	feed := r.feeds[e.Feed]
	if i, found := slices.BinarySearchFunc(feed, e, compareInFeed); found {
		return feed[i].rank
	}
	return Rank{}
}

// compute settles every rank. It keeps its own stack: a chain may be as long as
// the whole history.
func (r *Ranks) compute() {
	if !r.stale {
		return
	}
	for _, feed := range r.feeds {
		for _, x := range feed {
			x.state = 0
		}
	}
	for _, feed := range r.feeds {
		for _, x := range feed {
			r.resolve(x)
		}
	}
	r.stale = false
}

func (r *Ranks) resolve(root *ranked) {
	stack := []*ranked{root}
	for len(stack) > 0 {
		x := stack[len(stack)-1]
		if x.state == 2 {
			stack = stack[:len(stack)-1]
			continue
		}
		rank, waiting := x.event.HLC, false
		for _, before := range r.before(x.event) {
			if before.state == 0 {
				stack, waiting = append(stack, before), true
			} else if before.state == 2 && rank.Before(before.rank.Next()) {
				rank = before.rank.Next()
			} // state 1 would be a circle, which no honest feed makes: passed over
		}
		x.state = 1
		if !waiting {
			x.rank, x.state = rank, 2
			stack = stack[:len(stack)-1]
		}
	}
}

// before finds what an event directly follows: the line before it, and the heads
// it had newly seen.
func (r *Ranks) before(e *Event) []*ranked {
	found := make([]*ranked, 0, 1+len(e.Seen))
	if x := r.find(e.Feed, e.Seq-1, e.Prev.Short()); x != nil {
		found = append(found, x)
	}
	for _, ref := range e.Seen {
		if ref.Feed == e.Feed {
			continue
		}
		if x := r.find(ref.Feed, ref.Seq, ref.Hash); x != nil {
			found = append(found, x)
		}
	}
	return found
}

// find is the named line, or the newest one before it.
func (r *Ranks) find(feed FeedID, seq Seq, hash Hash8) *ranked {
	lines := r.feeds[feed]
	i, _ := slices.BinarySearchFunc(lines, seq, func(x *ranked, s Seq) int { return cmp.Compare(x.event.Seq, s) })
	for j := i; j < len(lines) && lines[j].event.Seq == seq; j++ {
		if lines[j].event.Hash.Short() == hash {
			return lines[j]
		}
	}
	if i == 0 {
		return nil
	}
	return lines[i-1]
}
