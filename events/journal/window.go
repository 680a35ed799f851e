package journal

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"

	"pairwalk/events"
	"pairwalk/events/seal"
)

const (
	stretch   = 64 // lines that are shared out at a time
	roomLeast = 64 << 10
	roomUsual = 512 << 10 // where there is more than that
)

// window shows a file some of its lines at a time. What is noted of each is all that is
// left of them afterwards, and the same memory serves for the next: a processor has it
// near at hand, and the system need not clear any more.
type window struct {
	room   []byte // read, and not looked at yet
	pieces []piece
	each   []parsed
}

// read reads the file and puts its lines in their places. It returns the last piece.
func (r *reading) read(how manner, w *window) (last piece, err error) {
	f, err := r.folder.Open(r.file())
	if err != nil {
		return last, fmt.Errorf("read feed: %w", err)
	}
	defer f.Close()
	for _, rec := range r.records {
		r.lostTo = max(r.lostTo, rec.to)
	}
	usual := int(min(r.lostTo, 1<<16)) + stretch // lines, if nothing is wrong, and a few that come
	r.places, r.slots = make([]place, 0, usual), make([]slot, 0, usual)
	for more := true; more; {
		whole := 0
		if whole, more, err = w.fill(f); err != nil {
			return last, fmt.Errorf("read feed: %w", err)
		}
		w.pieces = cut(w.pieces[:0], w.room[:whole], last)
		w.each = slices.Grow(w.each[:0], len(w.pieces))[:len(w.pieces)]
		s := r.parse(how, w.pieces, w.each)
		for i := range w.pieces {
			last = w.pieces[i]
			r.place(&last, &w.each[i])
			if s.evs != nil && w.each[i].err == nil && s.evs[i].Payload == nil { // its line feed was damaged
				s.evs[i] = w.each[i].line.Event()
			}
		}
		r.size += int64(whole)
		w.room = w.room[:copy(w.room, w.room[whole:])]
	}
	return last, nil
}

// fill reads on until the room is full, and says how much of that is whole lines and
// whether there may be more. If so there is more room then: the usual, or as much again
// where a line takes up all.
func (w *window) fill(from io.Reader) (whole int, more bool, err error) {
	w.room = slices.Grow(w.room, max(0, roomLeast-len(w.room)))
	n, err := io.ReadFull(from, w.room[len(w.room):cap(w.room)])
	w.room = w.room[:len(w.room)+n]
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return len(w.room), false, nil
	}
	if whole = bytes.LastIndexByte(w.room, '\n') + 1; whole == 0 || cap(w.room) < roomUsual {
		w.room = slices.Grow(w.room, max(roomUsual, len(w.room)))
	}
	return whole, true, err
}

// parse reads some pieces of the file each by itself, on all processors; and what they
// say, where that is asked for. A line that no record can vouch for has its signature
// checked.
func (r *reading) parse(how manner, pieces []piece, each []parsed) (s said) {
	if how.hear || how.skim != nil {
		s.evs = make([]events.Event, len(pieces))
	}
	if how.skim != nil {
		s.bodies = make([][]byte, len(pieces))
	}
	how.crew.share(len(pieces), stretch, func(h *hand, from, to int) {
		for i := from; i < to; i++ {
			p := &each[i]
			*p = parsed{}
			if p.line, p.err = seal.TrustedIn(h.words, pieces[i].raw); p.err != nil {
				continue
			}
			p.place = found(p.line, &pieces[i])
			if how.full || p.line.Seq() > r.lostTo {
				p.checked, p.signed = true, p.line.CheckSignature() == nil
			}
			switch {
			case how.skim != nil:
				var body []byte
				s.evs[i], body = p.line.OutlineIn(h.words, how.skim)
				s.bodies[i] = h.kept.keep(body)
			case how.hear:
				s.evs[i] = p.line.EventIn(h.words)
			}
		}
	})
	if s.evs != nil {
		r.said = append(r.said, s)
	}
	return s
}

// heard leaves of what the pieces of the file say that of the lines held.
func (r *reading) heard(last piece) {
	gone := func(p place) bool { return !p.readable() }
	if r.said == nil || len(r.places) == last.line && !slices.ContainsFunc(r.places, gone) {
		return
	}
	var left said
	from, at := 1, 0 // the line that begins what is said at an index
	for i, s := range r.slots {
		if gone(r.places[i]) {
			continue
		}
		for int(s.line) >= from+len(r.said[at].evs) {
			from, at = from+len(r.said[at].evs), at+1
		}
		all, n := &r.said[at], int(s.line)-from
		left.evs = append(left.evs, all.evs[n])
		if all.bodies != nil {
			left.bodies = append(left.bodies, all.bodies[n])
		}
	}
	r.said = []said{left}
}

// again does something with the bytes of the file, which are read anew and are what
// they were.
func (r *reading) again(do func(raw []byte) error) error {
	raw, err := r.folder.Read(r.file())
	if err == nil && int64(len(raw)) < r.size {
		err = io.ErrUnexpectedEOF
	}
	if err != nil {
		return fmt.Errorf("read feed again: %w", err)
	}
	for i := range r.places {
		if p := &r.places[i]; p.readable() && lineSum(raw[p.offset:p.offset+int64(p.size)-1]) != p.sum {
			return r.changed(i, ErrChanged)
		}
	}
	return do(raw[:r.size])
}
