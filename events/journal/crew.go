package journal

import (
	"runtime"
	"sync"
	"sync/atomic"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// crew is goroutines that share work, as many as there are processors. Each has a
// lexicon of its own meanwhile, and what these hold is of use to the next work too.
type crew struct {
	lines int // that lexicons are made for

	mu    sync.Mutex
	words []*events.Lexicon // that nobody has just now
}

func newCrew(lines int) *crew { return &crew{lines: lines} }

// share has n things done, a stretch of them at a time, and returns when all are done.
// Few are done by the caller.
func (c *crew) share(n, stretch int, do func(words *events.Lexicon, from, to int)) {
	many := min(runtime.GOMAXPROCS(0), n/stretch)
	if many < 2 {
		words := c.lexicon()
		do(words, 0, n)
		c.back(words)
		return
	}
	var next atomic.Int64
	together(many, func() {
		words := c.lexicon()
		defer c.back(words)
		for {
			from := int(next.Add(int64(stretch))) - stretch
			if from >= n {
				return
			}
			do(words, from, min(from+stretch, n))
		}
	})
}

func (c *crew) lexicon() *events.Lexicon {
	c.mu.Lock()
	defer c.mu.Unlock()
	n := len(c.words) - 1
	if n < 0 {
		return events.NewLexicon(c.lines)
	}
	words := c.words[n]
	c.words = c.words[:n]
	return words
}

func (c *crew) back(words *events.Lexicon) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.words = append(c.words, words)
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
	newCrew(len(lines)).share(len(lines), 256, func(words *events.Lexicon, from, to int) {
		for i := from; i < to; i++ {
			out[i] = lines[i].EventIn(words)
		}
	})
	return out
}
