package between

import "strings"

// seeker looks for where one fact became as it is at the end.
type seeker struct {
	*ladder
	k     key
	after fact
	is    bool
}

func (s seeker) asAtEnd(i int) bool { return s.same(s.at(i)) }

func (s seeker) same(t *table) bool {
	f, there := t.fact(s.k)
	return there == s.is && (!there || s.after.is(f))
}

// may says whether a rung may have changed the fact at all.
func (s seeker) may(r *rung) bool { return s.k.what != Path || r.reach }

// its says whether a rung may have changed the fact and speaks of its subject.
func (s seeker) its(r *rung) bool { return r.about[s.k.of] && s.may(r) }

// spent says whether no more moments are asked for the fact.
func (s seeker) spent() bool { return s.k.what == Path && s.cost >= enough }

// find looks above a rung on which the fact is not as at the end for one where it
// came to be. It looks first among the entries about the subject.
func (s seeker) find(from int) (below, above int, whole bool) {
	top := len(s.rungs) - 1
	lo, hi, whole := s.narrow(from, top, s.its)
	switch {
	case hi == top:
		return s.narrow(lo, top, s.may)
	case hi-1 > lo && s.asAtEnd(hi-1):
		return s.narrow(lo, hi-1, s.may)
	}
	return lo, hi, whole
}

// narrow halves the stretch between a rung where the fact is not as at the end and
// one where it is, stopping at rungs that fit, until none is left between; it is
// not whole where too much would have to be asked.
func (s seeker) narrow(lo, hi int, fits func(*rung) bool) (below, above int, whole bool) {
	var stops []int
	for i := lo + 1; i < hi; i++ {
		if fits(&s.rungs[i]) {
			stops = append(stops, i)
		}
	}
	for len(stops) > 0 && !s.spent() {
		mid := len(stops) / 2
		if s.asAtEnd(stops[mid]) {
			hi, stops = stops[mid], stops[:mid]
		} else {
			lo, stops = stops[mid], stops[mid+1:]
		}
	}
	return lo, hi, len(stops) == 0
}

// few is how many rungs are all looked at for whether a fact stayed as it came to
// be; of more, those that speak of its subject or that turn things off and on.
const few = 64

// away is the last rung above one on which the fact is not as at the end after all:
// what went off, on and off again was not cut by the first.
func (s seeker) away(above int) (int, bool) {
	top := len(s.rungs) - 1
	all := top-above <= few
	for i := top - 1; i > above && !s.spent(); i-- {
		r := &s.rungs[i]
		if s.may(r) && (all || r.turns || s.its(r)) && !s.asAtEnd(i) {
			return i, true
		}
	}
	return 0, false
}

// turnsThings says whether entries of a kind are those that are often taken back
// by the next.
func turnsThings(kind string) bool {
	return strings.HasPrefix(kind, "power.") || strings.HasPrefix(kind, "hold.") ||
		kind == "hub.lost" || kind == "hub.ready" || kind == "hub.channel" || kind == "device.unpaired"
}
