package syncd

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"

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

// reply writes the first line of a reply, behind what b holds.
func (is outcome) reply(b []byte, feed events.FeedID) []byte {
	head, err := json.Marshal(replyHead{Version, feed, is})
	if err != nil {
		panic("write reply: " + err.Error()) // strings and numbers always encode
	}
	return append(b, head...)
}

// Answer is the reply to a pull from the lines of a log. Whatever bytes come in,
// a reply goes out; it has at most MaxReply bytes of lines, and only lines of
// members. It is written into room, which may be nil, as far as that reaches.
func Answer(log Log, proven func(events.Key) bool, request, room []byte) []byte {
	out := room[:0]
	p, err := DecodePull(request)
	if err != nil {
		return refused.reply(out, "")
	}
	if !proven(p.Tip.Feed.Key()) || !log.Holds(p.Tip) {
		return unknown.reply(out, p.Tip.Feed)
	}
	if !continues(log, p) {
		return diverged.reply(out, p.Tip.Feed)
	}
	return pick(log, p, lines.reply(out, p.Tip.Feed))
}

// pick writes lines behind the head of a reply, as many as there is room for.
func pick(log Log, p Pull, out []byte) []byte {
	size, most := 0, min(p.Max, MaxReply)
	run, next := len(out), p.From // where the lines begin that follow each other, and the number to go on with
	for q, line := range log.Copies(p.Tip, p.From) {
		n := len(line) + 1
		if size > 0 && size+n > most || p.To > 0 && q > p.To {
			break
		}
		if q != next {
			out = vouched(out, run)
			run = len(out)
		}
		out = append(append(out, '\n'), line...)
		size, next = size+n, q+1
	}
	return vouched(out, run)
}

// vouched is a reply without those lines at its end, from a place on, that nothing
// after them vouches for: a line whose own signature is damaged here is proved by the
// next.
func vouched(out []byte, run int) []byte {
	for len(out) > run {
		n := bytes.LastIndexByte(out, '\n')
		if _, err := seal.Open(out[n+1:]); err == nil {
			break
		}
		out = out[:n]
	}
	return out
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
