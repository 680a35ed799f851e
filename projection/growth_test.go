package projection_test

import (
	"flag"
	"fmt"
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

// sized is a job to measure growth by: one thing of it is larger than in another.
type sized struct{ events, members, devices int }

func (x sized) String() string {
	return fmt.Sprintf("%d events, %d members, %d devices", x.events, x.members, x.devices)
}

func (x sized) job() invent.Job {
	return invent.Job{Seed: 1, Members: x.members, Count: x.events, Size: invent.Size{Seed: 1, Devices: x.devices}}
}

// growth is every size that growth is measured at: by entries, by members, by
// devices.
var growth = []sized{
	{1_000, 10, 500}, {10_000, 10, 500}, {100_000, 10, 500}, {1_000_000, 10, 500},
	{100_000, 2, 500}, {100_000, 200, 500}, {100_000, 10, 5_000},
}

// held is the heap in use, without rubbish.
func held() int64 {
	runtime.GC()
	runtime.GC() // what a finalizer let go of
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int64(m.HeapAlloc)
}

// BenchmarkGrowthFold folds sites of all sizes from nothing, and asks for random
// past moments. It tells the time and memory an event, entries themselves included,
// and the time of a moment in the middle of them all.
func BenchmarkGrowthFold(b *testing.B) {
	for _, x := range growth {
		if x.events > *most {
			continue
		}
		b.Run(x.String(), func(b *testing.B) {
			job := x.job()
			for b.Loop() {
				before := held()
				h := &projection.History{Site: job.Site()}
				said := slices.Collect(job.Events())
				began, idle := time.Now(), beside.Spent()
				h.Add(said...)
				s := h.At(projection.Moment{})
				took, busy := time.Since(began), beside.Spent()-idle
				said = nil
				size := held() - before
				require.Equal(b, x.events, s.Entries)
				b.ReportMetric(float64(took.Nanoseconds())/float64(x.events), "ns/event")
				b.ReportMetric(float64(busy.Nanoseconds())/float64(x.events), "cpu-ns/event")
				b.ReportMetric(float64(size)/float64(x.events), "B/event")
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
