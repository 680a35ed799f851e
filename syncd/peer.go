package syncd

import (
	"maps"
	"slices"

	"pairwalk/events"
)

// peer is what is known of one peer.
type peer struct {
	heard bool
	tips  map[events.Ref]bool
	holes map[events.FeedID][]events.Seq
	asked int // requests on their way
	bytes int // asked for in them

	at        map[events.Ref]*cursor // on the way to a tip
	strangers map[events.FeedID]bool // looked into; no member's
	unsure    map[events.FeedID]bool // of those, the ones of which not all was shown, in this round
	hopeless  map[events.Ref]bool    // tips it does not make good, in this round
	tried     map[events.FeedID]bool // feeds whose holes it was asked to fill, in this round

	spare map[events.FeedID]events.Seq // lines more to ask it for, where holes are to be filled

	slow       bool // it left its last request unanswered
	aside      int  // for how many haves it is passed over
	faults     int  // of late
	complaints int  // in all
	why        string
}

// maxStrangers is how many feeds of nobody a peer may name before no more are
// looked into.
const maxStrangers = 64

// probeTo is where a feed's join stands at the latest: it begins with
// feed.started, and the first lead's goes on with site.opened.
const probeTo = 4

func newPeer() *peer {
	return &peer{
		at: map[events.Ref]*cursor{}, strangers: map[events.FeedID]bool{}, unsure: map[events.FeedID]bool{},
		hopeless: map[events.Ref]bool{}, tried: map[events.FeedID]bool{}, spare: map[events.FeedID]events.Seq{},
	}
}

func (p *peer) grow(have Have) {
	for _, tip := range have.Tips {
		p.tips[tip] = true
	}
}

// cursor is how far a branch has been followed: the line that the next one must
// follow. Where that turns out to be on another branch, it goes back by steps
// that double.
type cursor struct {
	at   events.Ref // of sequence number 0 before the first line
	step events.Seq
}

// room is how many bytes more the peer may be asked for, 0 for none now.
func (p *peer) room() int {
	room := MaxReply - p.bytes
	if p.asked >= MaxInFlight || room < MaxReply/MaxInFlight {
		return 0
	}
	return room
}

// wants lists what the peer could be asked for, best first: entries of members,
// then feeds that may be a member's, then damage to mend. Here are the tips of all
// feeds that are here.
func (x *Exchange) wants(key events.Key, p *peer, here map[events.FeedID][]events.Ref) []Ask {
	var entries, probes []Ask
	taken := map[events.FeedID]bool{}
	each, strangers := x.feedsOfEach(here), x.strangersOf(p)
	for _, tip := range slices.SortedFunc(maps.Keys(p.tips), events.Ref.Compare) {
		if s := x.busy[tip.Feed]; s != nil {
			if ask, ok := s.goesOn(key, tip); ok && !p.hopeless[tip] {
				entries = append(entries, ask)
			}
			continue
		}
		if taken[tip.Feed] || p.hopeless[tip] || placed(x.log, tip) || p.adrift(x.log, here[tip.Feed], tip) {
			continue
		}
		known := x.proven(tip.Feed.Key())
		switch {
		case !known && !p.strangers[tip.Feed] && strangers < maxStrangers:
			probes = append(probes, Ask{Pull: Pull{Tip: tip, From: 1, To: probeTo, Max: MaxReply / MaxInFlight}, probe: true})
		case known && (here[tip.Feed] != nil || each[tip.Feed.Key()] < MaxFeeds):
			if here[tip.Feed] == nil {
				each[tip.Feed.Key()]++
			}
			at := p.cursor(x.log, here[tip.Feed], tip).at
			entries = append(entries, Ask{Pull: Pull{Tip: tip, From: at.Seq + 1, Prev: at.Hash}})
		default:
			continue
		}
		taken[tip.Feed] = true
	}
	return slices.Concat(entries, probes, x.heals(p, taken))
}

