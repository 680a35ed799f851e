package between_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/between"
	"pairwalk/testdata/invent"
)

// invented is a made-up job of four people, on a site with a device for every 20
// entries.
func invented(tb testing.TB, count int) *projection.History {
	tb.Helper()
	job := invent.History(1, 4, count)
	pub, err := job.Root().Public()
	require.NoError(tb, err)
	h := &projection.History{Site: events.SiteOf(pub)}
	h.Adopt(slices.Collect(job.Events()))
	return h
}

// BenchmarkChangesOfAMadeUpJob asks what differs since an hour and since a day ago, on
// 500 devices and on 5,000.
func BenchmarkChangesOfAMadeUpJob(b *testing.B) {
	for _, count := range []int{10_000, 100_000} {
		h := invented(b, count)
		end := h.At(projection.Moment{}).Moment.When.Value
		for _, since := range []time.Duration{time.Hour, 24 * time.Hour} {
			from := projection.At(end.Add(-since))
			b.Run(fmt.Sprintf("%d entries/%v", count, since), func(b *testing.B) {
				n := 0
				for b.Loop() {
					n = len(between.Changes(h, from, projection.Moment{}, between.About{}))
				}
				require.NotZero(b, n)
				b.ReportMetric(float64(n), "changes")
			})
			b.Run(fmt.Sprintf("%d entries/%v, one hub", count, since), func(b *testing.B) {
				for b.Loop() {
					between.Changes(h, from, projection.Moment{}, between.About(events.Hub("H1")))
				}
			})
			b.Run(fmt.Sprintf("%d entries/%v, what came and went", count, since), func(b *testing.B) {
				for b.Loop() {
					between.Passing(h, from, projection.Moment{}, between.About{})
				}
			})
		}
	}
}
