package events

import "time"

// HLC is a hybrid logical clock (Kulkarni et al. 2014): the largest physical
// time heard of, and a counter that breaks ties. The zero value is its start.
type HLC struct {
	L Instant
	C int64
}

// Rank is an event's place in the record order; it has the shape of an HLC.
type Rank = HLC

// Before orders by L, then C.
func (h HLC) Before(o HLC) bool { return h.Compare(o) < 0 }

// Compare is -1, 0 or +1.
func (h HLC) Compare(o HLC) int {
	switch {
	case h.L != o.L && h.L < o.L, h.L == o.L && h.C < o.C:
		return -1
	case h == o:
		return 0
	}
	return 1
}

// Next is the smallest value after h that can be written: a counter at its end
// carries into L, or a stranger who sends one would leave us without a next.
func (h HLC) Next() HLC {
	if h.C >= maxInt {
		return HLC{h.L + 1, 0}
	}
	return HLC{h.L, h.C + 1}
}

// Tick is the clock after a local event or a send, at physical time pt.
func (h HLC) Tick(pt Instant) HLC {
	if pt > h.L {
		return HLC{pt, 0}
	}
	return h.Next()
}

// Merge is the clock after receiving a message stamped m, at physical time pt.
func (h HLC) Merge(m HLC, pt Instant) HLC {
	l := max(h.L, m.L, pt)
	switch {
	case l == h.L && l == m.L:
		return HLC{l, max(h.C, m.C)}.Next()
	case l == h.L:
		return h.Next()
	case l == m.L:
		return m.Next()
	}
	return HLC{l, 0}
}

// MaxAhead is how far in front of our clock a stranger's may be and still be
// merged. Past it the event is kept and our clock stays put: one phone set to
// next year must not drag the whole team there. Common practice, no source.
const MaxAhead = 10 * time.Minute

// Hear merges m unless it is more than MaxAhead in front of pt.
func (h HLC) Hear(m HLC, pt Instant) HLC {
	if m.L > pt.Add(MaxAhead) {
		return h
	}
	return h.Merge(m, pt)
}
