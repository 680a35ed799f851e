package simtest

import (
	"maps"
	"slices"
)

// This file is the numbers of what happens. Each step of a day has a hundred of
// them, and what can happen in any step always has the same place in them, whether
// it comes to that or not.
const (
	firstGuest = 1
	firstDay   = 5
	perStep    = 100
	firstFault = 10 // of those that come over a step by themselves
)

// item is something that a step may hold.
type item int

const (
	work    item = iota // something people do
	trouble             // a mishap
	mending             // two that were parted are joined
	coming              // somebody joins late
	saving              // a backup is made
	setting             // a clock is set, so that something is injected
)

// happens says whether an item of the present step happens, as it does once in so
// many times. If so, it gets dice of its own.
func (w *world) happens(i item, once int) bool {
	n := w.step*perStep + int(i)
	w.deal(ofNumber, n)
	return w.dice.IntN(once) == 0 && w.occurs(n)
}

// occurs says whether what has a number is not left out.
func (w *world) occurs(n int) bool {
	if w.Without.Has(n) {
		return false
	}
	w.did[n] = true
	w.number = n
	return true
}

// allows says whether a fault that has a chance of so many in a thousand happens
// now. The story tells between whom.
func (w *world) allows(f Fault, chance int, between ...*host) bool {
	if w.calm || !w.may[f] || w.dice.IntN(1000) >= chance {
		return false
	}
	was := w.number
	defer func() { w.number = was }()
	if !w.occurs(w.step*perStep + firstFault + places[f]) {
		return false
	}
	if len(between) == 2 {
		w.tell("%s, from %s to %s", f, between[0].name, between[1].name)
	}
	return true
}

// places of faults in the list of them.
var places = func() map[Fault]int {
	out := map[Fault]int{}
	for i, f := range Faults {
		out[f] = i
	}
	return out
}()

// numbers lists what happened.
func (w *world) numbers() []int { return slices.Sorted(maps.Keys(w.did)) }
