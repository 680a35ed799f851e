package member

import (
	"fmt"

	"pairwalk/events"
	"pairwalk/events/bundle"
	"pairwalk/events/journal"
	"pairwalk/projection/settle"
)

const heardFile = "heard.json"

// freshness is how fresh each colleague's log is on this device. It is local
// knowledge: never replicated, and of use to judgements alone.
type freshness struct {
	V     int                      `json:"v"`
	Heard map[events.Key]readingOf `json:"heard"`
}

type readingOf struct {
	Wall   events.Instant `json:"wall"`
	Offset int16          `json:"offset_min"`
	Boot   string         `json:"boot,omitempty"`
	Mono   int64          `json:"mono,omitempty"`
}

// read takes up what was noted before. It only ever makes a judgement kinder:
// where the file is missing or damaged, the log asks more.
func (f *freshness) read(at journal.FS) {
	if readJSON(at, heardFile, f) != nil || f.Heard == nil {
		f.Heard = map[events.Key]readingOf{}
	}
	f.V = 1
}

// unhear forgets how fresh those logs are that were found spoilt when the site was
// opened: it was noted of lines that may be gone. It is noted at once where that
// is possible, since the next opening may find nothing wrong any more.
func (m *Member) unhear() {
	for _, p := range m.journal.Problems() {
		if p.Feed == "" || p.Fault == journal.BadSeal || p.Fault == journal.BadReceipt {
			continue
		}
		if _, noted := m.fresh.Heard[p.Feed.Key()]; noted {
			delete(m.fresh.Heard, p.Feed.Key())
			m.stale = true
		}
	}
	if err := m.noteFreshness(); err != nil && m.world.Log != nil {
		m.world.Log.Warn("how fresh a spoilt log was is noted still", "error", err)
	}
}

// heardOf notes that we hold all that a bundle's maker had said at least until
// it had taken in the newest of our own entries that it holds: the bundle was
// made after that. The maker's own clock proves nothing about ours. An excerpt
// proves no such thing: its maker may have said more long before.
func (m *Member) heardOf(b *bundle.Bundle) error {
	var last events.Stamp
	for feed, head := range b.Heads {
		if feed.Key() != m.self {
			continue
		}
		if head.Seq > m.handed[feed] {
			m.handed[feed] = head.Seq
			m.dealings++
		}
		if e, ok := m.history.Find(events.Ref{Feed: feed, Seq: head.Seq, Hash: head.Hash.Short()}); ok && e.Wall.At > last.Wall.At {
			last = e.Stamp()
		}
	}
	lost := map[events.FeedID][]events.Seq{}
	for feed, run := range b.Runs() {
		for _, hole := range run.Holes {
			lost[feed] = append(lost[feed], hole.Seq)
		}
	}
	if last.Wall.At != 0 && !b.Excerpt() && !m.lacks(b.Maker.Key(), lost) { // the maker had heard of us, so it says how fresh its log is
		m.freshen(b.Maker.Key(), last)
	}
	return m.noteFreshness()
}

// freshen notes that all is held here that a member had said by a time of this
// device's clocks.
func (m *Member) freshen(who events.Key, by events.Stamp) {
	if was, ok := m.fresh.Heard[who]; ok && !m.later(by, was) {
		return
	}
	m.fresh.Heard[who] = readingOf{by.Wall.At, by.Wall.Offset, by.Mono.Boot, by.Mono.Ms}
	m.stale = true
	m.dealings++
}

// later says whether a reading of this device's clocks is later than one noted
// before. The wall clock may have been set back between them, so within a boot
// the other clock decides, and the present boot is later than any before it.
func (m *Member) later(by events.Stamp, was readingOf) bool {
	here := m.world.Now().Mono.Boot
	switch {
	case by.Mono.Boot == was.Boot && was.Boot != "":
		return by.Mono.Ms > was.Mono
	case here != "" && by.Mono.Boot == here:
		return true
	case here != "" && was.Boot == here:
		return false
	}
	return by.Wall.At > was.Wall
}

// noteFreshness writes down how fresh others' logs are here. Losing it only
// makes a judgement ask more.
func (m *Member) noteFreshness() error {
	if !m.stale {
		return nil
	}
	if err := writeJSON(m.at, heardFile, m.fresh); err != nil {
		return fmt.Errorf("write %s: %w", heardFile, err)
	}
	m.stale = false
	return nil
}

// local is what only this device knows, for a judgement.
func (m *Member) local() settle.Local {
	m.mu.Lock()
	defer m.mu.Unlock()
	heard := make(map[events.Key]settle.Heard, len(m.fresh.Heard))
	for k, r := range m.fresh.Heard {
		heard[k] = settle.Heard{At: events.Stamp{
			Wall: events.Wall{At: r.Wall, Offset: r.Offset},
			Mono: events.Mono{Boot: r.Boot, Ms: r.Mono},
		}}
	}
	return settle.Local{
		Self:    m.self,
		Now:     m.world.Now(),
		Opened:  m.journal.FirstOpened(),
		Receipt: m.journal.Receipt,
		Heard:   heard,
	}
}

// Through is how fresh colleagues' logs are here: the time, by this device's
// clock, up to which each one's log is held whole.
func (m *Member) Through() map[events.Key]events.Instant {
	m.mu.Lock()
	defer m.mu.Unlock()
	out := make(map[events.Key]events.Instant, len(m.fresh.Heard))
	for k, r := range m.fresh.Heard {
		if r.Wall > 0 { // else only a part of it has come yet
			out[k] = r.Wall
		}
	}
	return out
}
