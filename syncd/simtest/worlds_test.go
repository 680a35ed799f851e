package simtest_test

import (
	"context"
	"errors"
	"iter"
	"runtime"
	"sync"
	"sync/atomic"

	"pairwalk/syncd/simtest"
)

// lived is what a world came to.
type lived struct {
	seed   uint64
	report simtest.Report
	broken *simtest.Broken
}

// worlds lives through one world after the other, on all cores at once, and yields
// them in the order of their seeds. It stops after so many, where that is not 0,
// when the context ends, or when nobody wants more; what was begun is finished.
func worlds(ctx context.Context, from, many uint64) iter.Seq[lived] {
	return func(yield func(lived) bool) {
		var begun atomic.Uint64
		var enough atomic.Bool
		var workers sync.WaitGroup
		done := make(chan lived)
		for range runtime.GOMAXPROCS(0) {
			workers.Go(func() {
				for !enough.Load() && ctx.Err() == nil {
					n := begun.Add(1) - 1
					if many > 0 && n >= many {
						return
					}
					done <- live(simtest.Plan{Seed: from + n})
				}
			})
		}
		go func() {
			workers.Wait()
			close(done)
		}()
		next, early := from, map[uint64]lived{}
		for l := range done {
			early[l.seed] = l
			for l, is := early[next]; is; l, is = early[next] {
				delete(early, next)
				next++
				if !enough.Load() && !yield(l) {
					enough.Store(true)
				}
			}
		}
	}
}

// live lives through one world to its end: once begun, it is not stopped.
func live(plan simtest.Plan) lived {
	report, err := simtest.Replay(context.Background(), plan)
	l := lived{plan.Seed, report, nil}
	errors.As(err, &l.broken)
	return l
}
