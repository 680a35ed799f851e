package simtest

import (
	"errors"
	"time"

	"pairwalk/events"
	"pairwalk/syncd"
)

const (
	samples = 5 // of a peer's clock on meeting it
	silence = 2 // requests in a row that nothing comes of, until a peer has left

	slowDisk   = 300 * time.Millisecond // until a reply is kept, at most
	shortReply = 4 << 10                // bytes, so that a log takes several and more is asked ahead
)

// talk is a host's conversation with a peer it has met.
type talk struct {
	asked   int // samples asked for
	samples []syncd.Sample
	silent  int  // requests in a row that nothing came of
	pulls   int  // on their way
	late    bool // the last pull was unanswered
}

// finds is a host that learns of a peer: clocks are compared first.
func (h *host) finds(p *host) {
	if h.m == nil || h.talks[p] != nil {
		return
	}
	t := &talk{}
	h.talks[p] = t
	h.sample(p, t)
}

func (h *host) sample(p *host, t *talk) {
	asked := h.stamp()
	h.ask(p, t, (*host).answerClock, func(reply []byte, ok bool) {
		if s, err := syncd.CompareClocks(asked, reply, h.stamp()); ok && err == nil {
			t.samples = append(t.samples, s)
		}
		if t.asked++; t.asked < samples {
			h.sample(p, t)
			return
		}
		if len(t.samples) > 0 {
			_, err := h.m.Compared(h.w.ctx, p.bus, t.samples)
			h.wrote("compare clocks", err)
		}
		if h.m != nil {
			h.askHave(p, t)
		}
	})
}

// ask is a request within a conversation. A reply that comes after the
// conversation has ended is nobody's.
func (h *host) ask(p *host, t *talk, serve func(*host) []byte, heard func([]byte, bool)) {
	h.request(p, serve, func(reply []byte, ok bool) {
		if h.talks[p] != t {
			return
		}
		if t.silent++; ok {
			t.silent = 0
		}
		if t.silent >= silence {
			h.loses(p)
			return
		}
		heard(reply, ok)
	})
}

func (h *host) askHave(p *host, t *talk) {
	asked := h.stamp()
	h.ask(p, t, (*host).answerHave, func(reply []byte, ok bool) {
		have, err := syncd.DecodeHave(reply)
		if !ok || err != nil {
			return
		}
		h.m.Hear(p.bus, have, asked)
		h.pump()
	})
}

// told is a peer whose log has grown by these tips; with no payload it asks to be
// asked.
func (h *host) told(p *host, payload []byte) {
	t := h.talks[p]
	if t == nil {
		h.finds(p)
		return
	}
	have, err := syncd.DecodeHave(payload)
	if len(payload) == 0 || err != nil {
		h.askHave(p, t)
		return
	}
	h.m.Hear(p.bus, have, events.Stamp{})
	h.pump()
}

// pump sends what there is to ask.
func (h *host) pump() {
	if h.disk.dead {
		return
	}
	for _, a := range h.m.Asks() {
		p, t := h.onBus(a.Peer), (*talk)(nil)
		if p != nil {
			t = h.talks[p]
		}
		if t == nil {
			h.w.breaks(Quiet, "%s asks a peer that it has not met", h.name)
			return
		}
		h.pull(p, t, a)
	}
	h.views()
}

func (h *host) pull(p *host, t *talk, a syncd.Ask) {
	few := a.Pull
	few.Max = min(few.Max, shortReply)
	pull := few.Encode()
	t.pulls++
	h.request(p, func(p *host) []byte { return p.replies(pull) }, func(reply []byte, ok bool) {
		t.pulls--
		t.late = !ok
		if h.talks[p] != t { // it left, and its asks with it
			return
		}
		if !ok {
			h.m.Unanswered(a)
			h.judge() // it has heard of entries that it could not get
			if t.silent++; t.silent >= silence {
				h.loses(p)
				return
			}
			h.pump()
			return
		}
		t.silent = 0
		h.comes(p, a, reply)
	})
}

// comes has a reply lie for a while before it is kept, as behind a slow disk; more is
// asked of its peer meanwhile. Replies are kept in the order in which they came.
func (h *host) comes(p *host, a syncd.Ask, reply []byte) {
	w, life := h.w, h.life
	h.m.Came(a, reply)
	h.pump()
	h.lying = append(h.lying, func() { h.took(p, a, reply) })
	w.busy++
	w.later(w.between(0, slowDisk), func() {
		w.busy--
		if h.m == nil || h.life != life {
			return
		}
		keep := h.lying[0]
		h.lying = h.lying[1:]
		keep()
		if h.m != nil {
			h.pump()
			h.after()
		}
	})
}

// took hands a reply to the member, and what it acknowledges to the ledger.
func (h *host) took(p *host, a syncd.Ask, reply []byte) {
	before := h.held
	got, err := h.m.Answered(h.w.ctx, a, reply)
	var blame *syncd.Complaint
	if errors.As(err, &blame) {
		h.w.tell("%s complains of %s: %s", h.name, p.name, blame.Why)
		h.judge()
		if !p.doubt {
			h.w.breaks(Blameless, "%s complains of %s, who did no wrong: %s", h.name, p.name, blame.Why)
		}
		err = nil
	}
	if !h.wrote("take in entries", err) {
		if t := h.talks[p]; t != nil {
			t.late = true // as far as a member is concerned that can't write
		}
		return
	}
	if got.Fresh == 0 {
		return
	}
	h.w.tell("%s takes %d from %s", h.name, got.Fresh, p.name)
	if more := h.gained(before); more < got.Fresh {
		h.w.breaks(Kept, "%s says it took in %d entries, of which %d are on its disk", h.name, got.Fresh, more)
	}
}

// loses is a peer that is not there any more.
func (h *host) loses(p *host) {
	if h.m == nil || h.talks[p] == nil {
		return
	}
	delete(h.talks, p)
	waits := h.waits[p]
	delete(h.waits, p)
	for _, end := range waits {
		end()
	}
	if h.m != nil {
		h.m.Left(p.bus)
		h.pump()
		h.after()
	}
}

// beat asks those within reach what they have: a net under lost messages.
func (h *host) beat() {
	if h.m == nil {
		return
	}
	for _, p := range h.w.others(h) {
		switch t := h.talks[p]; {
		case t != nil:
			h.askHave(p, t)
		case h.w.link(h, p).up:
			h.finds(p)
		}
	}
}

// publish tells everybody within reach of tips that are new.
func (h *host) publish() {
	have := h.m.Have()
	news := have.Since(h.published)
	h.published = have
	if len(news.Tips) > 0 {
		h.shout(news.Encode())
	}
}

func (h *host) shout(payload []byte) {
	for _, p := range h.w.others(h) {
		h.w.carry(h, p, func() { p.told(h, payload) })
	}
}

func (h *host) answerClock() []byte { return syncd.AnswerClock(h.stamp) }
func (h *host) answerHave() []byte  { return h.claims().Encode() }
