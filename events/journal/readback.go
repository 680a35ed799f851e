package journal

import (
	"iter"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// Lines are read back from the file a stretch at a time: few bytes at first, for
// who wants one line, and then more.
const (
	readLeast = 8 << 10
	readMost  = 64 << 10
)

// lines yields the lines of a strand from a number on, and before until, if that is
// not 0. Places whose line is not held are left out. Of a strand that is not there
// it yields nothing. A line that the disk does not give back is an error with its
// place, and those after it are yielded all the same.
func (j *Journal) lines(s *strand, from, until events.Seq) iter.Seq2[seal.Verified, error] {
	return func(yield func(seal.Verified, error) bool) {
		if s == nil {
			return
		}
		end := len(s.places)
		if until > 0 {
			end = min(end, int(max(until, s.first)-s.first))
		}
		words, room := &events.Lexicon{}, readLeast
		for i := int(max(from, s.first) - s.first); i < end; room = min(2*room, readMost) {
			if !s.places[i].readable() {
				i++
				continue
			}
			n := s.stretch(i, end, room)
			for v, err := range j.readStretch(words, s, i, n) {
				if !yield(v, err) {
					return
				}
			}
			i = n
		}
	}
}

// stretch is where readable places end that stand in the file right after the one at
// index i, in so many bytes. It is one at least.
func (s *strand) stretch(i, end, room int) int {
	n, size := i+1, int(s.places[i].size)
	for n < end {
		p, before := &s.places[n], &s.places[n-1]
		size += int(p.size)
		if !p.readable() || p.offset != before.offset+int64(before.size) || size > room {
			break
		}
		n++
	}
	return n
}

// readStretch yields the lines at indices i to n−1, which stand one after the other.
func (j *Journal) readStretch(words *events.Lexicon, s *strand, i, n int) iter.Seq2[seal.Verified, error] {
	return func(yield func(seal.Verified, error) bool) {
		first, last := &s.places[i], &s.places[n-1]
		b := make([]byte, last.offset+int64(last.size)-1-first.offset) // but for the last line feed
		whole := j.site.ReadAt(s.file(), b, first.offset) == nil
		for ; i < n; i++ {
			p := &s.places[i]
			at := p.offset - first.offset
			end := at + int64(p.size) - 1
			v, err := seal.TrustedIn(words, b[at:end:end])
			if !whole || err != nil || !p.is(v) {
				v, err = j.line(s, s.first+events.Seq(i))
			}
			if !yield(v, err) {
				return
			}
		}
	}
}

// line is one line that a strand holds. Where the file doesn't have it in its place,
// another may have taken the place of that file since the strand was looked up.
func (j *Journal) line(s *strand, q events.Seq) (seal.Verified, error) {
	i := int(q - s.first)
	if k, ok := s.kept(q); ok {
		return s.fresh[k], nil
	}
	v, err := j.readLine(s, i)
	if err == nil {
		return v, nil
	}
	p := &s.places[i]
	for _, o := range j.strandsOf(s.feed) {
		if o.has(q) && o.at(q).hash == p.hash && o.at(q).print == p.print && o.at(q).readable() {
			if v, err := j.readLine(o, int(q-o.first)); err == nil {
				return v, nil
			}
		}
	}
	if v, ok := j.seek(s, p); ok {
		return v, nil
	}
	return seal.Verified{}, s.changed(i, err)
}

// readLine reads the line at an index from where it was.
func (j *Journal) readLine(s *strand, i int) (seal.Verified, error) {
	p := &s.places[i]
	b := make([]byte, p.size-1)
	if err := j.site.ReadAt(s.file(), b, p.offset); err != nil {
		return seal.Verified{}, err
	}
	if v, err := seal.Trusted(b); err == nil && p.is(v) {
		return v, nil
	}
	return seal.Verified{}, ErrChanged
}

// seek looks for a line all over its strand's file, which may have been replaced by
// another just now. That is done once for each line that is gone.
func (j *Journal) seek(s *strand, p *place) (seal.Verified, bool) {
	j.mu.RLock()
	gone := j.gone[p.hash]
	j.mu.RUnlock()
	if gone {
		return seal.Verified{}, false
	}
	raw, err := j.site.Read(s.file())
	if err != nil {
		return seal.Verified{}, false
	}
	for _, x := range split(raw) {
		if v, err := seal.Trusted(x.raw); err == nil && p.is(v) {
			return v, true
		}
	}
	j.mu.Lock()
	defer j.mu.Unlock()
	j.gone[p.hash] = true
	return seal.Verified{}, false
}
