package simtest

import (
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"time"

	"pairwalk/events"
)

// begin is the true time at which every world begins: 2026-03-02 07:00 UTC.
const begin = events.Instant(1_772_434_800_000)

// world is one run.
type world struct {
	loop
	ctx    context.Context
	seed   uint64
	dice   *rand.Rand
	lens   *rand.Rand // what concerns photos; nil in a world without
	secret io.Reader  // what members draw their keys from
	may    map[Fault]bool
	calm   bool          // nothing is injected any more
	adrift bool          // a clock was set by so much that work of today looks like another day's
	pulse  time.Duration // between two haves of one peer
	hosts  []*host
	links  map[[2]int]*link
	boots  map[string]boot
	truth  truth
	ledger ledger
	report Report
	broken *Broken
}

func newWorld(ctx context.Context, seed uint64) *world {
	w := &world{
		ctx: ctx, seed: seed,
		loop:   loop{now: begin},
		dice:   rand.New(rand.NewPCG(seed, 1)),
		secret: rand.NewChaCha8([32]byte{byte(seed), byte(seed >> 8), byte(seed >> 16), byte(seed >> 24), 1}),
		may:    map[Fault]bool{},
		links:  map[[2]int]*link{},
		boots:  map[string]boot{},
		truth:  newTruth(),
		ledger: newLedger(),
		report: Report{Seed: seed, Injected: Tally{}},
	}
	for _, f := range Faults {
		w.may[f] = w.dice.IntN(2) == 0
	}
	if seed%2 == 0 {
		w.lens = rand.New(rand.NewPCG(seed, 2))
	}
	w.pulse = time.Duration(40+w.dice.IntN(260)) * time.Second
	return w
}

// breaks notes the first promise that is seen broken; the run ends there.
func (w *world) breaks(p Promise, format string, args ...any) {
	if w.broken == nil {
		w.broken = &Broken{w.seed, p, fmt.Sprintf(format, args...)}
		w.tell("BROKEN %s: %s", p, w.broken.Why)
	}
}

// tell adds to the story.
func (w *world) tell(format string, args ...any) {
	w.report.Story = append(w.report.Story, w.now.Time().Format("15:04:05.000 ")+fmt.Sprintf(format, args...))
}

// inject counts a fault.
func (w *world) inject(f Fault) { w.report.Injected[f]++ }

// allows says whether a fault that has a chance of so many in a thousand happens
// now.
func (w *world) allows(f Fault, chance int) bool {
	return !w.calm && w.may[f] && w.dice.IntN(1000) < chance
}

// between draws a time.
func (w *world) between(least, most time.Duration) time.Duration {
	return least + time.Duration(w.dice.Int64N(int64(most-least)+1)).Truncate(time.Millisecond)
}

// pass lets time go by, and everything happen that is due in it.
func (w *world) pass(d time.Duration) {
	end := w.now.Add(d)
	for w.broken == nil && w.next(end) {
	}
	w.now = max(w.now, end)
}

// quieten lets everything under way come to its end. The exchange breaks its
// promise where that takes more messages than bound.
func (w *world) quieten(bound int) {
	before := w.report.Messages
	for w.broken == nil && w.busy > 0 && w.next(w.now.Add(24*time.Hour)) {
		if n := w.report.Messages - before; n > bound {
			w.breaks(Quiet, "%d messages, and no end", n)
		}
	}
}

// up lists the hosts whose process runs.
func (w *world) up() []*host {
	var out []*host
	for _, h := range w.hosts {
		if h.m != nil {
			out = append(out, h)
		}
	}
	return out
}

// one draws an element.
func one[T any](w *world, list []T) T { return list[w.dice.IntN(len(list))] }
