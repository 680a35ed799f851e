package projection

import (
	"fmt"
	"time"

	"pairwalk/events"
)

// ahead finds entries that say they are later than something which was said
// after having seen them, by somebody whose clock is known against site time.
type ahead struct {
	*timeline
	limit   events.Instant
	lines   [][]events.Number  // of each feed, by their numbers
	peaks   [][]events.Instant // the latest that any line up to each was said, while all is read
	had     map[[2]int]int     // how many lines of another feed a feed had seen
	flagged map[events.Number]bool
	found   []Anomaly
}

func newAhead(t *timeline) *ahead {
	return &ahead{
		timeline: t, limit: events.Instant(t.settings.Span(events.ClockAhead, time.Minute).Milliseconds()),
		had: map[[2]int]int{}, flagged: map[events.Number]bool{},
	}
}

// list notes a line that may be read.
func (x *ahead) list(n events.Number) {
	at := x.ranks.Feed(n)
	for at >= len(x.lines) {
		x.lines = append(x.lines, nil)
	}
	x.lines[at] = append(x.lines[at], n)
}

// readAll reads a whole view. Most clocks are well, so it passes over what was
// seen where nothing up to there is ahead.
func (x *ahead) readAll(view []events.Number) {
	x.peaks = make([][]events.Instant, len(x.lines))
	for at, lines := range x.lines {
		peaks, peak := make([]events.Instant, len(lines)), events.Instant(0)
		for i, n := range lines {
			peak = max(peak, x.laid.at(n).spoken())
			peaks[i] = peak
		}
		x.peaks[at] = peaks
	}
	for _, n := range view {
		x.read(n)
	}
	x.peaks = nil
}

// read takes what the author of an entry had newly seen, and says whether any of
// it is ahead.
func (x *ahead) read(n events.Number) (any bool) {
	e := x.ranks.Event(n)
	if len(e.Seen) == 0 {
		return false
	}
	by := x.laid.at(n)
	witness, said := by.Placed && by.void == 0 && by.doubt == 0, by.spoken()
	for _, ref := range e.Seen {
		of, known := x.ranks.FeedNumber(ref.Feed)
		if !known || of >= len(x.lines) {
			continue
		}
		between := [2]int{x.ranks.Feed(n), of}
		from, lines := x.had[between], x.lines[of]
		upto := from
		for upto < len(lines) && x.ranks.Event(lines[upto]).Seq <= ref.Seq {
			upto++
		}
		x.had[between] = upto
		if witness && upto > from && (x.peaks == nil || x.peaks[of][upto-1]-said > x.limit) {
			any = x.witness(e, said, lines[from:upto]) || any
		}
	}
	return any
}

// witness compares lines with something that was said after having seen them.
func (x *ahead) witness(e *events.Event, said events.Instant, lines []events.Number) (any bool) {
	for _, n := range lines {
		line := x.laid.at(n)
		by := line.spoken() - said
		if by <= x.limit {
			continue
		}
		any = true
		if !x.flagged[n] {
			x.flagged[n] = true
			x.found = append(x.found, Anomaly{
				Cause: line.Cause, Subject: events.Member(line.Member()), Others: []events.Ref{e.Ref()},
				Why: fmt.Sprintf("has a clock that is ahead by %s or more", time.Duration(by)*time.Millisecond),
			})
		}
	}
	return any
}
