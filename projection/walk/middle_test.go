package walk_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
	"pairwalk/projection/tale"
	"pairwalk/projection/walk"
	"pairwalk/testdata/invent"
)

// midway is a scattered site in the middle of its job: some devices are paired, a
// few of them to the wrong hub or without power, and some did not work.
func midway(seed uint64) *projection.Site {
	dice := rand.New(rand.NewPCG(seed, 11))
	s := tale.New()
	rows := scatter(seed)
	s.Lead.Say("08:00", events.SettingsChanged{Set: map[events.SettingKey]string{events.PairMinutes: "2", events.PairMinutesOf: "dimmer=15"}})
	var hubs []events.HubID
	for i, r := range rows {
		if d, ok := r.(events.DeviceListed); ok && d.Is == events.Driver && dice.IntN(2) == 0 {
			d.Is = events.Dimmer // they take long
			rows[i] = d
		}
		s.Lead.Say("08:00", rows[i])
		if h, ok := r.(events.HubListed); ok {
			hubs = append(hubs, h.Hub)
		}
	}
	for _, r := range rows {
		d, ok := r.(events.DeviceListed)
		if !ok {
			continue
		}
		switch dice.IntN(12) {
		case 0, 1, 2, 3:
			s.Lead.Say("09:00", events.DevicePaired{Device: d.Device, Hub: d.Hub})
		case 4:
			s.Lead.Say("09:00", events.DevicePaired{Device: d.Device, Hub: hubs[dice.IntN(len(hubs))]})
		case 5:
			s.Lead.Say("09:00", events.DevicePaired{Device: d.Device, Hub: d.Hub})
			s.Lead.Say("09:01", events.PowerOff{Of: events.Device(d.Device)})
		case 6:
			s.Lead.Say("09:00", events.DeviceRefused{Device: d.Device, Why: events.NoAnswer})
		}
	}
	return s.Now()
}

// onAir says which devices have joined a hub and have power, as things stand.
func onAir(s *projection.Site, hub events.HubID) map[events.Tag]bool {
	on := map[events.Tag]bool{}
	for _, d := range s.Devices {
		if d.Paired != nil && d.Paired.Hub == hub && d.Dark == nil {
			on[d.Device] = true
		}
	}
	return on
}

// atHome floods a hub's network: all those of some devices that sure links lead to,
// over those that relay. It is a check of the plan, and shares nothing with it but
// the links.
func atHome(s *projection.Site, g *mesh.Ground, hub events.HubID, on map[events.Tag]bool) map[events.Tag]bool {
	home := map[events.Tag]bool{}
	for more := true; more; {
		more = false
		for tag := range on {
			if home[tag] {
				continue
			}
			if joinsBy(s, g, tag, events.Tag(hub)) || slices.ContainsFunc(s.Devices, func(d projection.Device) bool {
				return home[d.Device] && joinsBy(s, g, tag, d.Device)
			}) {
				home[tag], more = true, true
			}
		}
	}
	return home
}

// joinsBy says whether a device has a sure link to a hub, or to a router.
func joinsBy(s *projection.Site, g *mesh.Ground, tag, via events.Tag) bool {
	l, ok := g.Link(tag, via)
	d, known := s.Device(via)
	return ok && l.Sure && (!known || d.Radio == events.Mesh && d.Power == events.Mains)
}

func mean(g *mesh.Ground, a, b events.Tag) int64 {
	l, _ := g.Link(a, b)
	return l.Mean
}

// From the middle of a job the plan says of every device that it joins through
// somebody who has a path by then, or else that it has none; and both are so. What
// has a path once all is paired has one when it is its turn.
func TestPlanFromTheMiddleKeepsEveryPath(t *testing.T) {
	var sum tally
	for seed := range uint64(200) {
		s := midway(seed)
		g := mesh.Survey(s)
		for n := 1; n <= 3; n++ {
			o := walk.Plan(s, g, crew(n), begin)
			of := map[events.HubID][]walk.Stop{}
			for _, x := range pairings(o) {
				of[x.Hub] = append(of[x.Hub], x)
			}
			notes, islands := strings.Join(o.Notes, "\n"), sum.islands
			require.NotContains(t, notes, "nobody knows", "all have places")
			for hub, stops := range of {
				sum.at = fmt.Sprintf("seed %d, %d people, %s", seed, n, hub)
				sum.judge(t, s, g, hub, stops)
			}
			require.Equal(t, sum.islands > islands, strings.Contains(notes, "no order gives them"), "seed %d, %d people", seed, n)
		}
	}
	t.Logf("%d stops, %d with no path, %d through a router that was stranded", sum.stops, sum.islands, sum.carried)
	require.Greater(t, sum.carried, 500)
	require.Greater(t, sum.islands, 500)
}

// tally counts what was judged.
type tally struct {
	at                      string // what is being judged
	stops, islands, carried int
}

