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
//
// Every event has a number in its set, dealt out as they come, so that whoever
// notes something of each event needs no map. Ranks are worked out at the first
// question. From then on, one that comes when nobody in the set has spoken of it yet,
// as most do, is ranked at once and put in its place: it can move no other. Any other
// has all ranks worked out anew at the next question. Where every clock is
// past those of all that its line follows, as it is where nobody lies, the clocks are
// the ranks; only else have lines to wait for each other.
type Ranks struct {
	lines []placed
	whole []bool // whether all that a line refers to is here
	feeds []feed
	byID  map[FeedID]int32
	late  map[Number]Rank // of those whose clocks are not their ranks, which are few
	links []Number        // what each line follows, one after the other
	order []Number        // of those that have their place; handed out, so never changed
	ready bool            // ranks and links are worked out
	anew  int             // how often they were
	knots bool            // some lines wait for each other, so it hangs on all who goes ahead
}

// Number is the number of an event in a set, from 0.
type Number int32

// placed is an event in its set.
type placed struct {
	event *Event
	feed  int32
	from  uint32 // where its part of links begins, which ends where the next one's does
}

// feed is the lines of a feed, by seq and hash; a fork has several at one seq.
type feed struct {
	id     FeedID
	lines  []Number
	missed Seq  // the highest that somebody refers to and that is not here
	forks  bool // several lines stand at one place
}

// Grow makes room for so many events more, which saves copying when they are added
// a few at a time.
func (r *Ranks) Grow(n int) {
	r.lines, r.whole = slices.Grow(r.lines, n), slices.Grow(r.whole, n)
}

// Add puts events into the set. Adding one twice is no error.
func (r *Ranks) Add(evs ...*Event) {
	r.lines = slices.Grow(r.lines, len(evs))
	for _, e := range evs {
		r.add(e)
	}
}

func (r *Ranks) add(e *Event) {
	at := r.feedNext(e.Feed)
	f := &r.feeds[at]
	i, found := len(f.lines), false
	if i > 0 && r.lines[f.lines[i-1]].event.Seq >= e.Seq {
		i, found = slices.BinarySearchFunc(f.lines, e, r.compareInFeed)
	}
	if found {
		return
	}
	n := Number(len(r.lines))
	f.forks = f.forks || i > 0 && r.lines[f.lines[i-1]].event.Seq == e.Seq || i < len(f.lines) && r.lines[f.lines[i]].event.Seq == e.Seq
	f.lines = slices.Insert(f.lines, i, n)
	r.lines, r.whole = append(r.lines, placed{event: e, feed: at}), append(r.whole, false)
	r.ready = r.ready && !r.knots && e.Seq > f.missed
	if r.ready {
		r.resolve(n, nil)
		rank := e.HLC
		for _, b := range r.Prior(n) {
			rank = rank.atLeast(r.rank(b).Next())
		}
		r.note(n, rank)
	}
}

// note notes the rank of a line.
func (r *Ranks) note(n Number, rank Rank) {
	if rank == r.lines[n].event.HLC {
		return
	}
	if r.late == nil {
		r.late = map[Number]Rank{}
	}
	r.late[n] = rank
}

// rank is what was noted of a line.
func (r *Ranks) rank(n Number) Rank {
	if rank, late := r.late[n]; late {
		return rank
	}
	return r.lines[n].event.HLC
}

func (h HLC) atLeast(o HLC) HLC {
	if h.Before(o) {
		return o
	}
	return h
}

// feedOf is the place of a feed in feeds, which is made if there is none.
func (r *Ranks) feedOf(id FeedID) int32 {
	at, known := r.byID[id]
	if !known {
		if r.byID == nil {
			r.byID = map[FeedID]int32{}
		}
		at = int32(len(r.feeds))
		r.byID[id] = at
		r.feeds = append(r.feeds, feed{id: id})
	}
	return at
}

// feedNext is feedOf for an event that comes now, mostly after one of the same feed.
func (r *Ranks) feedNext(id FeedID) int32 {
	if n := len(r.lines); n > 0 {
		if at := r.lines[n-1].feed; r.feeds[at].id == id {
			return at
		}
	}
	return r.feedOf(id)
}

// Len is how many events there are.
func (r *Ranks) Len() int { return len(r.lines) }

// Feeds is how many feeds there are or have been spoken of.
func (r *Ranks) Feeds() int { return len(r.feeds) }

// Event is the event of that number.
func (r *Ranks) Event(n Number) *Event { return r.lines[n].event }

// Feed numbers the feed that an event is of, from 0.
func (r *Ranks) Feed(n Number) int { return int(r.lines[n].feed) }

// Forks says whether the feed of that number has several lines at one place.
func (r *Ranks) Forks(feed int) bool { return r.feeds[feed].forks }

// FeedNumber is the number of a feed, if anything is known of it.
func (r *Ranks) FeedNumber(id FeedID) (int, bool) {
	at, known := r.byID[id]
	return int(at), known
}

// Whole says whether every line that an event refers to is in the set.
func (r *Ranks) Whole(n Number) bool {
	r.compute()
	return r.whole[n]
}

// Ordered lists the set in record order: by rank, feed, seq and hash.
func (r *Ranks) Ordered() []*Event {
	order := r.Order()
	out := make([]*Event, len(order))
	for i, n := range order {
		out[i] = r.lines[n].event
	}
	return out
}

