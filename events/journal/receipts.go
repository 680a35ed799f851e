package journal

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"

	"pairwalk/events"
)

const receiptsFile = "receipts"

// record is one line of the receipts: for a range of events of one strand, the
// check value of their bytes, and when this installation first had them. The
// last record for an event is the one in force.
type record struct {
	from, to events.Seq
	crc      uint32
	own      bool // said here: there is no stamp
	stamp    events.Stamp
}

// entry is a record, or the first opening in a boot, as written.
type entry struct {
	Strand string     `json:"log,omitempty"`
	From   events.Seq `json:"from,omitempty"`
	To     events.Seq `json:"to,omitempty"`
	CRC    string     `json:"crc,omitempty"`
	Own    bool       `json:"own,omitempty"`
	Opened bool       `json:"opened,omitempty"`
	Wall   [2]int64   `json:"wall"` // ms, minutes east of UTC
	Boot   string     `json:"boot,omitempty"`
	Mono   int64      `json:"mono,omitempty"` // ms
}

func (e entry) stamp() events.Stamp {
	return events.Stamp{
		Wall: events.Wall{At: events.Instant(e.Wall[0]), Offset: int16(e.Wall[1])},
		Mono: events.Mono{Boot: e.Boot, Ms: e.Mono},
	}
}

func (e entry) stamped(s events.Stamp) entry {
	e.Wall = [2]int64{int64(s.Wall.At), int64(s.Wall.Offset)}
	e.Boot, e.Mono = s.Mono.Boot, s.Mono.Ms
	return e
}

func entryOf(strand string, r record) entry {
	e := entry{Strand: strand, From: r.from, To: r.to, CRC: hex8(r.crc), Own: r.own}
	if r.own {
		return e
	}
	return e.stamped(r.stamp)
}

// book is the receipts as read.
type book struct {
	records map[string][]record // by strand, in file order
	opened  []events.Stamp
	whole   []byte // the lines that are undamaged
	raw     []byte // the file as it is
}

// lines is how many lines the records are about, all strands together.
func (b *book) lines() int {
	n := events.Seq(0)
	for _, records := range b.records {
		for _, r := range records {
			n += r.to - r.from + 1
		}
	}
	return int(n)
}

// damaged says whether the file holds anything but whole lines.
func (b *book) damaged() bool { return len(b.whole) != len(b.raw) }

// readBook reads the receipts; a folder without them has an empty book.
func readBook(site FS) (*book, []Problem, error) {
	b := &book{records: map[string][]record{}}
	raw, err := site.Read(receiptsFile)
	if errors.Is(err, fs.ErrNotExist) {
		return b, nil, nil
	}
	if err != nil {
		return nil, nil, fmt.Errorf("read receipts: %w", err)
	}
	b.raw = raw
	var problems []Problem
	for _, p := range split(raw) {
		if words := b.line(p); words != "" {
			problems = append(problems, Problem{Fault: BadReceipt, File: receiptsFile, Line: p.line, Offset: p.offset, Words: words})
		}
	}
	return b, problems, nil
}

// line takes in one line, or says what is wrong with it.
func (b *book) line(p piece) string {
	var e entry
	if !decodeChecked(p.raw, &e) {
		if !p.ended {
			return "half a receipt at the end, such as a stop while writing leaves"
		}
		return "receipt is damaged: the events it covers are checked in full, and count as first seen now"
	}
	if !p.ended {
		return "receipt lost its line feed: the events it covers count as first seen now"
	}
	b.whole = append(append(b.whole, p.raw...), '\n')
	if e.Opened {
		b.opened = append(b.opened, e.stamp())
		return ""
	}
	var crc uint32
	if _, err := fmt.Sscanf(e.CRC, "%08x", &crc); err != nil || e.From < 1 || e.To < e.From {
		return "receipt makes no sense"
	}
	b.records[e.Strand] = append(b.records[e.Strand], record{e.From, e.To, crc, e.Own, e.stamp()})
	return ""
}

// firstOpened is the earliest opening noted in this boot.
func (b *book) firstOpened(now events.Stamp) (events.Stamp, bool) {
	for _, s := range b.opened {
		if now.Mono.Known() && s.Mono.Boot == now.Mono.Boot {
			return s, true
		}
	}
	return now, false
}

// piece is what stands between two line feeds.
type piece struct {
	raw    []byte
	offset int64
	line   int  // 1 for the first
	ended  bool // by a line feed
}

func (p piece) end() int64 {
	if p.ended {
		return p.offset + int64(len(p.raw)) + 1
	}
	return p.offset + int64(len(p.raw))
}

func split(raw []byte) []piece {
	const usual = 500 // bytes of a line
	return cut(make([]piece, 0, len(raw)/usual+1), raw, piece{})
}

// cut adds the pieces of the bytes that come right after a piece.
func cut(pieces []piece, raw []byte, after piece) []piece {
	for len(raw) > 0 {
		n := bytes.IndexByte(raw, '\n')
		p := piece{raw: raw, offset: after.end(), line: after.line + 1}
		if n >= 0 {
			p.raw, p.ended = raw[:n:n], true
		}
		pieces, after = append(pieces, p), p
		raw = raw[min(n+1, len(raw)):]
		if n < 0 {
			break
		}
	}
	return pieces
}
