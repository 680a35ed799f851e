package simtest

import (
	"errors"
	"time"

	"pairwalk/syncd"
)

// This file is disks that have no room for a while, or fail to make bytes
// durable: a write that fails is the last, nothing more is acknowledged,
// everything can be read, and opening the log again, once there is room, goes on.

// What a process sees of such a disk.
var (
	errFull = errors.New("no space left on device")
	errSync = errors.New("input/output error")
)

// shortage is what a device's disk lacks.
type shortage struct {
	full  bool // nothing more fits
	room  int  // bytes of the first write that still fit
	syncs int  // so many of the next syncs fail
}

// fits is how much of a write still fits.
func (s *shortage) fits(n int) int {
	n = min(n, s.room)
	s.room -= n
	return n
}

// refuse is a call that the disk refused.
func (d *disk) refuse(f Fault, why error) error {
	d.said, d.cause = d.said+1, f
	return why
}

// fills is a disk with no room for a while.
func (h *host) fills() {
	h.short.full, h.short.room = true, h.w.dice.IntN(700)
	h.w.tell("%s's disk is full", h.name)
	h.w.later(h.w.between(time.Minute, 12*time.Minute), func() {
		if h.short.full {
			h.short.full = false
			h.w.tell("%s's disk has room again", h.name)
		}
	})
}

// falters is a disk on which the next syncs fail.
func (h *host) falters() { h.short.syncs = 1 + h.w.dice.IntN(3) }

// stuck is a process whose disk refused a call. What was acknowledged is still
// there and can be read; after a while the log is opened anew.
func (h *host) stuck() {
	if h.disk.said > h.disk.noted {
		h.disk.noted = h.disk.said
		h.w.inject(h.disk.cause)
	}
	h.w.ledger.still(h)
	h.reads()
	if h.disk.ending {
		return
	}
	h.disk.ending = true
	life := h.life
	h.w.later(h.w.between(time.Second, 4*time.Minute), func() {
		if h.m != nil && h.life == life {
			h.opensAnew()
		}
	})
}

// opensAnew closes a log that takes nothing more, and opens it.
func (h *host) opensAnew() {
	_ = h.m.Close() // its disk may refuse that too
	h.stops()
	h.w.tell("%s closes the log", h.name)
	h.back(false)
}

// reads sees that a member which can't write can be asked for all it holds.
func (h *host) reads() {
	if h.w.broken != nil {
		return
	}
	for _, tip := range h.m.Have().Tips {
		ask := syncd.Ask{Pull: syncd.Pull{Tip: tip, From: tip.Seq, Max: syncd.MaxReply}}
		if b := syncd.OpenReply(h.site, ask, h.m.Answer(ask.Pull.Encode(), nil)); b.Lines() == 0 {
			h.w.breaks(Readable, "%s, which can't write, does not hand over entry %d of %s", h.name, tip.Seq, h.w.nameOf(tip.Feed.Key()))
			return
		}
	}
}
