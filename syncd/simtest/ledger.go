package simtest

import (
	"bytes"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// ledger knows every line that was ever acknowledged anywhere, by the files of
// the devices and not by what the members say of them.
type ledger struct {
	lines  map[string]events.Ref // by their bytes
	bytes  map[events.Ref]string
	places map[place]events.Ref
}

// place is a number of a feed.
type place struct {
	feed events.FeedID
	seq  events.Seq
}

func newLedger() ledger {
	return ledger{lines: map[string]events.Ref{}, bytes: map[events.Ref]string{}, places: map[place]events.Ref{}}
}

// confirm reads a device's files after something was acknowledged there: all that
// it ever held must be in them, and every tip it claims to have.
func (l *ledger) confirm(h *host) {
	on := l.read(h)
	var lost []events.Ref
	for ref := range h.held {
		if !on[ref] {
			lost = append(lost, ref)
		}
	}
	if len(lost) > 0 {
		first := slices.MinFunc(lost, events.Ref.Compare)
		h.w.breaks(Kept, "%s had entry %d of %s, and has lost it", h.name, first.Seq, h.w.nameOf(first.Feed.Key()))
		return
	}
	h.held = on
	for _, tip := range h.m.Have().Tips {
		if !on[tip] {
			h.w.breaks(Kept, "%s says it has entry %d of %s, which is not on its disk", h.name, tip.Seq, h.w.nameOf(tip.Feed.Key()))
			return
		}
	}
}

// restart is a device that was put back to a backup, and is held to that.
func (l *ledger) restart(h *host) {
	h.files, h.held = map[string][]byte{}, nil
	h.held = l.read(h)
}

// read lists every line in a device's files. Those read before are not looked at
// again where a file has only grown.
func (l *ledger) read(h *host) map[events.Ref]bool {
	on := make(map[events.Ref]bool, len(h.held))
	grown := true
	for _, name := range h.mem.Files() {
		if !strings.HasSuffix(name, ".ndjson") {
			continue
		}
		b, err := h.mem.Look(name)
		if err != nil {
			h.w.breaks(Kept, "%s: read %s: %v", h.name, name, err)
			return on
		}
		old := h.files[name]
		h.files[name] = b
		if !bytes.HasPrefix(b, old) {
			grown, old = false, nil
		}
		l.note(h, b[len(old):], on)
	}
	if !grown {
		clear(on)
		for _, b := range h.files {
			l.note(h, b, on)
		}
		return on
	}
	for ref := range h.held {
		on[ref] = true
	}
	return on
}

// note takes in the lines of a stretch of a file.
func (l *ledger) note(h *host, b []byte, on map[events.Ref]bool) {
	for line := range bytes.Lines(b) {
		text := string(bytes.TrimSuffix(line, []byte{'\n'}))
		ref, known := l.lines[text]
		if !known {
			v, err := seal.Trusted([]byte(text))
			if err != nil {
				continue // a hole, or half a line that nobody was told of
			}
			ref = v.Ref()
			l.add(h.w, v, text)
		}
		on[ref] = true
	}
}

// add is a line that is seen for the first time.
func (l *ledger) add(w *world, v seal.Verified, text string) {
	ref, at := v.Ref(), place{v.Feed(), v.Seq()}
	if l.bytes[ref] != "" {
		w.breaks(Agreed, "entry %d of %s has other bytes in another log", at.seq, w.nameOf(at.feed.Key()))
	}
	author := w.byKey(at.feed.Key())
	if was, taken := l.places[at]; taken && was != ref && (author == nil || !author.old) {
		w.breaks(OneNumber, "%s gave number %d to two entries", w.nameOf(at.feed.Key()), at.seq)
	}
	l.lines[text], l.bytes[ref], l.places[at] = ref, text, ref
	e := v.Event()
	w.truth.learn(w, &e)
}

func (w *world) byKey(key events.Key) *host {
	for _, h := range w.hosts {
		if h.key == key {
			return h
		}
	}
	return nil
}

func (w *world) byBus(key events.Key) *host {
	for _, h := range w.hosts {
		if h.bus == key {
			return h
		}
	}
	return nil
}

func (w *world) nameOf(key events.Key) string {
	if h := w.byKey(key); h != nil {
		return h.name
	}
	return key.Short()
}
