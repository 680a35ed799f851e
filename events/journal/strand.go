package journal

import (
	"cmp"
	"fmt"
	"hash/maphash"
	"path"
	"slices"

	"pairwalk/events"
	"pairwalk/events/seal"
)

const (
	feedsDir   = "feeds"
	lineSuffix = ".ndjson"
)

// FreshSuffix ends the name of the file that Replace writes before it takes the place
// of the old one. A crash may leave one behind.
const FreshSuffix = ".new"

// state says what stands at a place of a strand.
type state uint8

const (
	held    state = iota // a line, whole
	badSeal              // a line whose content the next one vouches for; its own signature is damaged
	hole                 // a line that no peer could give us, so far
	damaged              // a line that was here and can't be read
)

// place is one sequence number of a strand. Its line is in the file, and is known
// again there by its hash and its print.
type place struct {
	hash   events.Hash // of the line, or as the next line says; zero where unknown
	print  uint64      // of the line's signature
	offset int64       // where the line, or that of a hole, begins in the file
	size   int32       // of it with its line feed; 0 where there is none
	sum    uint32      // check value of these bytes
	rec    int32       // the record in force, counted from 1 in strand.records; 0 for none
	state  state
}

func placeOf(v seal.Verified) place { return place{hash: v.Hash(), print: printOf(v.Tail())} }

// printOf tells a line's signature from others, also from such as somebody made up
// to look the same. It is good in this process alone.
func printOf(tail []byte) uint64 { return maphash.Bytes(prints, tail) }

var prints = maphash.MakeSeed()

func (p *place) readable() bool { return p.state == held || p.state == badSeal }

// is says whether a line is that of the place, to the last byte.
func (p *place) is(v seal.Verified) bool { return p.hash == v.Hash() && p.print == printOf(v.Tail()) }

// reads says the same of bytes.
func (p *place) reads(line []byte) bool {
	signed, tail := seal.Cut(line)
	return p.print == printOf(tail) && p.hash == events.HashOf(signed)
}

// strand is one file of lines that follow each other: the main branch of a feed,
// or a fork from where it leaves. A strand in the journal's map is never changed;
// a writer puts another in its place. Its places end with one that is readable.
type strand struct {
	name    string // <feed>, or <feed>~<hash8 of the first line>
	feed    events.FeedID
	first   events.Seq // of places[0]
	places  []place
	base    events.Hash     // what the line at first follows, if that is readable
	fresh   []seal.Verified // lines that are not in the file yet, by number; see unshared
	records []record
	lacking []int // of the places published so far, those a peer could heal; in order
	counted int   // places that lacking is about
	size    int64 // bytes in the file
	spoilt  bool  // the file holds bytes other than those of the places
}

func fileOf(name string) string         { return feedsDir + "/" + name + lineSuffix }
func folderOf(name string) string       { return path.Dir(name) }
func (s *strand) file() string          { return fileOf(s.name) }
func (s *strand) fork() bool            { return s.name != string(s.feed) }
func (s *strand) next() events.Seq      { return s.first + events.Seq(len(s.places)) }
func (s *strand) has(q events.Seq) bool { return q >= s.first && q < s.next() }

// at is the place of a sequence number that the strand has.
func (s *strand) at(q events.Seq) *place { return &s.places[q-s.first] }

// hashAt is the hash known at q, zero where none is.
func (s *strand) hashAt(q events.Seq) events.Hash {
	if !s.has(q) {
		return events.Hash{}
	}
	return s.at(q).hash
}

// head is the last line, zero for an empty strand.
func (s *strand) head() events.Head {
	if len(s.places) == 0 {
		return events.Head{}
	}
	return events.Head{Seq: s.next() - 1, Hash: s.places[len(s.places)-1].hash}
}

// count brings lacking up to date: what was published before is never changed, but
// by a rewrite, which counts anew.
func (s *strand) count() {
	for s.lacking = slices.Clip(s.lacking); s.counted < len(s.places); s.counted++ {
		if s.places[s.counted].state != held {
			s.lacking = append(s.lacking, s.counted)
		}
	}
}

