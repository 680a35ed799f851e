package journal_test

import (
	"fmt"
	"strings"

	"pairwalk/events"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
)

// author says whole runs of notes.
type author struct{ *journaltest.Author }

func newAuthor(seed uint64) author { return author{journaltest.NewAuthor(seed)} }

// twin goes on from the same line: the makings of a fork.
func (a author) twin() author { return author{a.Twin()} }

// next is the author with a new feed.
func (a author) next(n uint64) author { return author{a.Anew(n)} }

// on is the author at work for another site.
func (a author) on(site events.SiteID) author {
	b := a.twin()
	b.Site = site
	return b
}

// from is the author back at a line.
func (a author) from(v seal.Verified) author { return author{a.Resume(v.Feed(), v.Head())} }

// says seals n events, told apart by the word.
func (a author) says(n int, word string) []seal.Verified {
	var lines []seal.Verified
	for range n {
		if a.Head.Seq == 0 {
			lines = append(lines, a.Start(journaltest.By(word)))
			continue
		}
		lines = append(lines, a.Note(fmt.Sprintf("%s %d", word, a.Head.Seq+1)))
	}
	return lines
}

// anotherSite is one that no author belongs to.
func anotherSite() events.SiteID {
	return events.SiteID(strings.Repeat("a", len(journaltest.Site())))
}

// morning is a reading of a device's clocks so many minutes after nine, in the
// boot with that id; "" is a platform that has no boot clock.
func morning(minutes int, boot string) events.Stamp {
	const nine = 1_772_442_000_000 // 2026-03-02 09:00 UTC
	ms := int64(minutes) * 60_000
	s := events.Stamp{Wall: events.Wall{At: events.Instant(nine + ms), Offset: 60}}
	if boot != "" {
		s.Mono = events.Mono{Boot: boot, Ms: ms + 5}
	}
	return s
}
