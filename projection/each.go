package projection

import (
	"math"
	"math/bits"
	"slices"

	"pairwalk/events"
)

// KnownToEach is what [History.KnownTo] tells as the least of each of some members,
// of everything they have said so far. It looks through the log once for all of
// them.
func (h *History) KnownToEach(members []events.Key) []map[events.FeedID]events.Head {
	var out []map[events.FeedID]events.Head
	for from := 0; from < len(members); from += crowd {
		out = append(out, h.knownToCrowd(members[from:min(from+crowd, len(members))])...)
	}
	return out
}

// crowdFeed is what is known of a feed while a crowd's heads in it are looked for.
type crowdFeed struct {
	bit   uint64     // that of its member
	to    uint64     // who has a head in it, …
	least events.Seq // … which is no lower than that
}

// crowd is how many members are looked at together: one bit for each.
const crowd = 64

func (h *History) knownToCrowd(members []events.Key) []map[events.FeedID]events.Head {
	order, bit := h.everything().order, map[events.Key]uint64{}
	for i, k := range members {
		bit[k] |= 1 << i
	}
	had, feeds := make([]uint64, h.ranks.Len()), make([]crowdFeed, h.ranks.Feeds())
	for _, n := range order {
		f := &feeds[h.ranks.Feed(n)]
		if f.least == 0 {
			f.bit, f.least = bit[h.ranks.Event(n).Member()], math.MaxUint64
		}
		had[n] = f.bit
	}
	for h.handDown(order, had) {
	}
	heads := make([]heads, len(members))
	for i := range heads {
		heads[i] = newHeads(&h.ranks)
	}
	for _, n := range slices.Backward(order) {
		f, seq := &feeds[h.ranks.Feed(n)], h.ranks.Event(n).Seq
		if had[n]&^f.to == 0 && seq < f.least {
			continue
		}
		f.to, f.least = f.to|had[n], min(f.least, seq)
		for by := had[n]; by != 0; by &= by - 1 {
			heads[bits.TrailingZeros64(by)].take(n)
		}
	}
	out := make([]map[events.FeedID]events.Head, len(members))
	for i := range heads {
		out[i] = heads[i].named()
	}
	return out
}

// handDown gives everybody who had an entry what came before it too, from the newest
// down, and says whether that was new to anybody. What came before is lower in record
// order, so the first time is enough; the second makes sure of logs that lie.
func (h *History) handDown(order []events.Number, had []uint64) (news bool) {
	for i := len(order) - 1; i >= 0; i-- {
		by := had[order[i]]
		if by == 0 {
			continue
		}
		for _, before := range h.ranks.Prior(order[i]) {
			if had[before]|by != had[before] {
				had[before] |= by
				news = true
			}
		}
	}
	return news
}
