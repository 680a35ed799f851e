package checks_test

import (
	"testing"

	"pairwalk/events"
	"pairwalk/projection/checks"
	"pairwalk/projection/tale"
	"pairwalk/testdata/invent"
)

// BenchmarkOf makes the book of a made-up site of 5000 devices, everything on it
// paired.
func BenchmarkOf(b *testing.B) {
	s := tale.New()
	var pair []events.Payload
	for _, p := range invent.Site(invent.Size{Seed: 1, Devices: 5_000, Hubs: 20, Floors: 22}) {
		s.Lead.Say("08:10", p)
		if d, ok := p.(events.DeviceListed); ok && d.Is.Pairs() {
			pair = append(pair, events.DevicePaired{Device: d.Device, Hub: d.Hub})
		}
	}
	for _, p := range pair {
		s.Lead.Say("09:00", p)
	}
	site := s.Now()
	owed := 0
	for b.Loop() {
		owed = checks.Of(site).Owed
	}
	b.ReportMetric(float64(owed), "tests/owed")
}
