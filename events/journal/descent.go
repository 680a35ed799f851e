package journal

import (
	"iter"
	"slices"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// Tips are the newest lines of all branches, the main ones and the forks, sorted
// by feed and main branches first.
func (j *Journal) Tips() []events.Ref {
	var tips []events.Ref
	all := j.snapshot()
	for _, s := range all {
		if len(s.places) > 0 && !slices.ContainsFunc(all.of(s.feed), s.goesOn) {
			head := s.head()
			tips = append(tips, events.Ref{Feed: s.feed, Seq: head.Seq, Hash: head.Hash.Short()})
		}
	}
	return tips
}

// Holds says whether that very line can be read here, on whichever branch.
func (j *Journal) Holds(ref events.Ref) bool { return j.holder(ref) != nil }

// HashAt is the hash known of a place of a feed's main branch, or zero.
func (j *Journal) HashAt(feed events.FeedID, seq events.Seq) events.Hash {
	if s := j.strand(string(feed)); s != nil {
		return s.hashAt(seq)
	}
	return events.Hash{}
}

// Descent yields the lines of the branch that a held line stands on, from a
// number on: those of the branches it descends from up to where it left them,
// then its own up to its newest. Places whose line is not held are left out. Of
// a line that is not held it yields nothing.
func (j *Journal) Descent(of events.Ref, from events.Seq) iter.Seq2[seal.Verified, error] {
	parts := j.descent(of, from)
	return func(yield func(seal.Verified, error) bool) {
		for _, p := range parts {
			for v, err := range j.lines(p.strand, from, p.end) {
				if !yield(v, err) {
					return
				}
			}
		}
	}
}

// Copies yields the same lines for who passes them on: their numbers and their
// bytes, which are good until the next are asked for. Each is compared as Descent
// compares it, by its hash and its signature, and is not parsed. One that the disk
// does not give back is left out.
func (j *Journal) Copies(of events.Ref, from events.Seq) iter.Seq2[events.Seq, []byte] {
	parts := j.descent(of, from)
	return func(yield func(events.Seq, []byte) bool) {
		for _, p := range parts {
			for q, line := range j.copies(p.strand, from, p.end) {
				if !yield(q, line) {
					return
				}
			}
		}
	}
}

// part is a strand up to where another goes on.
type part struct {
	*strand
	end events.Seq // the first number that is not its own any more
}

// descent is what a held line's branch consists of, from the part on in which a
// number is.
func (j *Journal) descent(of events.Ref, from events.Seq) []part {
	var parts []part // from the branch back to the feed's beginning
	for s, end := j.holder(of), events.Seq(0); s != nil; {
		if end == 0 {
			end = s.next()
		}
		parts = append(parts, part{s, end})
		if s.first <= from || s.first == 1 || !s.places[0].readable() {
			break
		}
		base := events.Ref{Feed: s.feed, Seq: s.first - 1, Hash: s.base.Short()}
		s, end = j.knower(base), s.first
	}
	slices.Reverse(parts)
	return parts
}

// holder is the strand on which a line can be read, or nil.
func (j *Journal) holder(ref events.Ref) *strand {
	s := j.knower(ref)
	if s == nil || !s.at(ref.Seq).readable() {
		return nil
	}
	return s
}

// knower is the strand that has this hash at this place, readable or not.
func (j *Journal) knower(ref events.Ref) *strand {
	j.mu.RLock()
	defer j.mu.RUnlock()
	for _, s := range j.strands.of(ref.Feed) {
		if s.has(ref.Seq) && s.at(ref.Seq).hash.Short() == ref.Hash {
			return s
		}
	}
	return nil
}
