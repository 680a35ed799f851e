package journal

import (
	"runtime"
	"sync"
	"sync/atomic"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// crew is goroutines that share work, as many as there are processors. Each has a hand
// of its own meanwhile, and what is in it is of use to the next work too.
type crew struct {
	lines int // that lexicons are made for

	mu    sync.Mutex
	hands []*hand // that nobody has just now
}

// hand is what lines are read with.
type hand struct {
	words *events.Lexicon
	kept  shelf
}

func newCrew(lines int) *crew { return &crew{lines: lines} }

// share has n things done, a stretch of them at a time, and returns when all are done.
// Few are done by the caller.
func (c *crew) share(n, stretch int, do func(h *hand, from, to int)) {
	many := min(runtime.GOMAXPROCS(0), n/stretch)
	if many < 2 {
		h := c.take()
		do(h, 0, n)
		c.give(h)
		return
	}
	var next atomic.Int64
	together(many, func() {
		h := c.take()
		defer c.give(h)
		for {
			from := int(next.Add(int64(stretch))) - stretch
			if from >= n {
				return
			}
			do(h, from, min(from+stretch, n))
		}
	})
}

func (c *crew) take() *hand {
	c.mu.Lock()
	defer c.mu.Unlock()
	n := len(c.hands) - 1
	if n < 0 {
		return &hand{words: events.NewLexicon(c.lines)}
	}
	h := c.hands[n]
	c.hands = c.hands[:n]
	return h
}

func (c *crew) give(h *hand) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.hands = append(c.hands, h)
}

// shelf keeps bytes whose own place is taken by others.
type shelf []byte

func (s *shelf) keep(b []byte) []byte {
	const room = 32 << 10
	if b == nil {
		return nil
	}
	if cap(*s)-len(*s) < len(b) {
		*s = make([]byte, 0, max(room, len(b)))
	}
	at := len(*s)
	*s = append(*s, b...)
	return (*s)[at:len(*s):len(*s)]
}

// together has so many goroutines do the same work, the caller among them, and returns
// when all are done.
func together(crew int, work func()) {
	var others sync.WaitGroup
	for range crew - 1 {
		others.Go(work)
	}
	work()
	others.Wait()
}

// Events is what lines say, each in the place of its line. Many are decoded on all
// processors at once.
func Events(lines []seal.Verified) []events.Event {
	out := make([]events.Event, len(lines))
	newCrew(len(lines)).share(len(lines), 256, func(h *hand, from, to int) {
		for i := from; i < to; i++ {
			out[i] = lines[i].EventIn(h.words)
		}
	})
	return out
}
