package callback_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/callback"
	"pairwalk/testdata/invent"
)

// BenchmarkExplain asks of one device and of a room why they don't answer, on a
// made-up job of four people with 500 devices and with 5,000.
func BenchmarkExplain(b *testing.B) {
	for _, count := range []int{10_000, 100_000} {
		job := invent.History(1, 4, count)
		pub, err := job.Root().Public()
		require.NoError(b, err)
		h := &projection.History{Site: events.SiteOf(pub)}
		h.Adopt(slices.Collect(job.Events()))
		d := h.At(projection.Moment{}).Devices[200]
		for _, about := range []events.Subject{events.Device(d.Device), events.Room(d.Room)} {
			b.Run(fmt.Sprintf("%d entries/%s", count, about.Class), func(b *testing.B) {
				for b.Loop() {
					require.NotEmpty(b, callback.Explain(h, callback.Question{About: about, Symptom: callback.NoAnswer}).Devices)
				}
			})
		}
	}
}
