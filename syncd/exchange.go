package syncd

import (
	"maps"
	"slices"

	"pairwalk/events"
)

// Ask is a pull to be sent to a peer.
type Ask struct {
	ID   uint64
	Peer events.Key // its bus key
	Pull Pull

	probe bool // looks whether the feed is a member's
	heal  bool // for holes here
	came  int  // bytes of its reply, once that has come and is not dealt with yet
}

// Got is what came of a reply.
type Got struct {
	Fresh  int // entries held for the first time
	Healed int // damaged or missing places mended
}

// Complaint is what a peer did wrong, for the user to hear.
type Complaint struct {
	Peer events.Key
	Why  string
}

func (c *Complaint) Error() string { return "peer " + c.Peer.Short() + " " + c.Why }

// Standing is how a member and a peer stand to each other.
type Standing struct {
	Heard      bool   // the peer said what it has
	Same       bool   // both hold the same
	Want       int    // entries it says it holds and we lack
	Lack       int    // entries we hold and it does not
	Strangers  int    // feeds it named that are no member's
	Complaints int    // times it was at fault
	Why        string // the last fault
}

// Exchange is one member's side of the exchange with all its peers. It is not
// safe for use by several goroutines at once.
type Exchange struct {
	site   events.SiteID
	log    Log
	proven func(events.Key) bool
	peers  map[events.Key]*peer
	asked  map[uint64]Ask
	busy   map[events.FeedID]*stream // feeds that somebody is being asked for
	ahead  int                       // bytes of replies that have come and are not dealt with yet
	last   uint64
}

// NewExchange begins with no peers. Log is the member's own; proven says whether
// the join of a feed key is held and holds.
func NewExchange(site events.SiteID, log Log, proven func(events.Key) bool) *Exchange {
	return &Exchange{site, log, proven, map[events.Key]*peer{}, map[uint64]Ask{}, map[events.FeedID]*stream{}, 0, 0}
}

// Hear takes in everything a peer says it has.
func (x *Exchange) Hear(from events.Key, have Have) {
	p := x.peer(from)
	p.tips, p.holes = map[events.Ref]bool{}, have.Holes
	p.grow(have)
	p.heard = true
	if p.aside > 0 {
		p.aside--
	}
	if p.aside == 0 {
		clear(p.hopeless)
		clear(p.tried)
		// Where the join may be what was damaged or withheld, it may be there by now.
		maps.DeleteFunc(p.strangers, func(feed events.FeedID, _ bool) bool { return p.unsure[feed] })
		clear(p.unsure)
	}
}

// Grown takes in tips that a peer says it has besides what it said before. Of a
// peer that said nothing before it is not heard.
func (x *Exchange) Grown(from events.Key, have Have) {
	if p := x.peers[from]; p != nil && p.heard && len(p.tips)+len(have.Tips) <= 2*MaxTips {
		p.grow(have)
	}
}

// Left forgets a peer. What was asked of it may be asked of others.
func (x *Exchange) Left(from events.Key) {
	for id, ask := range x.asked {
		if ask.Peer == from {
			x.done(id)
		}
	}
	delete(x.peers, from)
}

func (x *Exchange) peer(key events.Key) *peer {
	p := x.peers[key]
	if p == nil {
		p = newPeer()
		x.peers[key] = p
	}
	return p
}

// Asks is what to ask now, of whom. Each must be followed by Took or
// Unanswered, or its peer by Left.
func (x *Exchange) Asks() []Ask {
	var asks []Ask
	if x.ahead > MaxAhead-MaxReply {
		return nil
	}
	here := x.tipsHere()
	for _, key := range slices.Sorted(maps.Keys(x.peers)) {
		p := x.peers[key]
		if !p.heard || p.aside > 0 || p.room() == 0 {
			continue
		}
		wants := x.wants(key, p, here)
		for i, ask := range wants {
			room := p.room()
			if room == 0 {
				break
			}
			if ask.Pull.Max == 0 {
				ask.Pull.Max = max(room/min(len(wants)-i, MaxInFlight-p.asked), MaxReply/MaxInFlight)
			}
			asks = append(asks, x.ask(key, p, ask))
		}
	}
	return asks
}

