package syncd

import (
	"bytes"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// stream is the requests for one feed that one peer is asked for. There is more than
// one where a reply has come, and is being looked at and kept, while the next is on
// its way. Only one is on its way at a time.
type stream struct {
	peer   events.Key
	tip    events.Ref
	at     events.Ref // the last line that has come, for all that the peer says; zero where there is nothing to go on from
	asked  int        // and not dealt with yet
	came   int        // of those, the ones whose reply has come
	failed uint64     // the first ask that nothing came of, 0 for none: no later one can be judged
}

// fails ends what builds on an ask that nothing came of.
func (s *stream) fails(id uint64) {
	s.at = events.Ref{}
	if s.failed == 0 || id < s.failed {
		s.failed = id
	}
}

// judges says whether anybody can be blamed for what came of an ask: not for what
// was to follow lines that were not kept.
func (s *stream) judges(id uint64) bool { return s.failed == 0 || id < s.failed }

// Came notes that a reply is here, before it is opened and kept, so that its peer
// may be asked for more meanwhile. Where the reply ends is taken from its last line
// as it stands there: if that is a lie, what builds on it connects to nothing, and is
// thrown away. It need not be called; where it is, Took or Unanswered must follow
// for replies of a feed in the order in which they came.
func (x *Exchange) Came(id uint64, reply []byte) {
	ask, ok := x.asked[id]
	if !ok || ask.came > 0 {
		return
	}
	ask.came = max(1, len(reply))
	x.asked[id] = ask
	x.ahead += ask.came
	p, s := x.peers[ask.Peer], x.busy[ask.Pull.Tip.Feed]
	p.asked--
	p.bytes -= ask.Pull.Max
	p.slow = false // whatever becomes of the reply
	s.came++
	s.at = events.Ref{}
	if ask.probe || ask.heal || s.failed > 0 {
		return
	}
	last, err := seal.Glance(reply[bytes.LastIndexByte(reply, '\n')+1:])
	if err == nil && last.Feed == s.tip.Feed && last.Seq >= ask.Pull.From && last.Seq < s.tip.Seq {
		s.at = last
	}
}

// goesOn is what to ask a peer for next, if there is anything yet.
func (s *stream) goesOn(key events.Key, tip events.Ref) (Ask, bool) {
	if s.peer != key || s.tip != tip || s.asked > s.came || s.asked >= MaxInFlight || s.at.Seq == 0 {
		return Ask{}, false
	}
	return Ask{Pull: Pull{Tip: tip, From: s.at.Seq + 1, Prev: s.at.Hash}}, true
}