// judge holds every pairing on a hub against what is on the air by then.
func (c *tally) judge(t *testing.T, s *projection.Site, g *mesh.Ground, hub events.HubID, stops []walk.Stop) {
	t.Helper()
	by := func(at events.Instant) map[events.Tag]bool {
		on := onAir(s, hub)
		for _, x := range stops {
			if x.Until <= at {
				on[events.Tag(x.Subject.ID)] = true
			}
		}
		return atHome(s, g, hub, on)
	}
	first, end := onAir(s, hub), by(math.MaxInt64)
	before := atHome(s, g, hub, first)
	for _, x := range stops {
		tag, _ := x.Subject.Tag()
		c.stops++
		if x.Via == "" {
			if d, _ := s.Device(tag); d.Radio != events.Star {
				c.islands++
				require.Contains(t, x.Why, "no path home yet", "%s: %s", c.at, tag)
			}
			require.False(t, end[tag], "%s: %s is called an island, and has a path", c.at, tag)
			continue
		}
		home := by(x.At)
		require.NotContains(t, x.Why, "no path", "%s: %s", c.at, tag)
		require.True(t, x.Via == events.Tag(hub) || home[x.Via], "%s: %s through %s, who has no path by then", c.at, tag, x.Via)
		require.True(t, joinsBy(s, g, tag, x.Via), "%s: %s through %s, and has no sure link to it", c.at, tag, x.Via)
		for other := range home {
			if joinsBy(s, g, tag, other) {
				require.LessOrEqual(t, mean(g, tag, other), mean(g, tag, x.Via), "%s: %s through %s, not by the widest margin", c.at, tag, x.Via)
			}
		}
		if first[x.Via] && !before[x.Via] {
			c.carried++
		}
	}
}

// On small sites with a stranded router or two every order is tried, as in
// TestOrderOnAgainstEveryOrder. Floors keep apart what is near on foot, and stairs
// take no time, so that the shortest walk often takes somebody's path.
func TestOrderOnFromTheMiddleAgainstEveryOrder(t *testing.T) {
	worst, sum, n, tight := 1.0, 0.0, 0, 0
	for seed := range uint64(400) {
		dice := rand.New(rand.NewPCG(seed, 12))
		tell := tale.New()
		tell.Lead.Say("08:00", events.SettingsChanged{Set: map[events.SettingKey]string{events.StairsSeconds: "0"}})
		tell.Lead.Say("08:00", events.HubListed{Hub: "H1", Floor: "1", Place: events.Some(events.Point{})})
		for i := range 9 {
			floor := dice.Int64N(3)
			d := events.DeviceListed{
				Device: events.Tag(fmt.Sprintf("1-%d", i)), Is: events.Driver, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Floor: events.FloorID(fmt.Sprint(1 + floor)),
				Place: events.Some(events.Point{X: dice.Int64N(40_000) - 10_000, Y: dice.Int64N(10_000), Z: 3500 * floor}),
			}
			tell.Lead.Say("08:00", d)
			if i >= 6 {
				tell.Lead.Say("09:00", paired(d.Device))
			}
		}
		s := tell.Now()
		g := mesh.Survey(s)
		first := onAir(s, "H1")
		got := walk.OrderOn(s, g, "H1")
		best, naive := math.Inf(1), math.Inf(1)
		everyOrder(got, func(order []events.Tag) {
			long := legs(s, "H1", order)
			naive = min(naive, long)
			if long < best && keepsFrom(s, g, first, order) {
				best = long
			}
		})
		if len(atHome(s, g, "H1", first)) == len(first) || math.IsInf(best, 1) {
			continue // nobody is stranded, or no order will do
		}
		if naive < best-1e-6 {
			tight++
		}
		require.GreaterOrEqual(t, legs(s, "H1", got), best-1e-6, "an order that takes somebody's path was given")
		ratio := legs(s, "H1", got) / best
		worst, sum, n = max(worst, ratio), sum+ratio, n+1
	}
	t.Logf("%d sites, on %d the shortest walk of all takes a path: %.1f %% longer than the best on average, %.1f %% at worst", n, tight, 100*(sum/float64(n)-1), 100*(worst-1))
	require.Greater(t, n, 40)
	require.Less(t, sum/float64(n), 1.02)
}

// keepsFrom says whether each of an order has a path when its turn comes.
func keepsFrom(s *projection.Site, g *mesh.Ground, first map[events.Tag]bool, order []events.Tag) bool {
	on := map[events.Tag]bool{}
	for tag := range first {
		on[tag] = true
	}
	for _, tag := range order {
		on[tag] = true
		if !atHome(s, g, "H1", on)[tag] {
			return false
		}
	}
	return true
}

// Every other device of a building is paired, the far ones first.
func BenchmarkPlanFromTheMiddle(b *testing.B) {
	rows := invent.Site(invent.Size{Seed: 1, Devices: 5000, Hubs: 25, Floors: 12})
	var devices []events.Payload
	for i, r := range slices.Backward(rows) {
		if d, ok := r.(events.DeviceListed); ok && i%2 == 0 {
			devices = append(devices, events.DevicePaired{Device: d.Device, Hub: d.Hub})
		}
	}
	s := listed(append(rows, devices...)...)
	g := mesh.Survey(s)
	for b.Loop() {
		walk.Plan(s, g, crew(4), begin)
	}
}
