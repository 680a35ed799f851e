package events

import (
	"cmp"
	"maps"
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
	done  bool   // rank is final
	waits [2]int // how many lines before it are not done: those guessed, those named
	after []link // the lines that directly follow it
}

// link ties a line to one that directly follows it.
type link struct {
	*ranked
	named int // 1 if the reference names that very line, 0 if it is a guess
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

// Before lists the events of the set that e directly follows: the line before
// it in its feed, and the heads it had newly seen.
func (r *Ranks) Before(e *Event) []*Event {
	var out []*Event
	for _, x := range r.before(e) {
		out = append(out, x.event)
	}
	return out
}

// Find is the event that ref names, if it is in the set.
func (r *Ranks) Find(ref Ref) (*Event, bool) {
	x := r.find(ref.Feed, ref.Seq, ref.Hash)
	if x == nil || x.event.Seq != ref.Seq {
		return nil, false
	}
	return x.event, true
}

// compute settles every rank, each line after those it follows. A reference that
// names a line by its hash can't be part of a circle; a guess can, if members lie
// or a fork is half known. So a line that waits for nothing but guesses goes
// ahead without them once nobody else can: honest causality stands, and the same
// set of events has the same ranks everywhere.
func (r *Ranks) compute() {
	if !r.stale {
		return
	}
	all := r.linked()
	var q queue
	for _, x := range all {
		q.offer(x)
	}
	q.settle()
	for _, x := range all { // left over only where two lines share a hash8
		if !x.done {
			x.waits = [2]int{}
			q.offer(x)
			q.settle()
		}
	}
	r.stale = false
}

// linked lists the whole set by feed, seq and hash, each line knowing what
// follows it and how much it waits for.
func (r *Ranks) linked() []*ranked {
	var all []*ranked
	for _, feed := range slices.Sorted(maps.Keys(r.feeds)) {
		all = append(all, r.feeds[feed]...)
	}
	for _, x := range all {
		*x = ranked{event: x.event, rank: x.event.HLC, after: x.after[:0]}
	}
	for _, x := range all {
		for _, b := range r.before(x.event) {
			b.after = append(b.after, link{x, b.named})
			x.waits[b.named]++
		}
	}
	return all
}

// queue holds lines whose turn it is: those that wait for nothing, and those
// that wait for guesses alone.
type queue struct{ free, guessing []*ranked }

func (q *queue) offer(x *ranked) {
	switch {
	case x.waits == [2]int{}:
		q.free = append(q.free, x)
	case x.waits[1] == 0:
		q.guessing = append(q.guessing, x)
	}
}

func (q *queue) next() (x *ranked, ok bool) {
	if n := len(q.free); n > 0 {
		x, q.free = q.free[n-1], q.free[:n-1]
		return x, true
	}
	if len(q.guessing) > 0 {
		x, q.guessing = q.guessing[0], q.guessing[1:]
		return x, true
	}
	return nil, false
}

func (q *queue) settle() {
	for x, ok := q.next(); ok; x, ok = q.next() {
		if x.done {
			continue
		}
		x.done = true
		for _, y := range x.after {
			if y.done {
				continue
			}
			if next := x.rank.Next(); y.rank.Before(next) {
				y.rank = next
			}
			y.waits[y.named]--
			q.offer(y.ranked)
		}
	}
}

// before finds what an event directly follows: the line before it, and the heads
// it had newly seen.
func (r *Ranks) before(e *Event) []link {
	found := make([]link, 0, 1+len(e.Seen))
	add := func(feed FeedID, seq Seq, hash Hash8) {
		if x := r.find(feed, seq, hash); x != nil {
			named := 0
			if x.event.Seq == seq {
				named = 1
			}
			found = append(found, link{x, named})
		}
	}
	add(e.Feed, e.Seq-1, e.Prev.Short())
	for _, ref := range e.Seen {
		if ref.Feed != e.Feed {
			add(ref.Feed, ref.Seq, ref.Hash)
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
