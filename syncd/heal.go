package syncd

import (
	"cmp"
	"maps"
	"slices"

	"pairwalk/events"
)

// heals lists the holes here that the peer could fill, one stretch of each feed
// in a round.
func (x *Exchange) heals(p *peer, taken map[events.FeedID]bool) []Ask {
	var asks []Ask
	holes := x.log.Holes()
	for _, feed := range slices.Sorted(maps.Keys(holes)) {
		if taken[feed] || p.tried[feed] || x.busy[feed] != 0 || !x.proven(feed.Key()) {
			continue
		}
		tips := p.tipsHeld(x.log, feed)
		for _, stretch := range p.fills(feed, holes[feed]) {
			from, last := stretch[0].Seq, stretch[len(stretch)-1]
			at := slices.IndexFunc(tips, func(tip events.Ref) bool { return leadsBack(x.log, tip, last, holes[feed]) })
			if at >= 0 {
				asks = append(asks, Ask{Pull: Pull{Tip: tips[at], From: from, To: last.Seq, Max: MaxReply / MaxInFlight}, heal: true})
				break
			}
		}
	}
	return asks
}

// tipsHeld are the peer's tips of a feed that are held here too: those of which
// it is known what they stand on.
func (p *peer) tipsHeld(log Log, feed events.FeedID) []events.Ref {
	var held []events.Ref
	for tip := range p.tips {
		if tip.Feed == feed && log.Holds(tip) {
			held = append(held, tip)
		}
	}
	return slices.SortedFunc(slices.Values(held), events.Ref.Compare)
}

// fills are those of a feed's holes here that the peer does not have too, in
// stretches that follow each other.
func (p *peer) fills(feed events.FeedID, holes []events.Head) [][]events.Head {
	var out [][]events.Head
	for _, hole := range slices.SortedStableFunc(slices.Values(holes), func(a, b events.Head) int { return cmp.Compare(a.Seq, b.Seq) }) {
		if _, lacks := slices.BinarySearch(p.holes[feed], hole.Seq); lacks {
			continue
		}
		if n := len(out) - 1; n >= 0 && out[n][len(out[n])-1].Seq+1 == hole.Seq {
			out[n] = append(out[n], hole)
		} else {
			out = append(out, []events.Head{hole})
		}
	}
	return out
}

// leadsBack says whether the branch that a tip stands on goes through a hole
// here: the first line held after it tells the hash of what is missing before.
func leadsBack(log Log, tip events.Ref, hole events.Head, holes []events.Head) bool {
	if tip.Seq < hole.Seq {
		return false
	}
	for v, err := range log.Descent(tip, hole.Seq+1) {
		if err != nil {
			return false
		}
		before := events.Head{Seq: v.Seq() - 1, Hash: v.Prev()}
		return before == hole || before.Seq > hole.Seq && slices.Contains(holes, before)
	}
	return false
}
