package simtest

import (
	"bytes"
	"time"

	"pairwalk/events"
)

const (
	timeout  = 10 * time.Second
	lastPing = 10 * time.Second // until a link that went down is noticed, at the latest
)

// link is what two devices reach each other by. Some are slow, and slower one way
// than the other, which no comparison of clocks can tell.
type link struct {
	up   bool
	cuts int              // how often it went down
	slow [2]time.Duration // to the first host, and to the second
}

func (w *world) link(a, b *host) *link {
	at := [2]int{min(a.n, b.n), max(a.n, b.n)}
	if w.links[at] == nil {
		l := &link{}
		w.apart(ofLink, at[0]*seats+at[1], func() {
			for i := range l.slow {
				if w.dice.IntN(4) == 0 {
					l.slow[i] = w.between(0, 3*time.Second)
				}
			}
		})
		w.links[at] = l
	}
	return w.links[at]
}

// toward is how much longer a message takes than on a good link.
func (l *link) toward(from, to *host) time.Duration {
	if to.n < from.n {
		return l.slow[0]
	}
	return l.slow[1]
}

// others are all hosts but one.
func (w *world) others(h *host) []*host {
	var out []*host
	for _, o := range w.hosts {
		if o != h {
			out = append(out, o)
		}
	}
	return out
}

// cut takes a link down. Both ends notice after a while, if at all.
func (w *world) cut(a, b *host) {
	l := w.link(a, b)
	if !l.up {
		return
	}
	l.up = false
	l.cuts++
	w.inject(Partition)
	w.tell("%s and %s are parted", a.name, b.name)
	for _, end := range [][2]*host{{a, b}, {b, a}} {
		h, p, was := end[0], end[1], l.cuts
		if w.dice.IntN(4) > 0 {
			w.later(w.between(0, lastPing), func() {
				if l.cuts == was && !l.up {
					h.loses(p)
				}
			})
		}
	}
}

// join takes a link up, and each end finds the other there.
func (w *world) join(a, b *host) {
	l := w.link(a, b)
	if l.up || a.bus == b.bus {
		return
	}
	w.frees(a, b)
	w.frees(b, a)
	l.up = true
	w.tell("%s and %s are on one network", a.name, b.name)
	a.finds(b)
	b.finds(a)
}

// carry brings something from one host to another: never, once or twice, after a
// while.
func (w *world) carry(from, to *host, arrive func()) {
	l := w.link(from, to)
	if !l.up {
		return
	}
	if w.allows(Dropped, 15, from, to) {
		w.inject(Dropped)
		return
	}
	times := 1
	if w.allows(Twice, 30, from, to) {
		w.inject(Twice)
		times = 2
	}
	for range times {
		delay := l.toward(from, to) + w.between(2*time.Millisecond, 80*time.Millisecond)
		if w.allows(Late, 30, from, to) {
			w.inject(Late)
			delay += w.between(0, 15*time.Second)
		}
		cuts, life := l.cuts, to.life
		w.busy++
		w.later(delay, func() {
			w.busy--
			if l.cuts != cuts {
				w.inject(Midway)
				return
			}
			if to.m != nil && to.life == life {
				w.report.Messages++
				arrive()
				to.after()
			}
		})
	}
}

// request asks another host and hears its reply, or that none came.
func (h *host) request(p *host, serve func(*host) []byte, heard func(reply []byte, ok bool)) {
	w, life, over := h.w, h.life, false
	end := func(reply []byte, ok bool) {
		if over {
			return
		}
		over = true
		w.busy--
		if h.m != nil && h.life == life {
			heard(reply, ok)
			h.after()
		}
	}
	w.busy++
	h.waits[p] = append(h.waits[p], func() { end(nil, false) })
	w.carry(h, p, func() {
		reply := serve(p)
		sent := w.garble(p, h, reply)
		p.doubt = p.doubt || !bytes.Equal(sent, reply)
		w.carry(p, h, func() { end(sent, true) })
	})
	w.later(timeout, func() { end(nil, false) })
}

// garble changes a reply on its way, now and then: its end is cut off, or a bit of
// it is another. Signatures are left alone: a line with a spoilt one is authentic
// all the same where the next line vouches for it, and then two members hold it in
// different bytes.
func (w *world) garble(from, to *host, reply []byte) []byte {
	if len(reply) == 0 || !w.allows(Garbled, 10, from, to) {
		return reply
	}
	w.inject(Garbled)
	at := w.dice.IntN(len(reply))
	if w.dice.IntN(2) == 0 {
		return reply[:at:at]
	}
	spoilt := bytes.Clone(reply)
	if sig := bytes.LastIndex(reply[:at], []byte(`,"sig":"`)); sig < 0 || at-sig > events.SignatureChars+8 {
		spoilt[at] ^= byte(1 << w.dice.IntN(8))
	}
	return spoilt
}
