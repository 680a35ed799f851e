package simtest

import (
	"context"
	"fmt"
	"time"

	"pairwalk/events"
)

// begin is the true time at which every world begins: 2026-03-02 07:00 UTC.
const begin = events.Instant(1_772_434_800_000)

// world is one run.
type world struct {
	loop
	ctx context.Context
	Plan
	dice   dice
	lens   *dice        // what concerns photos; nil in a world without
	days   []int        // how many steps each has
	step   int          // counts them
	number int          // of what happens now; 0 for what follows from something earlier
	did    map[int]bool // numbers of what happened
	taken  int          // seats of those who were invited
	extra  int          // seats of other devices
	may    map[Fault]bool
	calm   bool          // nothing is injected any more
	evil   bool          // somebody is bad
	adrift bool          // a clock was set by so much that work of today looks like another day's
	pulse  time.Duration // between two haves of one peer
	hosts  []*host
	links  map[[2]int]*link
	boots  map[string]boot
	truth  truth
	ledger ledger
	rogue  *host // the member that has gone bad
	report Report
	broken *Broken
}

func newWorld(ctx context.Context, plan Plan) *world {
	w := &world{
		ctx: ctx, Plan: plan,
		loop:   loop{now: begin},
		dice:   newDice(),
		did:    map[int]bool{},
		may:    map[Fault]bool{},
		links:  map[[2]int]*link{},
		boots:  map[string]boot{},
		truth:  newTruth(),
		ledger: newLedger(),
		report: Report{Seed: plan.Seed, Injected: Tally{}},
	}
	w.deal(ofWorld, 0)
	for _, f := range Faults {
		w.may[f] = w.dice.IntN(2) == 0
	}
	w.evil = w.dice.IntN(3) == 0
	for _, f := range malice {
		w.may[f] = w.may[f] && w.evil
	}
	w.pulse = time.Duration(40+w.dice.IntN(260)) * time.Second
	for range 1 + w.dice.IntN(4)/3 {
		w.days = append(w.days, 10+w.dice.IntN(16))
	}
	if plan.Seed%2 == 0 {
		lens := newDice()
		w.lens = &lens
	}
	return w
}

// breaks notes the first promise that is seen broken; the run ends there.
func (w *world) breaks(p Promise, format string, args ...any) {
	if w.broken == nil {
		w.broken = &Broken{w.Seed, p, fmt.Sprintf(format, args...)}
		w.tell("BROKEN %s: %s", p, w.broken.Why)
	}
}

// tell adds to the story.
func (w *world) tell(format string, args ...any) {
	number := "     "
	if w.number > 0 {
		number = fmt.Sprintf("%5d", w.number)
	}
	w.report.Story = append(w.report.Story, w.now.Time().Format("15:04:05.000 ")+number+" "+fmt.Sprintf(format, args...))
}

// inject counts a fault.
func (w *world) inject(f Fault) { w.report.Injected[f]++ }

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
