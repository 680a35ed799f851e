package journal

import (
	"iter"
	"slices"

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
		words := &events.Lexicon{}
		for i, n := range s.stretches(from, until, readLeast) {
			b, whole := j.readStretch(nil, s, i, n)
			for ; i < n; i++ {
				v, err := seal.TrustedIn(words, s.cut(&b, i))
				if !whole || err != nil || !s.places[i].is(v) {
					v, err = j.line(s, s.first+events.Seq(i))
				}
				if !yield(v, err) {
					return
				}
			}
		}
	}
}

// copies yields the numbers and the bytes of those lines, each until the next is
// asked for. They are told by their hash and the print of their signature, and not
// looked into again. What the disk does not give back is left out.
func (j *Journal) copies(s *strand, from, until events.Seq) iter.Seq2[events.Seq, []byte] {
	return func(yield func(events.Seq, []byte) bool) {
		room := rooms.Get().(*[]byte)
		defer rooms.Put(room)
		for i, n := range s.stretches(from, until, readMost) {
			b, whole := j.readStretch(*room, s, i, n)
			*room = b
			for ; i < n; i++ {
				q, line := s.first+events.Seq(i), s.cut(&b, i)
				if !whole || !s.places[i].reads(line) {
					v, err := j.line(s, q)
					if err != nil {
						continue
					}
					line = v.Line()
				}
				if !yield(q, line) {
					return
				}
			}
		}
	}
}

// stretches yields where readable places begin and end that stand in the file one
// after the other, in about so many bytes at first, and then more.
func (s *strand) stretches(from, until events.Seq, room int) iter.Seq2[int, int] {
	return func(yield func(i, end int) bool) {
		if s == nil {
			return
		}
		end := len(s.places)
		if until > 0 {
			end = min(end, int(max(until, s.first)-s.first))
		}
		for i := int(max(from, s.first) - s.first); i < end; room = min(2*room, readMost) {
			if !s.places[i].readable() {
				i++
				continue
			}
			n := s.stretch(i, end, room)
			if !yield(i, n) {
				return
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

// readStretch reads the places at indices i to n−1, into room where that is enough,
// and says whether all of it is there.
func (j *Journal) readStretch(room []byte, s *strand, i, n int) (b []byte, whole bool) {
	first, last := &s.places[i], &s.places[n-1]
	size := int(last.offset + int64(last.size) - first.offset)
	b = slices.Grow(room[:0], size)[:size]
	return b, j.site.ReadAt(s.file(), b, first.offset) == nil
}

// cut takes the line at index i from the beginning of bytes.
func (s *strand) cut(b *[]byte, i int) []byte {
	n := s.places[i].size
	line := (*b)[: n-1 : n-1]
	*b = (*b)[n:]
	return line
}

// line is one line that a strand holds. Where the file doesn't have it in its place,
// another may have taken the place of that file since the strand was looked up.
func (j *Journal) line(s *strand, q events.Seq) (seal.Verified, error) {
	i := int(q - s.first)
	if k, ok := s.kept(q); ok {
		return s.fresh[k], nil
	}
	v, err := s.readLine(j.site, i)
	if err == nil {
		return v, nil
	}
	p := &s.places[i]
	for _, o := range j.strandsOf(s.feed) {
		if o.has(q) && o.at(q).hash == p.hash && o.at(q).print == p.print && o.at(q).readable() {
			if v, err := o.readLine(j.site, int(q-o.first)); err == nil {
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
func (s *strand) readLine(at FS, i int) (seal.Verified, error) {
	p := &s.places[i]
	b := make([]byte, p.size-1)
	if err := at.ReadAt(s.file(), b, p.offset); err != nil {
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
