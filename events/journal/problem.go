package journal

import (
	"errors"
	"fmt"

	"pairwalk/events"
)

// Errors where callers branch.
var (
	// ErrLocked means that another pairwalk has the site open.
	ErrLocked = errors.New("another pairwalk has this site open; close it, or let it do the work")
	// ErrBroken means that a write failed: nothing more is accepted.
	ErrBroken = errors.New("the journal stopped writing; what it holds can still be read; make room on the disk, then open the site again")
	// ErrClosed means that the journal was closed.
	ErrClosed = errors.New("the journal is closed")
	// ErrReplaced means that the own feed must not be continued; see Own.Replace.
	ErrReplaced = errors.New("the own feed can't be continued; begin a new one")
	// ErrHaveFeed means that there is an own feed that can be continued.
	ErrHaveFeed = errors.New("the own feed can be continued; no new one is needed")
	// ErrNoFeed means that no own feed was begun yet.
	ErrNoFeed = errors.New("no own feed was begun yet")
	// ErrNotNext means that a line does not follow the head of the own feed.
	ErrNotNext = errors.New("line does not follow the own feed's head")
	// ErrWrongSite means that a line belongs to another site.
	ErrWrongSite = errors.New("line belongs to another site")
	// ErrChanged means that a file no longer has a line that was read from it, or
	// written to it, before: its disk is going bad, or somebody changed it.
	ErrChanged = errors.New("it is not there any more as it was; open the site again: what is damaged is told then, and mended by whoever has it")
	// ErrHole means that a hole is not proved by the line after it, or is not
	// where this journal lacks something.
	ErrHole = errors.New("hole does not fit")
)

// Gap is the refusal of lines that don't connect to what is held of their feed:
// send them again from Want on.
type Gap struct {
	Feed events.FeedID
	Want events.Seq
	Got  events.Seq
}

func (g *Gap) Error() string {
	return fmt.Sprintf("take event %d of %s: event %d comes first", g.Got, g.Feed.Short(), g.Want)
}

// Fault is the sort of a Problem.
type Fault string

// The faults.
const (
	Damaged     Fault = "damaged"      // an event can't be read
	BadSeal     Fault = "bad-seal"     // an event is whole but its signature is damaged
	Stray       Fault = "stray"        // bytes that are no event in its place
	Missing     Fault = "missing"      // events that were held are gone
	TornEnd     Fault = "torn-end"     // the file ends in half a line
	BadReceipt  Fault = "bad-receipt"  // a line of the receipts is damaged, or does not fit the events
	BadMark     Fault = "bad-mark"     // a copy of the mark is damaged or missing
	BehindMark  Fault = "behind-mark"  // the own feed is shorter than it was, or another
	BrokenChain Fault = "broken-chain" // an event does not follow the one before it
)

// Problem is something found wrong, with its place.
type Problem struct {
	Fault  Fault
	File   string        // relative to the site's folder
	Line   int           // 1 for the first line of the file, 0 where that makes no sense
	Offset int64         // bytes before it in the file
	Feed   events.FeedID // "" where no feed is concerned
	Seq    events.Seq    // 0 where no one event is concerned
	Words  string        // for people
}

func (p Problem) String() string {
	if p.Line == 0 {
		return fmt.Sprintf("%s: %s", p.File, p.Words)
	}
	return fmt.Sprintf("%s, line %d (byte %d): %s", p.File, p.Line, p.Offset, p.Words)
}
