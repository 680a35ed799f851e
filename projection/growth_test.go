package projection_test

import (
	"flag"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/projection"
	"pairwalk/testdata/beside"
	"pairwalk/testdata/invent"
)

var most = flag.Int("most", 100_000, "how many events growth is measured up to; a million takes minutes, and some GiB")

// BenchmarkGrowthFold folds sites of all sizes from nothing, and asks for random
// past moments. It tells the time and memory an event, entries themselves included,
// and the time of a moment in the middle of them all.
func BenchmarkGrowthFold(b *testing.B) {
	for _, x := range invent.Growth {
		if x.Events > *most {
			continue
		}
		b.Run(x.String(), func(b *testing.B) {
			job := x.Job()
			for b.Loop() {
				before := beside.Heap()
				h := &projection.History{Site: job.Site()}
				said := slices.Collect(job.Events())
				began, idle := time.Now(), beside.Spent()
				h.Add(said...)
				s := h.At(projection.Moment{})
				took, busy := time.Since(began), beside.Spent()-idle
				said = nil
				size := beside.Heap() - before
				require.Equal(b, x.Events, s.Entries)
				b.ReportMetric(float64(took.Nanoseconds())/float64(x.Events), "ns/event")
				b.ReportMetric(float64(busy.Nanoseconds())/float64(x.Events), "cpu-ns/event")
				b.ReportMetric(float64(size)/float64(x.Events), "B/event")
				b.ReportMetric(float64(moments(h).Microseconds()), "µs/moment")
				runtime.KeepAlive(s)
			}
			b.ReportMetric(0, "ns/op")
		})
	}
}

// moments asks for the whole site at random past moments, and tells how long one
// takes.
func moments(h *projection.History) time.Duration {
	all := h.Ordered()
	dice := rand.New(rand.NewPCG(1, 2))
	var took []time.Duration
	for range 41 {
		at := projection.At(all[dice.IntN(len(all))].Wall.At)
		began := time.Now()
		visited(h.At(at))
		took = append(took, time.Since(began))
	}
	slices.Sort(took)
	return took[len(took)/2]
}
