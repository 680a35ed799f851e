package simtest_test

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"testing"
	"time"
)

var soak = flag.Duration("soak", 0, "live through one world after the other for so long, or until interrupted, and print what they came to")

const (
	sayEvery = 30 * time.Second // of a soak, how it goes
	tellMost = 5                // failures cut down; of more, one line each
)

// soaks lives through worlds until the time is over. The clock here is the test's
// own: no world sees it. A broken promise is told of at once, and the soak goes on.
func soaks(t *testing.T) {
	if end, ends := t.Deadline(); ends && time.Until(end) < *soak+time.Minute {
		t.Fatalf("go test would end this before %s are over: add -timeout 0", *soak)
	}
	ctx, stop := signal.NotifyContext(t.Context(), os.Interrupt)
	defer stop()
	ctx, cancel := context.WithTimeout(ctx, *soak)
	defer cancel()
	began := time.Now()
	all, said := newTotals(*from), began
	for l := range worlds(ctx, *from, 0) {
		all.add(l)
		switch {
		case l.broken == nil:
		case all.broken <= tellMost:
			fmt.Println(failure(l))
		default:
			fmt.Println(l.broken)
		}
		if time.Since(said) >= sayEvery {
			said = time.Now()
			fmt.Println(all.soFar(time.Since(began)))
		}
	}
	fmt.Printf("\n%s\ngo on with: go test ./syncd/simtest -run TestSeeds -soak %s -from %d -timeout 0 -v\n", all.table(), *soak, all.next)
	if all.broken > 0 {
		t.Fatalf("promises were broken in %d of %d worlds", all.broken, all.worlds())
	}
}

// soFar is a line of how a soak goes.
func (a *totals) soFar(since time.Duration) string {
	return fmt.Sprintf("%8s  %s worlds, %s messages, %s faults, %d violations; next seed %d",
		since.Round(time.Second), grouped(a.worlds()), grouped(a.Messages), grouped(a.Injected.Sum()), a.broken, a.next)
}
