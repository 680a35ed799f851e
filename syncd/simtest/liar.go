package simtest

import (
	"bytes"

	"pairwalk/events"
	"pairwalk/syncd"
)

// This file is a villain that lies in the exchange itself: it claims what it does
// not hold, leaves lines out, and sends others than it was asked for. Nobody loses
// anything by it but time.

// claims is what a device says it has, bent where it is a villain's.
func (h *host) claims() syncd.Have {
	have := h.m.Have()
	if h != h.w.rogue || len(have.Tips) == 0 || !h.w.allows(Claimed, 150) {
		return have
	}
	h.w.inject(Claimed)
	h.doubt = true
	for range 1 + h.w.dice.IntN(3) {
		tip := one(h.w, have.Tips)
		tip.Seq += events.Seq(1 + h.w.dice.IntN(50))
		tip.Hash = events.Hash8{byte(h.w.dice.IntN(256)), byte(h.w.dice.IntN(256))}
		if h.w.dice.IntN(4) == 0 {
			tip.Feed = events.NewFeedID(tip.Feed.Key(), [8]byte{byte(h.w.dice.IntN(256))})
		}
		have.Tips = append(have.Tips, tip)
	}
	return have
}

// replies is what a device answers to a pull, bent where it is a villain's.
func (h *host) replies(pull []byte) []byte {
	reply := h.m.Answer(pull, nil)
	if h != h.w.rogue {
		return reply
	}
	lines := bytes.Split(reply, []byte{'\n'})
	if len(lines) > 2 && h.w.allows(Omitted, 150) {
		h.w.inject(Omitted)
		h.doubt = true
		at := 1 + h.w.dice.IntN(len(lines)-1)
		return bytes.Join(append(lines[:at:at], lines[at+1:]...), []byte{'\n'})
	}
	if tips := h.m.Have().Tips; len(tips) > 0 && h.w.allows(Swapped, 80) {
		h.w.inject(Swapped)
		h.doubt = true
		other := h.m.Answer(syncd.Pull{Tip: one(h.w, tips), From: 1, Max: syncd.MaxReply}.Encode(), nil)
		if h.w.dice.IntN(2) == 0 { // under the header that was asked for
			_, body, _ := bytes.Cut(other, []byte{'\n'})
			return append(append(bytes.Clone(lines[0]), '\n'), body...)
		}
		return other
	}
	return reply
}
