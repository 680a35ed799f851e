package simtest

import (
	"bytes"
	"maps"

	"pairwalk/events"
	"pairwalk/events/journal"
)

// This file is a second device that comes up with a copy of another's folder: two
// laptops from one backup, or one that was stolen. Where the copies of the marks
// did not come along it sees that for itself, and begins a feed of its own. Where
// the whole disk was copied neither can know: both go on with one feed, until the
// others tell them that it forks.
//
// Both answer to one bus key, so nobody talks to both at once, and they never talk
// to each other.

// mayClone lists the faults that make another device of one.
func (h *host) mayClone(may func(Fault, bool, int, func())) {
	may(TwinBorn, h.m != nil && h.single() && h.w.room(), 2, func() {
		h.w.inject(TwinBorn)
		h.clones(h.name + "'s other device")
	})
}

// single says whether nobody else has its keys.
func (h *host) single() bool {
	for _, o := range h.w.others(h) {
		if o.bus == h.bus {
			return false
		}
	}
	return true
}

// another is a device besides those that people were invited with.
func (w *world) another(name string, role events.Role) *host {
	w.extra++
	return w.device(len(names)+w.extra-1, name, role)
}

// room says whether there is a seat for another device.
func (w *world) room() bool { return len(names)+w.extra < seats }

// clones is a device that comes up with a copy of this one's folder.
func (h *host) clones(name string) *host {
	t := h.w.another(name, h.role)
	t.like, t.key, t.bus, t.token, t.shots = h, h.key, h.bus, h.token, maps.Clone(h.shots)
	t.mem = h.mem.Clone()
	marks := "with its marks"
	if h.w.dice.IntN(2) == 0 {
		marks = "without its marks"
		t.bringsMarks(journal.Memory())
	} else {
		h.old, t.old = true, true
		h.w.ledger.excuse(h)
	}
	h.w.hosts = append(h.w.hosts, t)
	h.w.ledger.restart(t)
	h.w.tell("%s comes up with a copy of %s's folder, %s", name, h.name, marks)
	t.back(false)
	return t
}

// frees ends a host's talk with other devices that have the keys of one it is about
// to meet.
func (w *world) frees(a, b *host) {
	for _, o := range w.hosts {
		if o == b || o == a || o.bus != b.bus {
			continue
		}
		if l := w.link(a, o); l.up {
			l.up = false
			l.cuts++
		}
		a.loses(o)
		o.loses(a)
	}
}

// carriesOver has each pair of devices with one key tell each other what they hold,
// by a file on a stick.
func (w *world) carriesOver() {
	for _, t := range w.hosts {
		if t.like != nil {
			t.tells(t.like)
			t.like.tells(t)
		}
	}
}

func (h *host) tells(o *host) {
	if h.m == nil || o.m == nil || h.disk.dead || o.disk.dead || h.w.broken != nil {
		return
	}
	var b, photos bytes.Buffer
	_, err := h.m.BundleOut(h.w.ctx, &b)
	if h.wrote("write a file", err) {
		_, _, err = h.m.PhotosOut(&photos)
	}
	if !h.wrote("write a file of photos", err) {
		return
	}
	got, err := o.m.BundleIn(h.w.ctx, &b)
	if o.wrote("take in a file", err) {
		_, err = o.m.PhotosIn(&photos)
	}
	if o.wrote("take in a file of photos", err) && got.Fresh > 0 {
		h.w.tell("%s takes %d from a file of %s", o.name, got.Fresh, h.name)
	}
	h.after()
	o.after()
}

// plain says whether a member's word is to be had from one device, and counts.
func (h *host) plain() bool { return h.single() && !h.outlaw }
