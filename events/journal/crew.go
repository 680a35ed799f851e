package journal

import (
	"runtime"
	"sync"
	"sync/atomic"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// share has n things done, a stretch of them at a time, by as many goroutines as there are
// processors, and returns when all are done. Few are done by the caller. Each
// goroutine has a lexicon of its own.
func share(n, stretch int, do func(words *events.Lexicon, from, to int)) {
	crew := min(runtime.GOMAXPROCS(0), n/stretch)
	if crew < 2 {
		do(events.NewLexicon(n), 0, n)
		return
	}
	var next atomic.Int64
	work := func() {
		words := events.NewLexicon(n)
		for {
			from := int(next.Add(int64(stretch))) - stretch
			if from >= n {
				return
			}
			do(words, from, min(from+stretch, n))
		}
	}
	together(crew, work)
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
	share(len(lines), 256, func(words *events.Lexicon, from, to int) {
		for i := from; i < to; i++ {
			out[i] = lines[i].EventIn(words)
		}
	})
	return out
}
