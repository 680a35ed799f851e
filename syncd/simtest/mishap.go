package simtest

import (
	"slices"
	"strings"
	"time"

	"pairwalk/events/journal"
)

// marksDir is where the copies of the marks are.
const marksDir = "marks/"

// lights a fuse: the process dies in one of the next calls on its disk.
func (h *host) lights() {
	h.disk.fuse = h.w.dice.IntN(24)
	h.disk.whole = h.w.dice.IntN(2) == 0
	h.disk.part = h.w.dice.Float64()
}

// burnt is what follows once the fuse has burnt down.
func (h *host) burnt() {
	h.w.inject(MidCall)
	h.dies("in a call on its disk", h.w.may[PowerCut] && h.w.dice.IntN(2) == 0)
}

// dies is a process that ends without a word, alone or with its device.
func (h *host) dies(how string, power bool) {
	h.stops()
	if power {
		loss := journal.Loss{KeepBytes: h.w.dice.IntN(2) * h.w.dice.IntN(900), KeepNames: h.w.dice.IntN(2) == 0}
		h.mem.Crash(loss)
		h.w.inject(PowerCut)
		h.w.tell("%s dies %s; its power is cut, %+v", h.name, how, loss)
	} else {
		h.w.tell("%s dies %s", h.name, how)
	}
	h.back(power)
}

// stops ends the process; whatever it waits for is over.
func (h *host) stops() {
	h.disk.kill()
	h.m = nil
	h.life++
	for _, p := range h.w.hosts {
		for _, end := range h.waits[p] {
			end()
		}
	}
	h.talks, h.waits = nil, nil
}

// back starts the process after a while, in another boot if the device was off.
func (h *host) back(off bool) {
	down := h.w.between(time.Second, 6*time.Minute)
	life := h.life
	if off {
		down += 20 * time.Second
	}
	h.wakes = func() {
		if h.life != life || h.m != nil {
			return
		}
		if off {
			h.boot(15 * time.Second)
			off = false
		}
		h.starts()
	}
	h.w.later(down, h.wakes)
}

// reboots closes the log and starts the device anew, or the process alone.
func (h *host) reboots(off bool) {
	if err := h.m.Close(); err != nil && !h.disk.dead && h.disk.said == 0 {
		h.w.breaks(Opens, "%s can't close its log: %v", h.name, err)
		return
	}
	h.stops()
	h.w.inject(Reboot)
	h.w.tell("%s closes the log", h.name)
	h.back(off)
}

// restores puts the folder back to an earlier one. Where the copies of the mark
// stay as they were, or are gone, the installation sees it for itself, and may not
// go on with its feed. Where all is put back, nothing on the device tells of it.
func (h *host) restores() {
	h.stops()
	h.w.inject(Restore)
	now := h.mem
	h.mem = h.backup.Clone()
	marks := "all of it"
	switch h.w.dice.IntN(3) {
	case 0:
		marks = "but for its marks"
		h.bringsMarks(now)
		h.old = h.since < 2
	case 1:
		marks = "without its marks"
		h.bringsMarks(journal.Memory())
	default:
		h.old = true
	}
	h.doubt = true
	if h.old {
		h.w.ledger.excuse(h)
	}
	h.w.ledger.restart(h)
	clear(h.shots)
	h.w.tell("%s is put back to a backup of %d entries, %s", h.name, len(h.held), marks)
	h.back(true)
}

// bringsMarks has the copies of the marks from another folder, and no others.
func (h *host) bringsMarks(from *journal.MemFS) {
	for _, name := range h.mem.Files() {
		if strings.HasPrefix(name, marksDir) {
			_ = h.mem.Remove(name) // it was listed
		}
	}
	for _, name := range from.Files() {
		if b, err := from.Read(name); err == nil && strings.HasPrefix(name, marksDir) {
			h.mem.Put(name, b)
		}
	}
	h.mem = h.mem.Clone() // it was put back long ago: nothing of it is in doubt
}

// steps sets the wall clock.
func (h *host) steps() {
	most := one(h.w, []time.Duration{40 * time.Second, 12 * time.Minute, 3 * time.Hour, 40 * time.Hour})
	by := h.w.between(-most, most)
	h.clock.set(by)
	h.w.adrift = h.w.adrift || by.Abs() > 8*time.Hour
	h.w.inject(Step)
	h.w.tell("%s's clock is set by %s", h.name, by)
}

// mishap injects one fault that this world allows.
func (w *world) mishap() {
	type lurking struct {
		can bool
		do  func()
	}
	var all []lurking // in every world of this seed the same, whatever is left out
	may := func(f Fault, can bool, weight int, do func()) {
		if w.may[f] {
			all = append(all, slices.Repeat([]lurking{{can, do}}, weight)...)
		}
	}
	h := w.whom(w.hosts)
	p := w.whom(w.hosts)
	up := h.m != nil
	may(Partition, p != h, 4, func() { w.cut(h, p) })
	may(Partition, true, 1, func() {
		for _, o := range w.others(h) {
			w.cut(h, o)
		}
	})
	may(Crash, up, 2, func() { w.inject(Crash); h.dies("between two calls", false) })
	may(PowerCut, up, 2, func() { h.dies("between two calls", true) })
	may(MidCall, up, 4, func() { h.lights() })
	may(Reboot, up, 1, func() { h.reboots(w.dice.IntN(2) == 0) })
	may(Step, true, 2, h.steps)
	may(Restore, up && h.backup != nil && !h.old, 2, h.restores)
	h.mayRot(may)
	h.mayClone(may)
	h.maySkew(may)
	w.mayWrong(may)
	for _, i := range w.dice.Perm(len(all)) {
		if all[i].can {
			all[i].do()
			break
		}
	}
}

// saves is a backup that somebody makes.
func (w *world) saves() {
	h := w.whom(w.hosts)
	if w.may[Restore] && h.backup == nil && h.m != nil {
		h.backup, h.since = h.mem.Clone(), 0
		w.tell("%s makes a backup", h.name)
	}
}

// mends joins two who are parted.
func (w *world) mends() {
	h := w.whom(w.hosts)
	for _, o := range w.others(h) {
		if w.dice.IntN(2) == 0 {
			w.join(h, o)
		}
	}
}
