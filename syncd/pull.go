package syncd

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// Pull asks a member for the lines of one branch of a feed.
type Pull struct {
	Tip  events.Ref   // stands on the branch; from the other's have
	From events.Seq   // the first line wanted
	To   events.Seq   // the last one, or 0 for as many as there are
	Prev events.Hash8 // of the line before From; zero not to compare
	Max  int          // bytes of lines; one line comes in any case
}

type pullWire struct {
	V    int           `json:"v"`
	Feed events.FeedID `json:"feed"`
	Tip  place         `json:"tip"`
	From events.Seq    `json:"from"`
	To   events.Seq    `json:"to,omitempty"`
	Prev string        `json:"prev,omitempty"`
	Max  int           `json:"max"`
}

// Encode writes a pull as bytes.
func (p Pull) Encode() []byte {
	w := pullWire{V: Version, Feed: p.Tip.Feed, Tip: place{p.Tip.Seq, p.Tip.Hash}, From: p.From, To: p.To, Max: p.Max}
	if p.Prev != (events.Hash8{}) {
		w.Prev = p.Prev.String()
	}
	b, err := json.Marshal(w)
	if err != nil {
		panic("write pull: " + err.Error()) // strings and numbers always encode
	}
	return b
}

// DecodePull reads what Encode writes.
func DecodePull(b []byte) (Pull, error) {
	var w pullWire
	if len(b) > 1024 {
		return Pull{}, fmt.Errorf("read pull: %d bytes are too many", len(b))
	}
	if err := json.Unmarshal(b, &w); err != nil {
		return Pull{}, fmt.Errorf("read pull: %w", err)
	}
	if w.V != Version {
		return Pull{}, fmt.Errorf("read pull: version %d is not known here", w.V)
	}
	if _, err := events.ParseFeedID(string(w.Feed)); err != nil {
		return Pull{}, fmt.Errorf("read pull: %w", err)
	}
	var prev events.Hash8
	if w.Prev != "" {
		var err error
		if prev, err = events.ParseHash8(w.Prev); err != nil {
			return Pull{}, fmt.Errorf("read pull: %w", err)
		}
	}
	if w.Tip.seq < 1 || w.From < 1 || w.From > maxSeq || w.Max < 0 {
		return Pull{}, errors.New("read pull: numbers out of range")
	}
	return Pull{events.Ref{Feed: w.Feed, Seq: w.Tip.seq, Hash: w.Tip.hash}, w.From, w.To, prev, w.Max}, nil
}

// outcome is what kind of reply it is.
type outcome string

const (
	lines    outcome = "lines"
	diverged outcome = "diverged"
	unknown  outcome = "unknown"
	refused  outcome = "refused"
)

type replyHead struct {
	V    int           `json:"v"`
	Feed events.FeedID `json:"feed"`
	Is   outcome       `json:"is"`
}

func (is outcome) reply(feed events.FeedID) []byte {
	b, err := json.Marshal(replyHead{Version, feed, is})
	if err != nil {
		panic("write reply: " + err.Error()) // strings and numbers always encode
	}
	return b
}

// Answer is the reply to a pull from the lines of a log. Whatever bytes come in,
// a reply goes out; it has at most MaxReply bytes of lines, and only lines of
// members.
func Answer(log Log, proven func(events.Key) bool, request []byte) []byte {
	p, err := DecodePull(request)
	if err != nil {
		return refused.reply("")
	}
	if !proven(p.Tip.Feed.Key()) || !log.Holds(p.Tip) {
		return unknown.reply(p.Tip.Feed)
	}
	if !continues(log, p) {
		return diverged.reply(p.Tip.Feed)
	}
	return reply(p, pick(log, p))
}

// pick takes lines for a reply, as many as there is room for.
func pick(log Log, p Pull) []seal.Verified {
	var picked []seal.Verified
	size, room := 0, min(p.Max, MaxReply)
	for v, err := range log.Descent(p.Tip, p.From) {
		if err != nil {
			continue // the asker takes it for missing here, as it is
		}
		size += len(v.Line()) + 1
		if len(picked) > 0 && size > room || p.To > 0 && v.Seq() > p.To {
			break
		}
		picked = append(picked, v)
	}
	return picked
}

// reply writes the lines that something among them vouches for.
func reply(p Pull, picked []seal.Verified) []byte {
	out := lines.reply(p.Tip.Feed)
	size := len(out)
	for _, v := range picked {
		size += len(v.Line()) + 1
	}
	out = slices.Grow(out, size-len(out))
	for len(picked) > 0 {
		n := 1
		for n < len(picked) && picked[n].Seq() == picked[n-1].Seq()+1 {
			n++
		}
		for _, v := range vouched(picked[:n]) {
			out = append(append(out, '\n'), v.Line()...)
		}
		picked = picked[n:]
	}
	return out
}

// vouched is a run without its end that nothing in it vouches for: a line whose own
// signature is damaged here is proved by the next.
func vouched(run []seal.Verified) []seal.Verified {
	for len(run) > 0 && run[len(run)-1].CheckSignature() != nil {
		run = run[:len(run)-1]
	}
	return run
}

// continues says whether the line before From is the one that the asker means.
func continues(log Log, p Pull) bool {
	if p.From == 1 || p.Prev == (events.Hash8{}) {
		return true
	}
	for v, err := range log.Descent(p.Tip, p.From-1) {
		if err != nil {
			continue
		}
		return precedes(v, p)
	}
	return false
}

// precedes compares the first line held from From − 1 on with what the asker
// stands on. Where that line is a hole here, its follower tells its hash.
func precedes(v seal.Verified, p Pull) bool {
	switch v.Seq() {
	case p.From - 1:
		return v.Hash().Short() == p.Prev
	case p.From:
		return v.Prev().Short() == p.Prev
	}
	return true // a longer hole: nothing here says otherwise
}