// ask notes that something is about to be asked.
func (x *Exchange) ask(key events.Key, p *peer, ask Ask) Ask {
	x.last++
	ask.ID, ask.Peer = x.last, key
	x.asked[ask.ID] = ask
	p.asked++
	p.bytes += ask.Pull.Max
	s := x.busy[ask.Pull.Tip.Feed]
	if s == nil {
		s = &stream{peer: key, tip: ask.Pull.Tip}
		x.busy[ask.Pull.Tip.Feed] = s
	}
	s.asked++
	return ask
}

// done ends an ask, and says whether it was still wanted, and what it was part of.
func (x *Exchange) done(id uint64) (*stream, bool) {
	ask, ok := x.asked[id]
	if !ok {
		return nil, false
	}
	delete(x.asked, id)
	s := x.busy[ask.Pull.Tip.Feed]
	if s.asked--; s.asked == 0 {
		delete(x.busy, ask.Pull.Tip.Feed)
	}
	if ask.came > 0 {
		s.came--
		x.ahead -= ask.came
		return s, true
	}
	p := x.peers[ask.Peer]
	p.asked--
	p.bytes -= ask.Pull.Max
	return s, true
}

// Busy says whether entries are on their way from a peer that answers: what can
// wait, waits for them. A peer that left its last request unanswered holds nothing
// up.
func (x *Exchange) Busy() bool {
	for _, ask := range x.asked {
		if !x.peers[ask.Peer].slow {
			return true
		}
	}
	return false
}

// Unanswered ends an ask that nothing came of. The peer is passed over for its
// next have.
func (x *Exchange) Unanswered(id uint64) {
	ask := x.asked[id]
	if s, ok := x.done(id); ok {
		s.fails(id)
		p := x.peers[ask.Peer]
		p.aside, p.slow = max(p.aside, 1), true
	}
}

// Stranger says whether a batch is of a feed that was looked into and is no
// member's: it must not be kept.
func (x *Exchange) Stranger(b Batch) bool {
	return b.Ask.probe && !x.proven(b.Ask.Pull.Tip.Feed.Key()) && !b.joins(x.site)
}

// Took ends an ask whose batch was dealt with: everything in it that is to be
// kept is held now, fresh lines of it for the first time. The error is a
// *Complaint where the peer is at fault.
func (x *Exchange) Took(b Batch, fresh int) error {
	s, ok := x.done(b.Ask.ID)
	if !ok {
		return nil
	}
	p := x.peers[b.Ask.Peer]
	p.slow = false
	if !s.judges(b.Ask.ID) {
		return nil
	}
	why := x.judge(p, b)
	if why == "" {
		if fresh > 0 {
			p.faults = 0
		}
		return nil
	}
	s.fails(b.Ask.ID)
	p.complaints, p.why = p.complaints+1, why
	p.faults = min(p.faults+1, 6)
	p.aside = 1 << p.faults // Hear takes one off at once
	return &Complaint{b.Ask.Peer, why}
}

// Towards is how things stand with a peer.
func (x *Exchange) Towards(key events.Key) Standing {
	p := x.peers[key]
	if p == nil {
		return Standing{}
	}
	s := Standing{Heard: p.heard, Strangers: x.strangersOf(p), Complaints: p.complaints, Why: p.why}
	if !p.heard {
		return s
	}
	mine, reach := HaveOf(x.log, x.proven), map[events.FeedID]events.Seq{}
	s.Same = true
	for tip := range p.tips {
		reach[tip.Feed] = max(reach[tip.Feed], tip.Seq)
	}
	held := map[events.FeedID]events.Seq{}
	for _, tip := range mine.Tips {
		held[tip.Feed] = max(held[tip.Feed], tip.Seq)
		if !p.tips[tip] {
			s.Same = false
			s.Lack += int(max(1, tip.Seq-min(tip.Seq, reach[tip.Feed])))
		}
	}
	for tip := range p.tips {
		if (!p.strangers[tip.Feed] || x.proven(tip.Feed.Key())) && !x.log.Holds(tip) {
			s.Same = false
			s.Want += int(max(1, tip.Seq-min(tip.Seq, held[tip.Feed])))
		}
	}
	return s
}
