package mesh_test

import (
	"testing"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
	"pairwalk/projection/tale"
	"pairwalk/testdata/invent"
)

// bigSite is a made-up site on which everything that pairs is paired.
func bigSite(size invent.Size, gain string) *projection.Site {
	s := tale.New()
	s.Lead.Say("08:05", events.SettingsChanged{Set: map[events.SettingKey]string{events.AntennaGain: gain}})
	var pair []events.Payload
	for _, p := range invent.Site(size) {
		s.Lead.Say("08:10", p)
		if d, ok := p.(events.DeviceListed); ok && d.Is.Pairs() {
			pair = append(pair, events.DevicePaired{Device: d.Device, Hub: d.Hub})
		}
	}
	for _, p := range pair {
		s.Lead.Say("09:00", p)
	}
	return s.Now()
}

// crowded says how much of a ground there is.
func crowded(b *testing.B, s *projection.Site, g *mesh.Ground) {
	links := 0
	for i := range s.Devices {
		for range g.Links(s.Devices[i].Device) {
			links++
		}
	}
	b.ReportMetric(float64(links)/float64(len(s.Devices)), "links/device")
}

func Benchmark5000Devices(b *testing.B) {
	for _, tt := range []struct {
		name string
		hubs int
		gain string // weak antennas leave devices stranded, so that there is advice to give
	}{{"20 hubs", 20, "-300"}, {"20 hubs, weak", 20, "-1300"}, {"5 hubs", 5, "-300"}} {
		s := bigSite(invent.Size{Seed: 1, Devices: 5_000, Hubs: tt.hubs, Floors: 22}, tt.gain)
		g := mesh.Survey(s)
		n := g.Net(s, mesh.What{})
		run := func(name string, do func()) {
			b.Run(tt.name+"/"+name, func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					do()
				}
				if name == "survey" {
					b.StopTimer()
					crowded(b, s, g)
				}
			})
		}
		run("survey", func() { mesh.Survey(s) })
		run("net and reaches", func() { g.Net(s, mesh.What{}).Reaches() })
		run("single points", func() { n.SinglePoints() })
		run("islands", func() { n.Islands() })
		run("without a circuit", func() {
			mesh.Compare(n, g.Net(s, mesh.What{Without: []events.Subject{events.Circuit(s.Circuits[0].ID)}}))
		})
		run("best relay", func() { n.BestRelay() })
	}
}
