package journal

import (
	"iter"
	"slices"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// Fork is a second branch of a feed: its author signed two lines for one place.
type Fork struct {
	Feed  events.FeedID
	Base  events.Hash // of the line both branches follow; zero if they differ from the first
	First events.Head // the first line of this branch
	Head  events.Head // its newest line here
}

// Heads are the newest lines of the main branches.
func (j *Journal) Heads() map[events.FeedID]events.Head {
	heads := map[events.FeedID]events.Head{}
	for _, s := range j.snapshot() {
		if !s.fork() && len(s.places) > 0 {
			heads[s.feed] = s.head()
		}
	}
	return heads
}

// Holes are the places below the heads that a peer could heal: lines missing or
// damaged, and lines whose signature is. The hash is zero where it is not known.
func (j *Journal) Holes() map[events.FeedID][]events.Head {
	holes := map[events.FeedID][]events.Head{}
	for _, s := range j.snapshot() {
		for _, i := range s.lacking {
			holes[s.feed] = append(holes[s.feed], events.Head{Seq: s.first + events.Seq(i), Hash: s.places[i].hash})
		}
	}
	return holes
}

// Forks are the branches beside the main ones, sorted by feed and hash.
func (j *Journal) Forks() []Fork {
	var forks []Fork
	for _, s := range j.snapshot() {
		if s.fork() && len(s.places) > 0 {
			forks = append(forks, s.asFork())
		}
	}
	return forks
}

func (s *strand) asFork() Fork {
	f := Fork{Feed: s.feed, First: events.Head{Seq: s.first, Hash: s.places[0].hash}, Head: s.head()}
	if s.places[0].readable() {
		f.Base = s.base
	}
	return f
}

// Lines yields the main branch of a feed from a number on. Places whose line is
// not held are left out; Holes names them.
func (j *Journal) Lines(feed events.FeedID, from events.Seq) iter.Seq2[seal.Verified, error] {
	return j.lines(j.strand(string(feed)), from, 0)
}

// Branch yields a fork's own lines, First to Head.
func (j *Journal) Branch(f Fork) iter.Seq2[seal.Verified, error] {
	return j.lines(j.strand(string(f.Feed)+"~"+f.First.Hash.Short().String()), 1, 0)
}

// All yields every line held, of every feed and branch: feeds in byte order, and
// of each the main branch before the others.
func (j *Journal) All() iter.Seq2[seal.Verified, error] {
	return func(yield func(seal.Verified, error) bool) {
		for _, s := range j.snapshot() {
			for v, err := range j.lines(s, 1, 0) {
				if !yield(v, err) {
					return
				}
			}
		}
	}
}

// Receipt says when this installation first had an event that others said. Where
// a receipt was damaged, it is the time at which that was found.
func (j *Journal) Receipt(ref events.Ref) (events.Stamp, bool) {
	j.mu.RLock()
	defer j.mu.RUnlock()
	for _, s := range j.strands.of(ref.Feed) { // asked of thousands of lines at a time
		if !s.has(ref.Seq) {
			continue
		}
		p := s.at(ref.Seq)
		if p.readable() && p.hash.Short() == ref.Hash && p.rec != 0 && !s.records[p.rec-1].own {
			return s.records[p.rec-1].stamp, true
		}
	}
	return events.Stamp{}, false
}

// FirstOpened is when this journal was first open during the present boot. After
// a reboot, elapsed time is proven only from here. Where the platform has no
// boot clock, it is when the journal was opened.
func (j *Journal) FirstOpened() events.Stamp {
	j.mu.RLock()
	defer j.mu.RUnlock()
	return j.opened
}

// Problems is what was found wrong when the journal was opened, healed or not.
func (j *Journal) Problems() []Problem {
	j.mu.RLock()
	defer j.mu.RUnlock()
	return slices.Clone(j.problems)
}

// snapshot is every strand as it is now, sorted by feed, main branches first.
func (j *Journal) snapshot() strands {
	j.mu.RLock()
	defer j.mu.RUnlock()
	out := make(strands, 0, len(j.strands))
	for _, s := range j.strands {
		if !s.fork() || !slices.ContainsFunc(j.strands.of(s.feed), s.within) {
			out = append(out, s)
		}
	}
	return out
}

// within says whether another strand of the feed holds all that this one does. So it may be
// where holes were left on the one branch and turned out to be the other's.
func (s *strand) within(o *strand) bool {
	if o == s || o.first > s.first || o.next() < s.next() {
		return false
	}
	for q := s.first; q < s.next(); q++ {
		if o.at(q).hash != s.at(q).hash || !o.at(q).readable() {
			return false
		}
	}
	return true
}

// goesOn says whether another strand of the feed begins right after this one's newest line.
func (s *strand) goesOn(o *strand) bool {
	return o != s && len(o.places) > 0 && o.first == s.next() && o.places[0].readable() && o.base == s.head().Hash
}
