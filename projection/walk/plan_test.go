package walk_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
	"pairwalk/projection/walk"
	"pairwalk/testdata/invent"
)

func eachPlan(t *testing.T, check func(t *testing.T, s *projection.Site, g *mesh.Ground, o walk.Outline)) {
	t.Helper()
	all := sites()
	for _, name := range slices.Sorted(func(yield func(string) bool) {
		for k := range all {
			if !yield(k) {
				return
			}
		}
	}) {
		s := all[name]
		g := mesh.Survey(s)
		for n := 1; n <= 4; n++ {
			o := walk.Plan(s, g, crew(n), begin)
			require.Len(t, o.People, n)
			check(t, s, g, o)
			if t.Failed() {
				t.Fatalf("%s, %d people", name, n)
			}
		}
	}
}

// pairings lists who is paired when, in the order of time.
func pairings(o walk.Outline) []walk.Stop {
	var out []walk.Stop
	for _, p := range o.People {
		for _, x := range p.Stops {
			if x.Act == walk.Pair {
				out = append(out, x)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b walk.Stop) int { return int(a.Until - b.Until) })
	return out
}

func TestPlanPairsEveryDeviceOnce(t *testing.T) {
	eachPlan(t, func(t *testing.T, s *projection.Site, _ *mesh.Ground, o walk.Outline) {
		seen := map[string]bool{}
		for _, x := range pairings(o) {
			require.False(t, seen[x.Subject.ID], "%s twice", x.Subject.ID)
			seen[x.Subject.ID] = true
		}
		for i := range s.Devices {
			d := &s.Devices[i]
			require.Equal(t, d.Is.Pairs() && !d.Emergency, seen[string(d.Device)], "%s", d.Device)
		}
	})
}

func TestNobodyIsInTwoPlacesAtOnce(t *testing.T) {
	eachPlan(t, func(t *testing.T, s *projection.Site, g *mesh.Ground, o walk.Outline) {
		for _, p := range o.People {
			at, here := begin, events.Tag("")
			for _, x := range p.Stops {
				require.LessOrEqual(t, at, x.At)
				require.LessOrEqual(t, x.At, x.Until)
				if tag, ok := x.Subject.Tag(); ok {
					if m, known := inPlan(s, here, tag); known {
						// 1 m/s is the setting's default
						require.GreaterOrEqual(t, x.At.Sub(at), time.Duration(m*1000)*time.Millisecond-2*time.Millisecond, "%s walks from %s to %s", p.Person.Name, here, tag)
					}
					here = tag
				}
				if x.Act == walk.Ready {
					here = "" // they walked to the hub
				}
				at = x.Until
			}
			require.Equal(t, at, p.Ends)
			if n := len(p.Stops); n > 0 {
				require.NotEqual(t, walk.Wait, p.Stops[n-1].Act, "nobody waits for nothing")
			}
			require.LessOrEqual(t, p.Ends, o.Finish)
		}
	})
}

// inPlan is the distance of two devices as seen from above, in m.
func inPlan(s *projection.Site, a, b events.Tag) (float64, bool) {
	x, okX := s.Device(a)
	y, okY := s.Device(b)
	if !okX || !okY || !x.Place.Known || !y.Place.Known {
		return 0, false
	}
	return math.Hypot(float64(x.Place.Value.X-y.Place.Value.X), float64(x.Place.Value.Y-y.Place.Value.Y)) / 1000, true
}

// Whoever can have a path home in the end has one when they are paired: through
// the hub, or a router that was paired by then. The check shares nothing with the
// plan but the links.
func TestPlanKeepsEveryPath(t *testing.T) {
	mishaps := 0
	eachPlan(t, func(t *testing.T, s *projection.Site, g *mesh.Ground, o walk.Outline) {
		done := map[events.Tag]events.Instant{}
		home := map[events.Tag]bool{}
		planned := g.Net(s, mesh.What{Planned: true})
		for _, x := range pairings(o) {
			tag, _ := x.Subject.Tag()
			d, _ := s.Device(tag)
			done[tag] = x.Until
			if d.Radio == events.Star {
				continue
			}
			var through []events.Tag
			for l := range g.Links(tag) {
				other := l.B
				if other == tag {
					other = l.A
				}
				r, isDevice := s.Device(other)
				router := isDevice && r.IsRouter() && r.Hub == d.Hub && done[other] > 0 && done[other] <= x.At && home[other]
				if l.Sure && (router || events.HubID(other) == d.Hub) {
					through = append(through, other)
				}
			}
			home[tag] = len(through) > 0
			r, _ := planned.Reach(tag)
			if r.Answer == mesh.Yes {
				require.NotEmpty(t, through, "%s has no path when it is paired", tag)
				require.Contains(t, through, x.Via)
			} else {
				mishaps++
				require.Empty(t, x.Via, "a path was made up for %s", tag)
			}
		}
	})
	require.Positive(t, mishaps, "some devices of these sites can have no path")
}

// R2, R7, R8: the hub first; the push when the last mesh device has settled and
// the records are home.
func TestPlanKeepsTheRules(t *testing.T) {
	eachPlan(t, func(t *testing.T, s *projection.Site, _ *mesh.Ground, o walk.Outline) {
		type hub struct {
			ready, lastMesh, last, home, push, check events.Instant
		}
		hubs := map[events.HubID]*hub{}
		for _, h := range o.Hubs {
			hubs[h.Hub] = &hub{}
		}
		for _, p := range o.People {
			for _, x := range p.Stops {
				h := hubs[x.Hub]
				switch x.Act {
				case walk.Ready:
					h.ready = x.Until
				case walk.Pair:
					tag, _ := x.Subject.Tag()
					if d, _ := s.Device(tag); d.Radio != events.Star {
						h.lastMesh = max(h.lastMesh, x.Until)
					}
					h.last = max(h.last, x.Until)
				case walk.Export:
					h.home = x.Until
				case walk.Push:
					require.Zero(t, h.push, "pushed once")
					h.push = x.At
					require.Equal(t, []string{walk.CautionPush}, x.Cautions)
				case walk.Check:
					h.check = x.At
				}
			}
		}
		for _, p := range o.People {
			for _, x := range p.Stops {
				if x.Act == walk.Pair {
					require.GreaterOrEqual(t, x.At, hubs[x.Hub].ready, "%s before %s is ready", x.Subject.ID, x.Hub)
				}
			}
		}
		for id, h := range hubs {
			require.GreaterOrEqual(t, h.push, h.last, "%s", id)
			if h.lastMesh > 0 {
				require.GreaterOrEqual(t, h.push, h.lastMesh.Add(10*time.Minute), "%s", id)
			}
			require.GreaterOrEqual(t, h.push, h.home, "%s", id)
			require.Positive(t, h.home, "%s", id)
			require.GreaterOrEqual(t, h.check, h.push.Add(5*time.Minute), "%s", id)
		}
	})
}

// One more pair of hands never makes the job longer, and two make it shorter.
func TestMoreHandsNeverCostTime(t *testing.T) {
	shorter, all := 0, 0
	last := map[*projection.Site]events.Instant{}
	eachPlan(t, func(t *testing.T, s *projection.Site, _ *mesh.Ground, o walk.Outline) {
		if before, ok := last[s]; ok {
			require.LessOrEqual(t, o.Finish, before)
			if all++; o.Finish < before {
				shorter++
			}
		}
		last[s] = o.Finish
	})
	t.Logf("one more person made the job shorter in %d of %d steps", shorter, all)
	require.Greater(t, shorter, all/3)
}

// legs is the walk of one person over some devices as seen from above, in m.
func legs(s *projection.Site, hub events.HubID, order []events.Tag) float64 {
	h, _ := s.Hub(hub)
	at, sum := h.Place.Value, 0.0
	for _, tag := range order {
		d, _ := s.Device(tag)
		sum += math.Hypot(float64(d.Place.Value.X-at.X), float64(d.Place.Value.Y-at.Y)) / 1000
		at = d.Place.Value
	}
	return sum
}

func TestOrderOnIsShorterThanBySchedule(t *testing.T) {
	short, naive := 0.0, 0.0
	for _, s := range sites() {
		g := mesh.Survey(s)
		for i := range s.Hubs {
			h := &s.Hubs[i]
			if !h.Place.Known {
				continue
			}
			order := walk.OrderOn(s, g, h.Hub)
			require.ElementsMatch(t, slices.DeleteFunc(walk.Order(s, h.Hub), func(tag events.Tag) bool {
				d, _ := s.Device(tag)
				return d.Emergency
			}), order)
			short += legs(s, h.Hub, order)
			naive += legs(s, h.Hub, slices.DeleteFunc(walk.Order(s, h.Hub), func(tag events.Tag) bool { return !slices.Contains(order, tag) }))
		}
	}
	t.Logf("%.0f m on foot, %.0f m by schedule: %.0f %%", short, naive, 100*short/naive)
	require.Less(t, short, naive)
}

// On small sites every order is tried: none that keeps every path is shorter by
// much.
func TestOrderOnAgainstEveryOrder(t *testing.T) {
	worst, sum, n := 1.0, 0.0, 0
	for seed := range uint64(60) {
		dice := rand.New(rand.NewPCG(seed, 4))
		rows := []events.Payload{events.HubListed{Hub: "H1", Place: events.Some(events.Point{})}}
		for i := range 7 {
			rows = append(rows, events.DeviceListed{
				Device: events.Tag(fmt.Sprintf("1-%d", i)), Is: events.Driver, Hub: "H1", Radio: events.Mesh, Power: events.Mains,
				Place: events.Some(events.Point{X: dice.Int64N(50_000), Y: dice.Int64N(20_000)}),
			})
		}
		s := listed(rows...)
		g := mesh.Survey(s)
		net := g.Net(s, mesh.What{Planned: true})
		if slices.ContainsFunc(net.Reaches(), func(r mesh.Reach) bool { return r.Answer != mesh.Yes }) {
			continue
		}
		got := legs(s, "H1", walk.OrderOn(s, g, "H1"))
		best := math.Inf(1)
		everyOrder(walk.Order(s, "H1"), func(order []events.Tag) {
			if keeps(g, order) {
				best = min(best, legs(s, "H1", order))
			}
		})
		require.GreaterOrEqual(t, got, best-1e-6, "an order that takes somebody's path was given")
		worst, sum, n = max(worst, got/best), sum+got/best, n+1
	}
	require.Greater(t, n, 10)
	t.Logf("%d sites of 7 devices: %.1f %% longer than the best on average, %.1f %% at worst", n, 100*(sum/float64(n)-1), 100*(worst-1))
	require.Less(t, sum/float64(n), 1.02)
}

func keeps(g *mesh.Ground, order []events.Tag) bool {
	for i, tag := range order {
		if hub, ok := g.Link(tag, "H1"); ok && hub.Sure {
			continue
		}
		if !slices.ContainsFunc(order[:i], func(x events.Tag) bool { l, ok := g.Link(tag, x); return ok && l.Sure }) {
			return false
		}
	}
	return true
}

// everyOrder calls with every permutation (Heap's way).
func everyOrder(tags []events.Tag, call func([]events.Tag)) {
	a := slices.Clone(tags)
	var permute func(k int)
	permute = func(k int) {
		if k == 1 {
			call(a)
			return
		}
		for i := range k {
			permute(k - 1)
			if k%2 == 0 {
				a[i], a[k-1] = a[k-1], a[i]
			} else {
				a[0], a[k-1] = a[k-1], a[0]
			}
		}
	}
	permute(len(a))
}

// With one hub two people share it, and both have a good part of it.
func TestTwoShareOneHub(t *testing.T) {
	s := listed(invent.Site(invent.Size{Seed: 4, Devices: 90, Hubs: 1, Floors: 6})...)
	o := walk.Plan(s, mesh.Survey(s), crew(2), begin)
	for _, p := range o.People {
		n := 0
		for _, x := range p.Stops {
			if x.Act == walk.Pair {
				n++
			}
		}
		require.Greater(t, n, 25, "%s", p.Person.Name)
	}
}

// Settings say how long stairs and another room take (common practice, no source).
func TestStairsAndRoomsTakeTime(t *testing.T) {
	d := func(tag events.Tag, floor events.FloorID, room events.RoomID) events.DeviceListed {
		return events.DeviceListed{Device: tag, Is: events.Driver, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Floor: floor, Room: room}
	}
	s := listed(
		events.SettingsChanged{Set: map[events.SettingKey]string{events.StairsSeconds: "100", events.RoomSeconds: "7"}},
		events.HubListed{Hub: "H1", Floor: "1", Room: "a"}, d("1", "1", "a"), d("2", "1", "b"), d("3", "3", "c"),
	)
	stops := walk.Plan(s, nil, crew(1), begin).People[0].Stops
	var gaps []time.Duration
	for i := 1; i < 4; i++ {
		gaps = append(gaps, stops[i].At.Sub(stops[i-1].Until))
	}
	require.Equal(t, []time.Duration{0, 7 * time.Second, 207 * time.Second}, gaps, "the same room, the next one, two levels up")
}
