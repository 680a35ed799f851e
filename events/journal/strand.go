package journal

import (
	"fmt"
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

// place is one sequence number of a strand.
type place struct {
	line  seal.Verified // where state is held or badSeal
	hash  events.Hash   // of the line, or as the next line says; zero where unknown
	state state
	rec   int32 // the record in force, counted from 1 in strand.records; 0 for none
}

func (p place) readable() bool { return p.state == held || p.state == badSeal }

// strand is one file of lines that follow each other: the main branch of a feed,
// or a fork from where it leaves. A strand in the journal's map is never changed;
// a writer puts another in its place. Its places end with one that is readable.
type strand struct {
	name    string // <feed>, or <feed>~<hash8 of the first line>
	feed    events.FeedID
	first   events.Seq // of places[0]
	places  []place
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
		crc = castagnoli(crc, s.at(q).rawAt(q))
		crc = castagnoli(crc, []byte{'\n'})
	}
	return crc
}

// bytes is the file that holds exactly these places.
func (s *strand) bytes(from int) []byte {
	var b []byte
	for i := from; i < len(s.places); i++ {
		b = append(b, s.places[i].rawAt(s.first+events.Seq(i))...)
		b = append(b, '\n')
	}
	return b
}

// rawAt is the place as written in the file, without its line feed.
func (p *place) rawAt(q events.Seq) []byte {
	if p.readable() {
		return p.line.Line()
	}
	return holeLine(events.Head{Seq: q, Hash: p.hash})
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
