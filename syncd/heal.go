package syncd

import (
	"maps"
	"slices"

	"pairwalk/events"
)

// heals lists the holes here that the peer could fill, one stretch of each feed
// in a round. Where nothing came of that before, the line after the stretch is asked
// for as well: if the peer's copy has a damaged signature, only that vouches for it.
func (x *Exchange) heals(p *peer, taken map[events.FeedID]bool) []Ask {
	var asks []Ask
	holes := x.log.Holes()
	for _, feed := range slices.Sorted(maps.Keys(holes)) {
		// Where the join is what is missing nobody is proven by it; but the feed was
		// once, or nothing of it would be here.
		if taken[feed] || p.tried[feed] || x.busy[feed] != nil || !x.proven(feed.Key()) && holes[feed][0].Seq > probeTo {
			continue
		}
		tips := p.tipsPlaced(x.log, feed)
		for _, stretch := range p.fills(feed, holes[feed]) {
			from, last := stretch[0].Seq, stretch[len(stretch)-1]
			at := slices.IndexFunc(tips, func(tip events.Ref) bool { return leadsBack(x.log, tip, last, holes[feed]) })
			if at >= 0 {
				asks = append(asks, Ask{Pull: Pull{Tip: tips[at], From: from, To: last.Seq + p.spare[feed], Max: MaxReply / MaxInFlight}, heal: true})
				break
			}
		}
	}
	return asks
}

// tipsPlaced are the peer's tips of a feed whose place is known here.
func (p *peer) tipsPlaced(log Log, feed events.FeedID) []events.Ref {
	var tips []events.Ref
	for tip := range p.tips {
		if tip.Feed == feed && placed(log, tip) {
			tips = append(tips, tip)
		}
	}
	return slices.SortedFunc(slices.Values(tips), events.Ref.Compare)
}

// placed says whether a line is held, or is known to be the one that is missing
// at its place.
func placed(log Log, line events.Ref) bool {
	hash := log.HashAt(line.Feed, line.Seq)
	return log.Holds(line) || hash != (events.Hash{}) && hash.Short() == line.Hash
}

// fills are those of a feed's holes here that the peer does not have too, in
// stretches that follow each other. Left out is what has no known place: neither
// its own hash is known nor that of the line before.
func (p *peer) fills(feed events.FeedID, holes []events.Head) [][]events.Head {
	var out [][]events.Head
	for i, hole := range holes {
		_, lacks := slices.BinarySearch(p.holes[feed], hole.Seq)
		n := len(out) - 1
		switch {
		case lacks:
		case n >= 0 && out[n][len(out[n])-1].Seq+1 == hole.Seq:
			out[n] = append(out[n], hole)
		case i == 0 || hole.Hash != (events.Hash{}) || holes[i-1] != (events.Head{Seq: hole.Seq - 1}):
			out = append(out, []events.Head{hole})
		}
	}
	return out
}

// leadsBack says whether the branch that a tip stands on goes through a hole
// here: the first line held after it tells the hash of what is missing before.
func leadsBack(log Log, tip events.Ref, hole events.Head, holes []events.Head) bool {
	if tip.Seq <= hole.Seq {
		return tip.Seq == hole.Seq && tip.Hash == hole.Hash.Short()
	}
	for v, err := range log.Descent(tip, hole.Seq+1) {
		if err != nil {
			continue
		}
		before := events.Head{Seq: v.Seq() - 1, Hash: v.Prev()}
		return before == hole || before.Seq > hole.Seq && slices.Contains(holes, before)
	}
	return false
}

// astray says whether a line belongs into a stretch that is missing here, at a
// place of which nothing is known: it can't be kept before a line next to it is.
// Tips are those of the feed here.
func astray(log Log, tips []events.Ref, line events.Ref) bool {
	past := func(tip events.Ref) bool { return tip.Seq >= line.Seq }
	return slices.ContainsFunc(tips, past) && log.HashAt(line.Feed, line.Seq) == (events.Hash{})
}

// adrift says whether a peer's tip would come astray, and nothing on the way to it
// could be kept: the peer too lacks the line after the last one known here.
func (p *peer) adrift(log Log, tips []events.Ref, tip events.Ref) bool {
	below := func(mine events.Ref) bool { return mine.Seq < tip.Seq }
	if slices.ContainsFunc(tips, below) || !astray(log, tips, tip) {
		return false // a branch of its own, perhaps
	}
	_, lacks := slices.BinarySearch(p.holes[tip.Feed], lineBefore(log, tips, tip.Feed, tip.Seq).Seq+1)
	return lacks
}
