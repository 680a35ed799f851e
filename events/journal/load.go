package journal

import (
	"fmt"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// maxGap bounds how many events may be missing between two lines of a file.
const maxGap = 1 << 20

// reading is a strand as its file shows it, before any repair.
type reading struct {
	strand
	folder   FS
	problems []Problem
	slots    []slot              // parallel to places; as follows, until the file is read
	follows  map[int]events.Hash // what lines follow that do not follow the place before, by the indices of theirs
	said     []said              // what its lines say, where that is asked for
	covered  []bool              // by place.rec: the record is in force, and its check value fits
	tailAt   int64               // where the part ends that can be read
	halfTail bool                // what follows tailAt is one piece without a line feed
	lostTo   events.Seq          // the last event that a record says was held
	stale    bool                // a check value does not fit, though nothing is damaged
	site     events.SiteID
}

// manner is how files are read.
type manner struct {
	full bool                           // the signature of every line is checked
	hear bool                           // what lines say is decoded as well
	skim func(events.Kind, []byte) bool // that, but of field facts none but such
	crew *crew                          // who reads them
}

// slot is where a place was found, and what is known of the line that was there.
type slot struct {
	offset  int64
	line    int32 // of the file, 1 for the first
	checked bool  // its signature was
	signed  bool  // its signature holds
}

func (s slot) at() piece { return piece{offset: s.offset, line: int(s.line)} }

// parsed is what one piece of a file is by itself.
type parsed struct {
	line  seal.Verified
	place place // without what the file as a whole says of it
	err   error

	checked, signed bool // as in slot
}

// said is what lines of a file say that stand there one after the other.
type said struct {
	evs    []events.Event
	bodies [][]byte // of those, what was not read; nil where all is
}

// found is the place of a line that stands in a piece of a file.
func found(v seal.Verified, at *piece) place {
	p := placeOf(v)
	p.offset, p.size, p.sum = at.offset, int32(len(v.Line())+1), lineSum(v.Line())
	return p
}

// readStrand reads one file. Places whose bytes fit the check value of a record
// are trusted; the signature of every other is checked. Lines are placed by their
// own numbers, so damage stays where it is.
func (how manner) readStrand(w *window, at FS, id events.SiteID, name string, feed events.FeedID, records []record) (*reading, error) {
	r := &reading{
		strand: strand{name: name, feed: feed, first: 1, records: records},
		folder: at, site: id, follows: map[int]events.Hash{},
	}
	if err := r.findFirst(); err != nil {
		return nil, err
	}
	last, err := r.read(how, w)
	if err != nil {
		return nil, err
	}
	r.cover()
	r.verify(how)
	r.resolve()
	r.trim(last)
	r.heard(last)
	r.slots, r.follows = nil, nil
	return r, nil
}

// findFirst finds the number a fork begins with: what its records say, or else the
// first line that is its namesake, or can be read at all.
func (r *reading) findFirst() error {
	if !r.fork() {
		return nil
	}
	if len(r.records) > 0 {
		r.first = r.records[0].from
		for _, rec := range r.records {
			r.first = min(r.first, rec.from)
		}
		return nil
	}
	raw, err := r.folder.Read(r.file())
	if err != nil {
		return fmt.Errorf("read feed: %w", err)
	}
	for _, p := range split(raw) {
		v, err := seal.Trusted(p.raw)
		if err == nil && v.Feed() == r.feed && v.CheckSignature() == nil {
			r.first = v.Seq()
			return nil
		}
	}
	return nil
}

func (r *reading) problem(f Fault, p piece, q events.Seq, format string, args ...any) {
	r.problems = append(r.problems, Problem{
		Fault: f, File: r.file(), Line: p.line, Offset: p.offset, Feed: r.feed, Seq: q,
		Words: fmt.Sprintf(format, args...),
	})
}

// place puts one piece of the file where it says it belongs, if it can be
// believed.
func (r *reading) place(p *piece, is *parsed) {
	if is.err != nil {
		if h, ok := parseHole(p.raw); ok && p.ended && h.Seq == r.next() {
			r.push(place{hash: h.Hash, offset: p.offset, size: int32(len(p.raw) + 1), sum: lineSum(p.raw), state: hole}, p, slot{})
			return
		}
	}
	if !p.ended {
		if is.line, is.err = r.unended(*p); is.err == nil {
			is.place, is.checked, is.signed = found(is.line, p), true, true
		}
	}
	v := &is.line
	if is.err != nil || v.Header().Site != r.site || v.Feed() != r.feed {
		r.stray(*p)
		return
	}
	// Out of its turn a line is believed only on its signature, which covers the
	// number it bears.
	if v.Seq() != r.next() {
		if v.Seq() < r.next() || v.Seq()-r.next() > maxGap || v.CheckSignature() != nil {
			r.stray(*p)
			return
		}
		is.checked, is.signed = true, true
		for r.next() < v.Seq() {
			r.push(place{state: damaged}, p, slot{})
		}
	}
	if v.Prev() != r.hashAt(v.Seq()-1) || v.Seq() == r.first {
		r.follows[len(r.places)] = v.Prev()
	}
	r.push(is.place, p, slot{checked: is.checked, signed: is.signed})
}

// unended reads a last piece without a line feed: a whole line that lacks it, or
// whose line feed became another byte. Anything else is half a line.
func (r *reading) unended(p piece) (seal.Verified, error) {
	for _, raw := range [][]byte{p.raw, p.raw[:len(p.raw)-1]} {
		v, err := seal.Open(raw)
		if err == nil {
			r.spoilt = true
			r.problem(TornEnd, p, v.Seq(), "the line feed at the end is damaged; event %d is whole", v.Seq())
			return v, nil
		}
	}
	return seal.Verified{}, seal.ErrTail
}

// push puts a place at the end that was found by a piece of the file.
func (r *reading) push(p place, at *piece, s slot) {
	s.offset, s.line = at.offset, int32(at.line)
	r.places, r.slots = append(r.places, p), append(r.slots, s)
}

// prev is the hash that the line of a place follows.
func (r *reading) prev(i int) events.Hash {
	if h, noted := r.follows[i]; noted {
		return h
	}
	return r.places[i-1].hash
}

func (r *reading) stray(p piece) {
	r.spoilt = true
	if !p.ended {
		r.problem(TornEnd, p, 0, "the file ends in half a line")
		return
	}
	r.problem(Stray, p, 0, "not a line of this feed in its place, or a damaged one")
}

// cover finds the record in force for every place, and which of those fit.
func (r *reading) cover() {
	for i, rec := range r.records {
		for q := max(rec.from, r.first); q <= rec.to && q < r.next(); q++ {
			r.at(q).rec = int32(i + 1)
		}
	}
	r.covered = make([]bool, len(r.records)+1)
	looked := make([]bool, len(r.records)+1)
	for _, p := range r.places {
		if p.rec == 0 || looked[p.rec] {
			continue
		}
		rec := r.records[p.rec-1]
		looked[p.rec] = true
		r.covered[p.rec] = rec.from >= r.first && rec.to < r.next() && r.fits(rec)
	}
}

// fits says whether the lines of a record are those it was written for.
func (r *reading) fits(rec record) bool {
	for q := rec.from; q <= rec.to; q++ {
		if r.at(q).state == damaged {
			return false
		}
	}
	return r.sum(rec.from, rec.to) == rec.crc
}

// verify checks the signatures of the lines that no record vouches for.
func (r *reading) verify(how manner) {
	var open []int
	for i := range r.places {
		p, s := &r.places[i], &r.slots[i]
		if p.state != held || s.signed {
			continue
		}
		if s.signed = !how.full && r.covered[p.rec]; !s.signed && !s.checked {
			open = append(open, i)
		}
	}
	how.crew.share(len(open), 8, func(_ *hand, from, to int) {
		for _, i := range open[from:to] {
			v, err := r.readLine(r.folder, i)
			r.slots[i].signed = err == nil && v.CheckSignature() == nil
		}
	})
}

// resolve settles what each place is, from the end to the beginning, since a
// line may be vouched for by the one after it.
func (r *reading) resolve() {
	for i := len(r.places) - 1; i >= 0; i-- {
		p, s := &r.places[i], r.slots[i]
		q := r.first + events.Seq(i)
		var said events.Hash // what the next line says this one is
		known := i+1 < len(r.places) && r.places[i+1].readable()
		if known {
			said = r.prev(i + 1)
		}
		switch {
		case p.state == held && s.signed:
			if known && said != p.hash {
				r.problem(BrokenChain, s.at(), q, "event %d is not the one that event %d follows", q, q+1)
			}
		case p.state == held && known && said == p.hash:
			p.state = badSeal
			r.problem(BadSeal, s.at(), q, "the signature of event %d is damaged; its content is proved by event %d", q, q+1)
		case p.state == held:
			*p = place{hash: said, state: damaged, rec: p.rec}
			r.problem(Damaged, s.at(), q, "event %d is damaged", q)
		case p.state == hole:
			r.resolveHole(p, s, q, said, known)
		default:
			p.hash = said
			r.problem(Damaged, s.at(), q, "event %d can't be read; the next that can stands here", q)
		}
	}
}

// resolveHole believes a hole's hash if a record or the next line vouches for it.
func (r *reading) resolveHole(p *place, s slot, q events.Seq, said events.Hash, known bool) {
	switch {
	case r.covered[p.rec] || p.hash == said:
	case known:
		*p = place{hash: said, state: damaged, rec: p.rec}
		r.problem(Damaged, s.at(), q, "the line that stands for the missing event %d is damaged", q)
	case p.hash != events.Hash{}:
		*p = place{state: damaged, rec: p.rec}
		r.problem(Damaged, s.at(), q, "the line that stands for the missing event %d is not proved", q)
	}
}

// trim drops the places at the end that hold no line, and says what is left
// over there, up to the last piece of the file, and what is gone.
func (r *reading) trim(last piece) {
	n := len(r.places)
	for n > 0 && !r.places[n-1].readable() {
		n--
		if r.places[n].state == hole {
			r.problem(Stray, r.slots[n].at(), r.first+events.Seq(n), "a line stands for the missing event %d, and none comes after it", r.first+events.Seq(n))
		}
	}
	r.places, r.slots = r.places[:n], r.slots[:n]
	if n > 0 && r.places[0].readable() {
		r.base = r.prev(0)
	}
	if n > 0 {
		r.tailAt = min(r.places[n-1].offset+int64(r.places[n-1].size), r.size) // a line feed may be missing
	}
	if r.tailAt < r.size {
		r.spoilt = true
		r.halfTail = last.offset == r.tailAt && !last.ended
	}
	if r.lostTo >= r.next() && r.lostTo > 0 {
		r.problem(Missing, piece{}, r.next(), "events %d to %d were here and can't be found", r.next(), r.lostTo)
	}
	intact := true
	for _, p := range r.places {
		r.spoilt = r.spoilt || p.state == damaged
		intact = intact && p.state != damaged && p.state != badSeal
	}
	for _, p := range r.places {
		if p.rec != 0 && !r.covered[p.rec] && intact && r.records[p.rec-1].to < r.next() && !r.stale {
			r.stale = true
			r.problem(BadReceipt, piece{}, r.records[p.rec-1].from, "a check value does not fit, but every event is whole")
		}
	}
}
