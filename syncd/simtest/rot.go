package simtest

import (
	"bytes"
	"strings"

	"pairwalk/events"
	"pairwalk/events/seal"
	"pairwalk/syncd/member"
)

// This file is disks that spoil what is on them while no process runs: a bit of a
// file is another, or the end of a file is gone. The ledger is told what was
// destroyed so. Whatever another device holds must come back, and the log says
// itself that something is wrong.

// mayRot lists the faults of a device's own disk.
func (h *host) mayRot(may func(Fault, bool, int, func())) {
	up := h.m != nil
	may(Flipped, up, 2, func() { h.rots(Flipped) })
	may(Torn, up, 1, func() { h.rots(Torn) })
	may(Full, up && !h.short.full, 2, h.fills)
	may(SyncFail, up && h.short.syncs == 0, 2, h.falters)
}

// rots ends the process and spoils one of its files.
func (h *host) rots(f Fault) {
	clean := h.w.dice.IntN(2) == 0 && h.m.Close() == nil
	h.stops()
	list := h.precious()
	name := list[h.w.dice.IntN(len(list))]
	b, err := h.mem.Read(name)
	if err != nil || h.joinEnd(b) == len(b) {
		h.back(false)
		return
	}
	h.w.inject(f)
	switch f {
	case Torn:
		last := len(b) - 1 - bytes.LastIndexByte(b[:len(b)-1], '\n')
		n := 1 + h.w.dice.IntN(max(1, last-1))
		h.w.tell("%s ends; the last %d bytes of %s are gone", h.name, n, short(name))
		h.spoil(name, b, b[:len(b)-n])
	default:
		least := h.joinEnd(b)
		at, bit := least+h.w.dice.IntN(len(b)-least), h.w.dice.IntN(8)
		h.w.tell("%s ends; bit %d of byte %d of %s flips", h.name, bit, at, short(name))
		spoilt := bytes.Clone(b)
		spoilt[at] ^= 1 << bit
		h.spoil(name, b, spoilt)
	}
	h.doubt = true
	h.rotten++
	// Half a line at the end of the own feed is what a write leaves that nobody was
	// told of, where the log was not closed and the device stayed on: a disk that
	// loses what it synced looks just so. So it loses that when it goes off, or
	// after the log was closed.
	h.back(f == Torn && !clean)
}

// joinEnd is where the join in a file ends that no other device holds. It is what
// proves all the rest: whoever loses that before anybody else has it must come by
// another invite, and of what they said before nobody can know whether to believe
// it.
func (h *host) joinEnd(b []byte) int {
	at := 0
	for line := range bytes.Lines(b) {
		at += len(line)
		ref := h.w.ledger.lines[string(bytes.TrimSuffix(line, []byte{'\n'}))]
		if e := h.w.ledger.said[ref]; e != nil && e.Kind() == "member.joined" && !h.w.elsewhere(h, ref) {
			return at
		}
	}
	return 0
}

// precious lists the files whose loss must be noticed, a feed more often than the
// rest.
func (h *host) precious() []string {
	var feeds, rest []string
	for _, name := range h.mem.Files() {
		switch {
		case strings.HasSuffix(name, ".ndjson"):
			feeds = append(feeds, name)
		case strings.HasSuffix(name, "/receipts"), strings.HasSuffix(name, "/mark"), strings.HasPrefix(name, marksDir) && !strings.HasSuffix(name, ".new"):
			rest = append(rest, name)
		}
	}
	return append(append(feeds, feeds...), rest...)
}

// spoil puts other bytes in a file, and tells the ledger.
func (h *host) spoil(name string, was, now []byte) {
	before := map[string]events.Ref{}
	for line := range bytes.Lines(was) {
		text := string(bytes.TrimSuffix(line, []byte{'\n'}))
		if ref, known := h.w.ledger.lines[text]; known {
			before[text] = ref
		}
	}
	for line := range bytes.Lines(now) {
		text := string(bytes.TrimSuffix(line, []byte{'\n'}))
		if _, known := before[text]; known || !strings.HasSuffix(name, ".ndjson") {
			continue
		}
		h.w.ledger.distort(text, before)
	}
	h.mem.Put(name, now)
	h.w.ledger.restart(h)
}

// distort takes in a line that was spoilt: it is none any more, but where only its
// signature is another, the next line may vouch for it.
func (l *ledger) distort(text string, before map[string]events.Ref) {
	l.frail[text] = true
	v, err := seal.Trusted([]byte(text))
	if err != nil {
		return
	}
	for _, ref := range before {
		if v.Ref() == ref {
			l.lines[text] = ref
			return
		}
	}
	l.junk[text] = true
}

// ownsUp sees that a member whose files were spoilt says so.
func (h *host) ownsUp(m *member.Member) {
	if h.rotten > 0 && len(m.Problems()) == 0 {
		h.w.breaks(Told, "%s opens a log with a spoilt file as if nothing were wrong", h.name)
	}
	h.rotten = 0
}

// short leaves out the folder and most of a feed's name.
func short(file string) string {
	dir, name, _ := strings.Cut(file[strings.LastIndexByte(file, '/')+1:], ".")
	if len(dir) > 12 {
		dir = dir[:12] + "…"
	}
	return dir + "." + name
}
