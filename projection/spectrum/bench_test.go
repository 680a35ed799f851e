package spectrum_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/spectrum"
	"pairwalk/projection/tale"
)

// house is five storeys of five flats, 12 m wide and 3.5 m high, with a hub and
// some devices each, and Wi-Fi on 1, 6 and 11, each heard in some flats only.
func house(devices int, wifi bool) *projection.Site {
	dice := rand.New(rand.NewPCG(25, 25))
	s := tale.New()
	for floor := range 5 {
		f := events.FloorID(fmt.Sprint(floor))
		s.Lead.Say("08:01", events.FloorListed{Floor: f, Level: floor})
		for flat := range 5 {
			x, z := float64(12*flat), 3.5*float64(floor)
			h := events.HubID(fmt.Sprintf("H%d%d", floor, flat))
			s.Lead.Say("08:05", events.HubListed{Hub: h, Floor: f, Place: m(x+12*dice.Float64(), 10*dice.Float64(), z)})
			for i := range devices/2 + dice.IntN(devices) {
				s.Lead.Say("08:10", events.DeviceListed{
					Device: events.Tag(fmt.Sprintf("%s-%d", h, i)), Is: events.Dimmer, Hub: h, Radio: events.Mesh, Power: events.Mains,
					Floor: f, Place: m(x+12*dice.Float64(), 10*dice.Float64(), z+2.5),
				})
			}
			if wifi {
				x := events.WifiSurveyed{Floor: f, Place: events.XY{X: int64(1000*x) + 6000, Y: 5000}}
				for _, ch := range []int{1, 6, 11} {
					x.Heard = append(x.Heard, events.AccessPoint{Channel: ch, Width: 20, RSSI: -95 + dice.IntN(40)})
				}
				s.Lead.Say("08:30", x)
			}
		}
	}
	return s.Now()
}

func BenchmarkPlan(b *testing.B) {
	for _, c := range []struct {
		name    string
		devices int
		wifi    bool
	}{
		{"25 hubs of 20 devices", 20, false},
		{"25 hubs of 20 devices, Wi-Fi", 20, true},
		{"25 hubs of 200 devices", 200, false},
		{"25 hubs of 200 devices, Wi-Fi", 200, true},
	} {
		s := house(c.devices, c.wifi)
		b.Run(c.name, func(b *testing.B) {
			var p spectrum.Plan
			for b.Loop() {
				p, _ = spectrum.For(s, spectrum.Options{})
			}
			b.ReportMetric(float64(p.Cost)/1000, "disturbed")
			b.ReportMetric(float64(p.LowerBound)/1000, "bound")
		})
	}
}

func TestAHouseOfFlatsIsProved(t *testing.T) {
	p := planOf(t, house(20, false), plain)
	require.True(t, p.Exact)
	require.Less(t, p.Cost, p.NowCost/10)
	require.Len(t, p.Hubs, 25)
}

// With Wi-Fi on three channels the proof runs out of its budget, and says so.
func TestAHouseWithWifiHasABound(t *testing.T) {
	p := planOf(t, house(20, true), plain)
	require.Less(t, p.Cost, p.NowCost/10)
	require.Positive(t, p.LowerBound)
	t.Logf("%d disturbed, bound %d, now %d, exact %v", p.Cost, p.LowerBound, p.NowCost, p.Exact)
}
