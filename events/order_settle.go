package events

import (
	"maps"
	"slices"
)

// compute settles every rank anew where that is needed, each line after those it
// follows. A reference that names a line by its hash can't be part of a circle; a
// guess can, if members lie or a fork is half known. So a line that waits for
// nothing but guesses goes ahead without them once nobody else can: honest
// causality stands, and the same set of events has the same ranks everywhere.
func (r *Ranks) compute() {
	if r.ready {
		return
	}
	r.ready, r.knots, r.order, r.late = true, false, nil, nil
	r.anew++
	r.link(nil)
	if r.timely() {
		return
	}
	var guesses []bool
	r.link(&guesses)
	s := newSettling(r, guesses)
	for _, n := range s.all {
		s.offer(n)
	}
	s.settle()
	for _, n := range s.all { // left over only where two lines share a hash8
		if !s.done[n] {
			s.knots = true
			s.waits[n] = [2]int32{}
			s.offer(n)
			s.settle()
		}
	}
	for n, rank := range s.ranks {
		r.note(Number(n), rank)
	}
}

// link notes anew what each line follows, and which of these links are guesses, if
// anybody wants to know.
func (r *Ranks) link(guesses *[]bool) {
	r.links = slices.Grow(r.links[:0], len(r.lines))
	for i := range r.feeds {
		r.feeds[i].missed = 0
	}
	for i := range r.lines {
		r.resolve(Number(i), guesses)
	}
}

// timely says whether every clock is past those of the lines that its line follows, as
// it is where nobody lies. Then there is no circle, and each clock is the rank.
func (r *Ranks) timely() bool {
	for i := range r.lines {
		x := &r.lines[i]
		for _, b := range r.links[x.from:r.upto(Number(i))] {
			if x.event.HLC.Before(r.lines[b].event.HLC.Next()) {
				return false
			}
		}
	}
	return true
}

// settling is the work of ranking a whole set.
type settling struct {
	*Ranks
	all    []Number   // by feed, seq and hash
	ranks  []Rank     // their clocks, or what they are after
	done   []bool     // rank is final
	waits  [][2]int32 // for how many lines before it each waits: those named, those guessed
	after  []follower // the lines that directly follow each, one after the other
	begins []uint32   // where those of each begin
	queue
}

// follower is a line that directly follows another.
type follower struct {
	line  Number
	guess uint8 // 0 if it names that very line, 1 if that is a guess
}

func newSettling(r *Ranks, guesses []bool) *settling {
	n := len(r.lines)
	s := &settling{Ranks: r, all: make([]Number, 0, n), ranks: make([]Rank, n), done: make([]bool, n), waits: make([][2]int32, n), begins: make([]uint32, n+1)}
	for _, id := range slices.Sorted(maps.Keys(r.byID)) {
		s.all = append(s.all, r.feeds[r.byID[id]].lines...)
	}
	for i := range s.ranks {
		s.ranks[i] = r.lines[i].event.HLC
	}
	s.turn(guesses)
	return s
}

// turn turns the links round.
func (s *settling) turn(guesses []bool) {
	for _, b := range s.links {
		s.begins[b+1]++
	}
	for i := 1; i < len(s.begins); i++ {
		s.begins[i] += s.begins[i-1]
	}
	s.after = make([]follower, len(s.links))
	filled := slices.Clone(s.begins)
	for _, n := range s.all {
		for i := s.lines[n].from; i < s.upto(n); i++ {
			x := follower{line: n}
			if guesses[i] {
				x.guess = 1
			}
			b := s.links[i]
			s.after[filled[b]] = x
			filled[b]++
			s.waits[n][x.guess]++
		}
	}
}

// queue holds lines whose turn it is: those that wait for nothing, and those
// that wait for guesses alone.
type queue struct{ free, guessing []Number }

func (s *settling) offer(n Number) {
	switch {
	case s.waits[n] == [2]int32{}:
		s.free = append(s.free, n)
	case s.waits[n][0] == 0:
		s.guessing = append(s.guessing, n)
	}
}

func (q *queue) next() (n Number, ok bool) {
	if i := len(q.free); i > 0 {
		n, q.free = q.free[i-1], q.free[:i-1]
		return n, true
	}
	if len(q.guessing) > 0 {
		n, q.guessing = q.guessing[0], q.guessing[1:]
		return n, true
	}
	return 0, false
}

func (s *settling) settle() {
	for n, ok := s.next(); ok; n, ok = s.next() {
		if s.done[n] {
			continue
		}
		s.done[n] = true
		s.knots = s.knots || s.waits[n] != [2]int32{}
		next := s.ranks[n].Next()
		for _, y := range s.after[s.begins[n]:s.begins[n+1]] {
			if s.done[y.line] {
				continue
			}
			s.ranks[y.line] = s.ranks[y.line].atLeast(next)
			s.waits[y.line][y.guess]--
			s.offer(y.line)
		}
	}
}