// Order is Ordered by numbers. The slice must not be changed, and stays as it is
// when more events come.
func (r *Ranks) Order() []Number {
	r.compute()
	if len(r.order) == 0 {
		r.order = r.mergedFeeds()
	} else if len(r.order) < len(r.lines) {
		fresh := make([]Number, 0, len(r.lines)-len(r.order))
		for n := len(r.order); n < len(r.lines); n++ {
			fresh = append(fresh, Number(n))
		}
		slices.SortFunc(fresh, r.Compare)
		r.order = inserted(r.order, fresh, r.Compare)
	}
	return r.order
}

// Anew counts how often all ranks were worked out anew. In between, what comes
// moves nothing that is there.
func (r *Ranks) Anew() int {
	r.compute()
	return r.anew
}

// Compare puts two events of the set in record order.
func (r *Ranks) Compare(a, b Number) int {
	if c := r.rank(a).Compare(r.rank(b)); c != 0 {
		return c
	}
	return CompareTied(r.lines[a].event, r.lines[b].event)
}

// CompareTied puts events of one rank in record order.
func CompareTied(a, b *Event) int {
	if a == b {
		return 0
	}
	return cmp.Or(cmp.Compare(a.Feed, b.Feed), cmp.Compare(a.Seq, b.Seq), slices.Compare(a.Hash[:], b.Hash[:]))
}

// Rank is an event's place in the record order; zero for one not in the set.
func (r *Ranks) Rank(e *Event) Rank {
	r.compute()
	if n, found := r.Number(e); found {
		return r.rank(n)
	}
	return Rank{}
}

// RankOf is the rank of the event of that number.
func (r *Ranks) RankOf(n Number) Rank {
	r.compute()
	return r.rank(n)
}

// Before lists the events of the set that e directly follows: the line before
// it in its feed, and the heads it had newly seen.
func (r *Ranks) Before(e *Event) []*Event {
	n, found := r.Number(e)
	if !found {
		return nil
	}
	var out []*Event
	for _, b := range r.Prior(n) {
		out = append(out, r.lines[b].event)
	}
	return out
}

// Prior is Before by numbers. The slice must not be changed, nor kept when more
// events come.
func (r *Ranks) Prior(n Number) []Number {
	r.compute()
	return r.links[r.lines[n].from:r.upto(n)]
}

// upto is where a line's part of links ends.
func (r *Ranks) upto(n Number) uint32 {
	if int(n)+1 < len(r.lines) {
		return r.lines[n+1].from
	}
	return uint32(len(r.links))
}

// resolve notes what a line follows, when all of a smaller number have been resolved:
// the line before it, and the heads it had newly seen; and which of these links are
// guesses, if anybody wants to know.
func (r *Ranks) resolve(n Number, guesses *[]bool) {
	e := r.lines[n].event
	r.lines[n].from, r.whole[n] = uint32(len(r.links)), true
	add := func(at int32, seq Seq, hash Hash8, follows bool) {
		f := &r.feeds[at]
		b, named := r.find(f, seq, hash)
		if !named && seq > 0 {
			f.missed, r.whole[n] = max(f.missed, seq), false
		}
		if follows && b >= 0 {
			r.links = append(r.links, b)
			if guesses != nil {
				*guesses = append(*guesses, !named)
			}
		}
	}
	if r.goesOn(n) {
		r.links = append(r.links, n-1)
		if guesses != nil {
			*guesses = append(*guesses, false)
		}
	} else {
		add(r.lines[n].feed, e.Seq-1, e.Prev.Short(), true)
	}
	for _, ref := range e.Seen {
		add(r.feedOf(ref.Feed), ref.Seq, ref.Hash, ref.Feed != e.Feed)
	}
}

// goesOn says whether a line follows that of the number before its own, and no other
// could be meant, as it is with most lines that come many at a time.
func (r *Ranks) goesOn(n Number) bool {
	if n == 0 || r.lines[n-1].feed != r.lines[n].feed || r.feeds[r.lines[n].feed].forks {
		return false
	}
	e, before := r.lines[n].event, r.lines[n-1].event
	return before.Seq+1 == e.Seq && before.Hash.Short() == e.Prev.Short()
}

// inserted puts a few more into a sorted list; both stay as they are.
func inserted(list, more []Number, compare func(a, b Number) int) []Number {
	out := make([]Number, 0, len(list)+len(more))
	for _, x := range more {
		i := len(list)
		if i > 0 && compare(list[i-1], x) > 0 {
			i, _ = slices.BinarySearchFunc(list, x, compare)
		}
		out = append(append(out, list[:i]...), x)
		list = list[i:]
	}
	return append(out, list...)
}

// mergedFeeds puts the whole set in order, which most feeds are in already.
func (r *Ranks) mergedFeeds() []Number {
	runs := make([][]Number, 0, len(r.feeds))
	for i := range r.feeds {
		run := r.feeds[i].lines
		if !slices.IsSortedFunc(run, r.Compare) {
			run = slices.SortedFunc(slices.Values(run), r.Compare)
		}
		runs = append(runs, run)
	}
	for len(runs) > 1 {
		half := runs[:0]
		for i := 0; i+1 < len(runs); i += 2 {
			half = append(half, merged(runs[i], runs[i+1], r.Compare))
		}
		if len(runs)%2 == 1 {
			half = append(half, runs[len(runs)-1])
		}
		runs = half
	}
	if len(runs) == 0 {
		return nil
	}
	return slices.Clone(runs[0])
}

func merged(a, b []Number, compare func(a, b Number) int) []Number {
	out := make([]Number, 0, len(a)+len(b))
	for len(a) > 0 && len(b) > 0 {
		if compare(a[0], b[0]) < 0 {
			out, a = append(out, a[0]), a[1:]
		} else {
			out, b = append(out, b[0]), b[1:]
		}
	}
	return append(append(out, a...), b...)
}
