package simtest

import (
	"math/rand/v2"
	"time"

	"pairwalk/events"
)

// This file is how chance is dealt out. Everything that happens has dice of its
// own, which follow from the seed and from what it is: so where something is left
// out, all the rest is as near to what it was as it can be. What people do has its
// number; what comes of a message has the time at which it arrives.

// lot is what dice are for.
type lot uint64

const (
	ofWorld lot = iota
	ofHost
	ofLink
	ofStep
	ofNumber
	ofDeed
	ofEnd
)

// dice is chance that can be dealt anew.
type dice struct {
	*rand.Rand
	source *rand.PCG
}

func newDice() dice {
	source := rand.NewPCG(0, 0)
	return dice{rand.New(source), source}
}

func (d dice) deal(seed uint64, of lot, n uint64) {
	d.source.Seed(seed, uint64(of)<<56|n)
	d.source.Uint64() // until then, neighbours look alike
}

// deal gives out the dice that everything is drawn from until the next deal.
func (w *world) deal(of lot, n int) {
	w.dice.deal(w.Seed, of, uint64(n))
	if w.lens != nil {
		w.lens.deal(w.Seed, of|1<<7, uint64(n))
	}
}

// apart has something drawn from dice of its own, amidst something else.
func (w *world) apart(of lot, n int, draw func()) {
	was := *w.dice.source
	w.dice.deal(w.Seed, of, uint64(n))
	draw()
	*w.dice.source = was
}

// deeds is how many may be due at the same time before their dice repeat.
const deeds = 1 << 10

// next lets the next thing happen, if it is due by then, with dice of its own.
func (w *world) next(by events.Instant) bool {
	return w.loop.next(by, func() {
		w.number = 0
		w.deal(ofDeed, int(w.now.Sub(begin).Milliseconds())*deeds+w.nth%deeds)
	})
}

// one draws an element of a list that is the same in every world. To draw one of
// the hosts, see whom.
func one[T any](w *world, list []T) T { return list[w.dice.IntN(len(list))] }

// whom draws a host. It stays the same one where any of the others is not among
// those to draw from.
func (w *world) whom(among []*host) *host {
	order := w.dice.Perm(seats)
	drawn := among[0]
	for _, h := range among {
		if order[h.n] < order[drawn.n] {
			drawn = h
		}
	}
	return drawn
}

// seats is how many hosts there is room for.
const seats = 16

// between draws a time.
func (w *world) between(least, most time.Duration) time.Duration {
	return least + time.Duration(w.dice.Int64N(int64(most-least)+1)).Truncate(time.Millisecond)
}
