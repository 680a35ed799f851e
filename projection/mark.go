package projection

import (
	"math/bits"

	"pairwalk/events"
)

// mark says what lies on a device, as bits.
type mark uint8

const (
	held     mark = 1 << iota // by a hold that touches it
	faulty                    // by a fault on it that is open
	disputed                  // by a conflict about it
)

// marks is what lies on each device, by place in fold.table.
type marks struct {
	on    []mark
	newer newer
}

// mark works out what lies on which device: few things do, on most sites.
func (f *fold) mark() {
	f.marks = marks{on: make([]mark, f.table.n)}
	for _, i := range f.openFaults {
		f.markNamed(f.faults.at(int(i)).Of, faulty)
	}
	for _, c := range f.site.Conflicts {
		for _, s := range c.Subjects {
			f.markNamed(s, disputed)
		}
	}
	for _, h := range f.holds {
		for at := range f.table.n {
			if f.table.at(at).keptBy(h.Of) {
				f.marks.on[at] |= held
			}
		}
	}
}

func (f *fold) markNamed(s events.Subject, m mark) {
	if tag, ok := s.Tag(); ok {
		if at := f.named(tag); at != none {
			f.marks.on[at] |= m
		}
	}
}

// flagOrder and needOrder are in the order in which they are shown.
var (
	flagOrder = []Flag{
		FlagEmergency, FlagFound, FlagStruck, FlagHold, FlagDark, FlagConflict, FlagSkipped, FlagRefused, FlagMissed,
		FlagNotReady, FlagNotListed, FlagNotMerged, FlagOtherHub, FlagChannel, FlagFault, FlagProvisional,
	}
	needOrder = []Need{NeedResolve, NeedPair, NeedSerial, NeedPush, NeedCheck, NeedMend}
)

// lists are the lists of the sets that occurred, each in memory once.
type lists struct {
	flags listed[Flag]
	needs listed[Need]
}

func (x *lists) ofFlags(set uint32) []Flag { return x.flags.of(set, flagOrder) }

func (x *lists) ofNeeds(set uint32) []Need { return x.needs.of(set, needOrder) }

// listed is sets of one kind. Neighbours mostly have the same.
type listed[T any] struct {
	known map[uint32][]T
	last  uint32
	list  []T // of that
}

func (x *listed[T]) of(set uint32, order []T) []T {
	if set == x.last {
		return x.list
	}
	list, ok := x.known[set]
	if !ok && set != 0 {
		if x.known == nil {
			x.known = map[uint32][]T{}
		}
		list = members(set, order)
		x.known[set] = list
	}
	x.last, x.list = set, list
	return list
}

func members[T any](set uint32, order []T) []T {
	out := make([]T, 0, bits.OnesCount32(set))
	for ; set != 0; set &= set - 1 {
		out = append(out, order[bits.TrailingZeros32(set)])
	}
	return out
}