// sum is the check value over the bytes of the places from..to.
func (s *strand) sum(from, to events.Seq) uint32 {
	var crc uint32
	for q := from; q <= to; q++ {
		p := s.at(q)
		crc = joined(crc, p.sum, int(p.size))
	}
	return crc
}

// add puts lines at the end that are not in the file yet, and follow each other.
func (s *strand) add(lines ...seal.Verified) {
	if len(s.places) == 0 {
		s.first, s.base = lines[0].Seq(), lines[0].Prev()
	}
	s.places = slices.Grow(s.places, len(lines))
	for i := range lines {
		s.places = append(s.places, placeOf(lines[i]))
	}
	s.fresh = behind(s.fresh, lines)
}

// keep holds a line of which the place is set until it is in the file.
func (s *strand) keep(v seal.Verified) {
	i, had := s.kept(v.Seq())
	if s.fresh = s.unshared(); had {
		s.fresh[i] = v
		return
	}
	s.fresh = slices.Insert(s.fresh, i, v)
}

// unshared is the fresh lines to be changed, which may be those of whoever brought
// them as long as there is no room at their end.
func (s *strand) unshared() []seal.Verified { return slices.Grow(s.fresh, 1) }

// kept is where among the fresh lines one is, or would be.
func (s *strand) kept(q events.Seq) (int, bool) {
	if n := len(s.fresh); n == 0 || s.fresh[n-1].Seq() < q {
		return n, false
	}
	return slices.BinarySearchFunc(s.fresh, q, func(v seal.Verified, q events.Seq) int { return cmp.Compare(v.Seq(), q) })
}

// lay writes the places from index from on one after the other into room, as they will
// stand in the file from an offset on, and notes where. Lines that are in the file are
// those of old, which is all of it.
func (s *strand) lay(room []byte, from int, offset int64, old []byte) ([]byte, error) {
	size := len(old)
	for i := range s.fresh {
		size += len(s.fresh[i].Line()) + 1
	}
	b := slices.Grow(room[:0], size)
	for i := from; i < len(s.places); i++ {
		p := &s.places[i]
		line, err := s.text(i, old)
		if err != nil {
			return nil, err
		}
		p.offset, p.size, p.sum = offset+int64(len(b)), int32(len(line)+1), lineSum(line)
		b = append(append(b, line...), '\n')
	}
	return b, nil
}

// text is a place as written, without its line feed.
func (s *strand) text(i int, old []byte) ([]byte, error) {
	if p := &s.places[i]; !p.readable() {
		return holeLine(events.Head{Seq: s.first + events.Seq(i), Hash: p.hash}), nil
	}
	v, err := s.draw(i, old)
	return v.Line(), err
}

// draw is the line of a place, fresh or out of the bytes of the file.
func (s *strand) draw(i int, file []byte) (seal.Verified, error) {
	p, q := &s.places[i], s.first+events.Seq(i)
	if k, ok := s.kept(q); ok {
		return s.fresh[k], nil
	}
	if end := p.offset + int64(p.size) - 1; end <= int64(len(file)) {
		if v, err := seal.Trusted(file[p.offset:end:end]); err == nil && p.is(v) {
			return v, nil
		}
	}
	return seal.Verified{}, s.changed(i, ErrChanged)
}

// changed says where a line was that can't be read any more, and why.
func (s *strand) changed(i int, why error) error {
	return fmt.Errorf("read event %d of %s: %s, byte %d: %w", s.first+events.Seq(i), s.feed.Short(), s.file(), s.places[i].offset, why)
}

// holeLine stands in a file for a line that is not held.
func holeLine(h events.Head) []byte {
	return fmt.Appendf(nil, `{"hole":%d,"hash":"%s"}`, h.Seq, h.Hash)
}

// parseHole reads what holeLine writes, and nothing else.
func parseHole(b []byte) (events.Head, bool) {
	var q events.Seq
	var text string
	if len(b) > 120 {
		return events.Head{}, false
	}
	if n, _ := fmt.Sscanf(string(b), `{"hole":%d,"hash":%q}`, &q, &text); n < 2 || q < 1 {
		return events.Head{}, false
	}
	hash, err := events.ParseHash(text)
	h := events.Head{Seq: q, Hash: hash}
	return h, err == nil && string(holeLine(h)) == string(b)
}
