// Package beside sets what the program does beside the least that it could cost,
// in one run, for benchmarks that say how far off they are.
//
// # Why a ratio
//
// A time tells of the machine and of whatever else it does just then; two times
// taken on two days tell mostly of the days. So the limit is measured in the same
// process, on the same bytes and the same disk, in turn with the act itself: a
// round is one of each, the other one first every second time, and what is
// reported is the median over all rounds. A hiccup spoils a round and not the
// figure.
//
// # What is reported
//
//	ratio       the limit's time over ours: 1 is as fast as the limit
//	ratio-cpu   the same of the processor time that the process and those it
//	            started used, where the system tells: on a busy machine, the one to go by for work that
//	            waits for no disk
//	ms-limit    the limit's median, in milliseconds
//	ms-ours     our median
//	wobble      how far rounds differ: the middle half of their ratios, over the median
//
// The heap is tidied before every act, so that nobody pays for another's rubbish.
package beside

import (
	"runtime"
	"slices"
	"testing"
	"time"
)

// Act does something once, and says how long that took; what it needs
// beforehand, or looks at afterwards, is no part of it.
type Act func() time.Duration

// Timed is an act of which everything counts.
func Timed(do func()) Act {
	return func() time.Duration {
		began := time.Now()
		do()
		return time.Since(began)
	}
}

// Limit is how fast an act could be at best, beside how fast it is.
type Limit struct {
	Rounds int // how often each is done; 9 where zero
	Limit  Act
	Ours   Act
}

// Report runs the rounds, as many for each of b.N, and reports the figures. It
// returns our median.
func (l Limit) Report(b *testing.B) time.Duration {
	b.Helper()
	if l.Rounds == 0 {
		l.Rounds = 9
	}
	f := l.run(l.Rounds * b.N)
	b.ReportMetric(0, "ns/op") // it would be that of all rounds together
	b.ReportMetric(f.limit.Seconds()/f.ours.Seconds(), "ratio")
	b.ReportMetric(1000*f.limit.Seconds(), "ms-limit")
	b.ReportMetric(1000*f.ours.Seconds(), "ms-ours")
	b.ReportMetric(f.wobble, "wobble")
	if f.cpu > 0 {
		b.ReportMetric(f.cpu, "ratio-cpu")
	}
	return f.ours
}

// figures are what rounds come to.
type figures struct {
	limit, ours time.Duration // medians
	cpu         float64       // of the processor times of all rounds; 0 where unknown
	wobble      float64
}

func (l Limit) run(rounds int) figures {
	var limits, ours []time.Duration
	var limitCPU, oursCPU time.Duration
	for i := range rounds {
		if i%2 == 0 {
			limits = append(limits, tidied(l.Limit, &limitCPU))
			ours = append(ours, tidied(l.Ours, &oursCPU))
		} else {
			ours = append(ours, tidied(l.Ours, &oursCPU))
			limits = append(limits, tidied(l.Limit, &limitCPU))
		}
	}
	ratios := make([]float64, rounds)
	for i := range rounds {
		ratios[i] = limits[i].Seconds() / ours[i].Seconds()
	}
	f := figures{limit: median(limits), ours: median(ours)}
	middle := median(ratios)
	f.wobble = (ratios[rounds-1-rounds/4] - ratios[rounds/4]) / middle
	if oursCPU > 0 {
		f.cpu = limitCPU.Seconds() / oursCPU.Seconds()
	}
	return f
}

// tidied does it with nobody's rubbish about, and adds up its processor time.
func tidied(do Act, cpu *time.Duration) time.Duration {
	runtime.GC()
	before := Spent()
	took := do()
	*cpu += Spent() - before
	return took
}

// median sorts what it is given.
func median[T interface{ ~int64 | ~float64 }](all []T) T {
	slices.Sort(all)
	return all[len(all)/2]
}
