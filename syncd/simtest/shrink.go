package simtest

import (
	"errors"
	"slices"
)

// Shrunk is a failing run, cut down.
type Shrunk struct {
	Plan   Plan
	Kept   []int  // the numbers of what is left
	Of     int    // how much happened before
	Report Report // of the run as it is now
	Broken *Broken
	Tries  int // runs that it took
}

// Shrink leaves out of a failing run whatever it can, so long as the same promise
// is broken, and lives through at most so many worlds for it. It returns false
// where the plan as it is breaks no promise.
//
// Whole kinds are tried first, such as all messages that came late; then ever
// smaller stretches of the run, from its end, until nothing single can be left out.
func Shrink(plan Plan, live func(Plan) (Report, error), tries int) (Shrunk, bool) {
	s := shrinking{live: live, left: tries + 1}
	if !s.fails(plan) {
		return Shrunk{}, false
	}
	of := len(s.Kept)
	for _, kind := range kindsOf(s.Kept) {
		s.without(kind)
	}
	for size := (len(s.Kept) + 1) / 2; size > 0 && s.left > 0; {
		switch cut := s.stretches(size); {
		case size > 1:
			size = min(size/2, (len(s.Kept)+1)/2)
		case !cut:
			size = 0
		}
	}
	s.Of, s.Tries = of, tries-s.left
	return s.Shrunk, true
}

type shrinking struct {
	Shrunk
	live func(Plan) (Report, error)
	left int // runs that may still be made
}

// fails says whether a plan breaks the promise. If so, it is what is cut down next:
// only what happened in it need be kept.
func (s *shrinking) fails(plan Plan) bool {
	if s.left <= 0 {
		return false
	}
	s.left--
	report, err := s.live(plan)
	var broken *Broken
	if !errors.As(err, &broken) || s.Broken != nil && broken.Promise != s.Broken.Promise {
		return false
	}
	s.Plan, s.Kept, s.Report, s.Broken = plan, report.Numbers, report, broken
	return true
}

// without tries to do without some of what is kept.
func (s *shrinking) without(numbers []int) bool {
	kept := slices.DeleteFunc(slices.Clone(s.Kept), func(n int) bool { return slices.Contains(numbers, n) })
	return len(kept) < len(s.Kept) && s.fails(Plan{s.Plan.Seed, AllBut(kept)})
}

// stretches tries to do without each stretch of a length, the last one first.
func (s *shrinking) stretches(size int) (cut bool) {
	for end := len(s.Kept); end > 0; {
		end = min(end, len(s.Kept)) // less happens where something is left out
		from := max(0, end-size)
		if s.without(s.Kept[from:end]) {
			cut = true
		}
		end = from
	}
	return cut
}

// kindsOf sorts what happens in steps by what it is; the largest kind comes first.
func kindsOf(numbers []int) [][]int {
	var kinds [perStep][]int
	for _, n := range numbers {
		if n >= perStep {
			kinds[n%perStep] = append(kinds[n%perStep], n)
		}
	}
	all := slices.DeleteFunc(kinds[:], func(k []int) bool { return len(k) == 0 })
	slices.SortStableFunc(all, func(a, b []int) int { return len(b) - len(a) })
	return all
}
