package events

import (
	"cmp"
	"slices"
)

// Number is the number of an event, if it is in the set.
func (r *Ranks) Number(e *Event) (Number, bool) {
	at, known := r.byID[e.Feed]
	if !known {
		return 0, false
	}
	f := &r.feeds[at]
	lines, i := f.lines, r.search(f, e.Seq)
	for ; i < len(lines) && r.lines[lines[i]].event.Seq == e.Seq; i++ {
		if x := r.lines[lines[i]].event; x == e || x.Hash == e.Hash {
			return lines[i], true
		}
	}
	return 0, false
}

// Twins lists the lines at an event's place in its feed: itself, and others where
// the feed forks. The slice must not be changed.
func (r *Ranks) Twins(n Number) []Number {
	f, seq := &r.feeds[r.lines[n].feed], r.lines[n].event.Seq
	lines, from := f.lines, r.search(f, seq)
	upto := from
	for upto < len(lines) && r.lines[lines[upto]].event.Seq == seq {
		upto++
	}
	return lines[from:upto]
}

// Find is the event that ref names, if it is in the set.
func (r *Ranks) Find(ref Ref) (*Event, bool) {
	if n, found := r.FindNumber(ref); found {
		return r.lines[n].event, true
	}
	return nil, false
}

// FindNumber is Find by numbers.
func (r *Ranks) FindNumber(ref Ref) (Number, bool) {
	at, known := r.byID[ref.Feed]
	if !known {
		return 0, false
	}
	n, named := r.find(&r.feeds[at], ref.Seq, ref.Hash)
	return n, named
}

// find is the named line, or else the newest one before it; -1 if there is none.
func (r *Ranks) find(f *feed, seq Seq, hash Hash8) (n Number, named bool) {
	i := r.search(f, seq)
	for j := i; j < len(f.lines) && r.lines[f.lines[j]].event.Seq == seq; j++ {
		if r.lines[f.lines[j]].event.Hash.Short() == hash {
			return f.lines[j], true
		}
	}
	if i == 0 {
		return -1, false
	}
	return f.lines[i-1], false
}

// search is the place of the first line of a feed that is not before seq. Where there
// are neither holes nor forks, as in most feeds, that is counted out, and no line is
// looked at; else it looks first where that line would be.
func (r *Ranks) search(f *feed, seq Seq) int {
	lines, last := f.lines, len(f.lines)-1
	at := func(i int) Seq { return r.lines[lines[i]].event.Seq }
	if last < 0 || seq <= at(0) {
		return 0
	}
	i := seq - at(0)
	if !f.forks && at(last)-at(0) == Seq(last) {
		return int(min(i, Seq(len(lines))))
	}
	if i <= Seq(last) && at(int(i)) == seq && (!f.forks || at(int(i)-1) < seq) {
		return int(i)
	}
	found, _ := slices.BinarySearchFunc(lines, seq, func(n Number, s Seq) int { return cmp.Compare(r.lines[n].event.Seq, s) })
	return found
}

func (r *Ranks) compareInFeed(n Number, e *Event) int {
	x := r.lines[n].event
	return cmp.Or(cmp.Compare(x.Seq, e.Seq), slices.Compare(x.Hash[:], e.Hash[:]))
}
