package simtest

import (
	"bytes"
	"maps"
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
	said   map[events.Ref]*events.Event // what each line tells

	// of what was destroyed or made up
	looking bool                   // at files of a process that may have died in the middle of a write
	frail   map[string]bool        // lines whose signature was spoilt: only the next one vouches for them
	junk    map[string]bool        // lines that are none, though they look it
	gone    map[events.Ref]bool    // destroyed on the only disk that had them
	doubly  map[events.FeedID]bool // feeds that a copy, which could not know it, may have gone on with
	forged  map[events.Ref]bool    // what villains wrote past their member
}

// place is a number of a feed.
type place struct {
	feed events.FeedID
	seq  events.Seq
}

func newLedger() ledger {
	return ledger{
		lines: map[string]events.Ref{}, bytes: map[events.Ref]string{}, places: map[place]events.Ref{}, said: map[events.Ref]*events.Event{},
		frail: map[string]bool{}, junk: map[string]bool{}, gone: map[events.Ref]bool{}, doubly: map[events.FeedID]bool{}, forged: map[events.Ref]bool{},
	}
}

// confirm reads a device's files after something was acknowledged there: all that
// it ever held must be in them, and every tip it claims to have.
func (l *ledger) confirm(h *host) {
	on := l.read(h)
	var lost []events.Ref
	for ref, sure := range h.held {
		if _, there := on[ref]; sure && !there {
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
		if _, there := on[tip]; !there {
			h.w.breaks(Kept, "%s says it has entry %d of %s, which is not on its disk", h.name, tip.Seq, h.w.nameOf(tip.Feed.Key()))
			return
		}
	}
}

// restart is a device whose files were changed from outside, and is held to what
// they hold now. What is on no other disk either is gone.
func (l *ledger) restart(h *host) {
	had := h.held
	h.held = nil
	h.held = l.look(h)
	h.files = map[string][]byte{}
	for ref := range had {
		if _, there := h.held[ref]; !there && !h.w.elsewhere(h, ref) {
			l.gone[ref] = true
		}
	}
}

// all lists every entry that was ever acknowledged, in a fixed order.
func (l *ledger) all() []events.Ref {
	return slices.SortedFunc(maps.Keys(l.bytes), events.Ref.Compare)
}

// look lists the lines known to it in a device's files.
func (l *ledger) look(h *host) map[events.Ref]bool {
	was := h.files
	h.files, l.looking = map[string][]byte{}, true
	on := l.read(h)
	h.files, l.looking = was, false
	return on
}

// still sees that a device holds what it held before a write failed.
func (l *ledger) still(h *host) {
	on := l.look(h)
	for ref, sure := range h.held {
		if _, there := on[ref]; sure && !there {
			h.w.breaks(Kept, "%s, which can't write, has lost entry %d of %s", h.name, ref.Seq, h.w.nameOf(ref.Feed.Key()))
			return
		}
	}
}

// elsewhere says whether another device holds an entry.
func (w *world) elsewhere(h *host, ref events.Ref) bool {
	return slices.ContainsFunc(w.others(h), func(o *host) bool { _, there := o.held[ref]; return there })
}

// excuse is a device that can't know that its feed may have gone on since its
// files were copied.
func (l *ledger) excuse(h *host) {
	for ref := range h.held {
		if ref.Feed.Key() == h.key {
			l.doubly[ref.Feed] = true
		}
	}
}

// read lists every line in a device's files. Those read before are not looked at
// again where a file has only grown.
func (l *ledger) read(h *host) map[events.Ref]bool {
	on := make(map[events.Ref]bool, len(h.held))
	grown := len(h.files) > 0
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
		old = old[:bytes.LastIndexByte(old, '\n')+1] // half a line may be another by now
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
	for ref, sure := range h.held {
		on[ref] = on[ref] || sure
	}
	return on
}

// note takes in the lines of a stretch of a file.
func (l *ledger) note(h *host, b []byte, on map[events.Ref]bool) {
	for line := range bytes.Lines(b) {
		text := string(bytes.TrimSuffix(line, []byte{'\n'}))
		if l.junk[text] {
			continue
		}
		ref, known := l.lines[text]
		if !known && l.looking {
			continue // nobody may have been told of it
		}
		if !known {
			v, err := seal.Trusted([]byte(text))
			if err != nil {
				continue // a hole, or half a line that nobody was told of
			}
			ref = v.Ref()
			l.add(h.w, v, text)
		}
		on[ref] = on[ref] || !l.frail[text]
	}
}

// add is a line that is seen for the first time.
func (l *ledger) add(w *world, v seal.Verified, text string) {
	ref, at := v.Ref(), place{v.Feed(), v.Seq()}
	if l.bytes[ref] != "" && len(l.frail) == 0 {
		w.breaks(Agreed, "entry %d of %s has other bytes in another log", at.seq, w.nameOf(at.feed.Key()))
	}
	if was, taken := l.places[at]; taken && was != ref && !l.doubly[at.feed] {
		w.breaks(OneNumber, "%s gave number %d to two entries", w.nameOf(at.feed.Key()), at.seq)
	}
	l.lines[text], l.bytes[ref], l.places[at] = ref, text, ref
	e := v.Event()
	l.said[ref] = &e
	if !l.forged[ref] {
		w.truth.learn(w, &e)
	}
}

func (w *world) byKey(key events.Key) *host {
	for _, h := range w.hosts {
		if h.key == key {
			return h
		}
	}
	return nil
}

// onBus is the device that answers to a bus key, as a host has met it.
func (h *host) onBus(key events.Key) *host {
	for p := range h.talks {
		if p.bus == key {
			return p
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