// cursor is where to go on towards a tip: after our newest line below it, which
// another peer may have brought since, unless that turned out to be on another
// branch. Tips are those of the feed here.
func (p *peer) cursor(log Log, tips []events.Ref, tip events.Ref) *cursor {
	c := p.at[tip]
	if c == nil {
		c = &cursor{step: 1}
		p.at[tip] = c
	}
	if c.step > 1 {
		return c
	}
	for _, mine := range tips {
		if mine.Seq < tip.Seq && mine.Seq > c.at.Seq {
			c.at = mine
		}
	}
	if c.at.Seq == 0 && len(tips) > 0 {
		c.at = lineBefore(log, tips, tip.Feed, tip.Seq)
	}
	return c
}

// lineBefore is the newest place of a feed's main branch before a number whose
// hash is known. Tips are those of the feed here.
func lineBefore(log Log, tips []events.Ref, feed events.FeedID, seq events.Seq) events.Ref {
	var head events.Seq
	for _, tip := range tips {
		head = max(head, tip.Seq)
	}
	for q := min(head, seq-1); q > 0; q-- {
		if hash := log.HashAt(feed, q); hash != (events.Hash{}) {
			return events.Ref{Feed: feed, Seq: q, Hash: hash.Short()}
		}
	}
	return events.Ref{}
}

// back goes to an earlier line of the main branch, and says whether there was
// any before. Tips are those of the feed here.
func (c *cursor) back(log Log, tips []events.Ref) bool {
	if c.at.Seq == 0 {
		return false
	}
	target := c.at.Seq - min(c.at.Seq-1, c.step-1) // below which to look
	c.at, c.step = lineBefore(log, tips, c.at.Feed, target), c.step*2
	return true
}

// tipsHere are the tips of the feeds of which anything is held.
func (x *Exchange) tipsHere() map[events.FeedID][]events.Ref {
	here := map[events.FeedID][]events.Ref{}
	for _, tip := range x.log.Tips() {
		here[tip.Feed] = append(here[tip.Feed], tip)
	}
	return here
}

// feedsOfEach counts every member's feeds that are here or asked for.
func (x *Exchange) feedsOfEach(here map[events.FeedID][]events.Ref) map[events.Key]int {
	each := map[events.Key]int{}
	for feed := range here {
		each[feed.Key()]++
	}
	for feed := range x.busy {
		if here[feed] == nil {
			each[feed.Key()]++
		}
	}
	return each
}

// strangersOf counts the feeds a peer named that are no member's, for all that
// is known by now.
func (x *Exchange) strangersOf(p *peer) int {
	n := 0
	for feed := range p.strangers {
		if !x.proven(feed.Key()) {
			n++
		}
	}
	return n
}

// judge says what the peer did wrong in a batch that was dealt with, or nothing,
// and moves on from it.
func (x *Exchange) judge(p *peer, b Batch) string {
	tip, last := b.Ask.Pull.Tip, b.last()
	switch {
	case b.fault != nil:
		p.hopeless[tip] = true
		return b.fault.Error()
	case b.Ask.heal:
		p.tried[tip.Feed] = true
		p.spare[tip.Feed] = 0
		if b.Lines() == 0 {
			p.spare[tip.Feed] = 1
		}
		return ""
	case b.Ask.probe && !x.proven(tip.Feed.Key()) && (b.Lines() > 0 || p.holes[tip.Feed] != nil):
		p.strangers[tip.Feed] = true
		p.unsure[tip.Feed] = b.Lines() < int(min(probeTo, tip.Seq))
		if x.strangersOf(p) == maxStrangers {
			return "names feeds that are no member's"
		}
		return ""
	case b.is == diverged:
		if c := p.at[tip]; c != nil && c.back(x.log, x.tipsHere()[tip.Feed]) {
			return ""
		}
	case b.is == refused:
		p.hopeless[tip] = true
		return "refuses to answer"
	case last.Seq > 0 && x.log.Holds(last):
		if x.log.Holds(tip) {
			delete(p.at, tip)
			return ""
		}
		if last.Seq < tip.Seq {
			p.cursor(x.log, x.tipsHere()[tip.Feed], tip).at = last
			return ""
		}
	case last.Seq > 0 && astray(x.log, x.tipsHere()[last.Feed], last):
		p.hopeless[tip] = true
		return ""
	case last.Seq > 0:
		p.hopeless[tip] = true
		return "sends entries that connect to nothing"
	}
	p.hopeless[tip] = true
	return "says it holds entries that it does not hand over"
}
