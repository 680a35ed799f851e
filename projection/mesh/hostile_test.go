package mesh_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// asked asks a net everything there is to ask, so that nothing may panic, and
// sees that what comes back holds together.
func asked(t *testing.T, s *projection.Site, w ...mesh.What) *mesh.Net {
	t.Helper()
	g := mesh.Survey(s)
	n := g.Net(s, append(w, mesh.What{})[0])
	for _, r := range n.Reaches() {
		require.NotEmpty(t, r.Why, r.Device)
		require.False(t, strings.Contains(r.Why, "NaN") || strings.Contains(r.Why, "Inf"), r.Why)
		require.LessOrEqual(t, r.Margin.Value.Lo, r.Margin.Value.Hi)
		require.LessOrEqual(t, r.Chance.Value.Lo, r.Chance.Value.Hi)
		require.GreaterOrEqual(t, r.Chance.Value.Lo, int64(0))
		require.LessOrEqual(t, r.Chance.Value.Hi, int64(1_000_000))
		require.Equal(t, max(len(r.Path)-1, 0), r.Hops)
		if r.Answer == mesh.Yes {
			require.NotEqual(t, mesh.NoBasis, r.Basis)
		}
	}
	for i := range s.Devices {
		n.Joins(s.Devices[i].Device)
		for l := range g.Links(s.Devices[i].Device) {
			require.True(t, l.ETX >= 1_000_000 && l.Margin.Lo <= l.Mean && l.Mean <= l.Margin.Hi, "%+v", l)
			require.False(t, l.Metres.Known && math.IsNaN(l.Metres.Value))
		}
	}
	n.Islands()
	n.SinglePoints()
	n.BestRelay()
	mesh.Compare(n, n)
	require.NotEmpty(t, g.Model())
	return n
}

func TestHostileSites(t *testing.T) {
	for _, tt := range []struct {
		name string
		told func(j *job)
		what mesh.What
		want map[events.Tag]string
	}{
		{"nothing at all", func(*job) {}, mesh.What{}, map[events.Tag]string{}},
		{"all in the hub's very place", func(j *job) {
			j.hub("H1", m(1, 1, 1))
			j.paired("1-1", m(1, 1, 1))
			j.paired("1-2", m(1, 1, 1), asLeaf)
			j.paired("1-3", m(1, 1, 1), asStar)
		}, mesh.What{}, map[events.Tag]string{"1-1": "yes, predicted", "1-2": "yes, predicted", "1-3": "yes, predicted"}},
		{"as far apart as places may be", func(j *job) {
			j.hub("H1", m(-1_000_000, -1_000_000, -1_000_000))
			j.paired("1-1", m(1_000_000, 1_000_000, 1_000_000))
			j.paired("1-2", m(-1_000_000, -1_000_000, -1_000_000))
			j.paired("1-3", m(1_000_000, 1_000_000, 1_000_000), asStar)
			j.say("08:20", events.WallListed{Wall: "w", Floor: "1", Material: "brick", Thickness: 100, Line: []events.XY{
				{X: -1_000_000_000, Y: 1_000_000_000}, {X: 1_000_000_000, Y: -1_000_000_000}}})
		}, mesh.What{}, map[events.Tag]string{"1-1": "no, predicted", "1-2": "yes, predicted", "1-3": "no, predicted"}},
		{"walls of no length, on each other, and everywhere", func(j *job) {
			j.row(5, "1-1", "1-2")
			for i := range 40 {
				x := int64(i % 3)
				j.say("08:20", events.WallListed{Wall: fmt.Sprint("w", i), Floor: "1", Material: "concrete", Thickness: 300, Line: []events.XY{
					{X: 2500, Y: x}, {X: 2500, Y: x}, {X: 2500, Y: -x}, {X: 2500, Y: x}, {X: 2500, Y: x}}})
			}
		}, mesh.What{}, map[events.Tag]string{"1-1": "yes, predicted", "1-2": "yes, predicted"}},
		{"a ring of measured links that never comes home", func(j *job) {
			j.hub("H1", nowhere)
			for _, tag := range tags("1-1", "1-2", "1-3") {
				j.paired(tag, nowhere)
			}
			for _, pair := range [][2]events.Tag{{"1-1", "1-2"}, {"1-2", "1-3"}, {"1-3", "1-1"}} {
				j.say("09:30", events.LinkMeasured{A: pair[0], B: pair[1], RSSI: events.Some(-50)})
			}
		}, mesh.What{}, map[events.Tag]string{"1-1": "unknown, none", "1-2": "unknown, none", "1-3": "unknown, none"}},
		{"a ring of measured links that does", func(j *job) {
			j.hub("H1", nowhere)
			for _, tag := range tags("1-1", "1-2", "1-3") {
				j.paired(tag, nowhere)
			}
			for _, pair := range [][2]events.Tag{{"1-1", "1-2"}, {"1-2", "1-3"}, {"1-3", "1-1"}, {"H1", "1-1"}} {
				j.say("09:30", events.LinkMeasured{A: pair[0], B: pair[1], RSSI: events.Some(-50)})
			}
		}, mesh.What{}, map[events.Tag]string{"1-1": "yes, measured", "1-2": "yes, measured", "1-3": "yes, measured"}},
		{"links to what is struck, unknown or another hub's", func(j *job) {
			j.row(5, "1-1")
			j.hub("H2", m(0, 0, 0))
			j.paired("1-2", m(9, 0, 0))
			j.paired("2-1", m(9, 0, 0), onHub("H2"))
			for _, b := range tags("1-2", "9-9", "2-1", "H2") {
				j.say("09:30", events.LinkMeasured{A: "1-1", B: b, RSSI: events.Some(-50)})
			}
			j.say("09:40", events.DeviceStruck{Device: "1-2", Why: "not built"})
		}, mesh.What{}, map[events.Tag]string{"1-1": "yes, predicted", "2-1": "yes, predicted"}},
		{"levels that no radio hears", func(j *job) {
			j.hub("H1", nowhere)
			j.paired("1-1", nowhere)
			j.paired("1-2", nowhere)
			j.say("09:30", events.LinkMeasured{A: "1-1", B: "H1", RSSI: events.Some(-174)}, events.LinkMeasured{A: "1-2", B: "H1", PDR: events.Some(int64(0))})
		}, mesh.What{}, map[events.Tag]string{"1-1": "unknown, none", "1-2": "unknown, none"}},
		{"renamed, with all that was said of it", func(j *job) {
			j.hub("H1", nowhere)
			j.paired("1-1", nowhere, onCircuit("C1"))
			j.paired("1-2", nowhere)
			j.say("09:30", events.LinkMeasured{A: "1-1", B: "H1", RSSI: events.Some(-60)}, events.LinkMeasured{A: "1-2", B: "1-1", RSSI: events.Some(-60)})
			j.say("09:40", events.DeviceRenamed{From: "1-1", To: "7-7"})
		}, mesh.What{}, map[events.Tag]string{"7-7": "yes, measured", "1-2": "yes, measured"}},
		{"its old name taken away", func(j *job) {
			j.row(15, "1-1", "1-2")
			j.say("09:40", events.DeviceRenamed{From: "1-1", To: "7-7"})
		}, mesh.What{Without: []events.Subject{events.Device("7-7"), events.Device("1-1")}}, map[events.Tag]string{"7-7": "no, none", "1-2": "unknown, predicted"}},
		{"a device named like its hub", func(j *job) {
			j.hub("H1", m(0, 0, 0))
			j.paired("H1", m(5, 0, 0))
			j.paired("1-1", m(15, 0, 0))
			j.say("09:30", events.LinkMeasured{A: "H1", B: "1-1", RSSI: events.Some(-60)})
		}, mesh.What{Without: []events.Subject{events.Device("H1")}}, map[events.Tag]string{"H1": "no, none", "1-1": "yes, predicted"}},
		{"a hub only heard of, and devices on none", func(j *job) {
			j.list("1-1", m(0, 0, 0), onHub("H7"))
			j.list("1-2", m(1, 0, 0), onHub("H8"))
			j.say("09:00", events.DevicePaired{Device: "1-1", Hub: "H7"})
		}, mesh.What{Planned: true, Relays: []mesh.Relay{{}}}, map[events.Tag]string{"1-1": "unknown, none", "1-2": "unknown, none"}},
		{"found in the field, with nothing known of it", func(j *job) {
			j.row(15, "1-1")
			j.say("09:00", events.DevicePaired{Device: "x", Hub: "H1"})
			j.say("09:10", events.DevicePlaced{Device: "x", Place: m(30, 0, 0).Value})
		}, mesh.What{}, map[events.Tag]string{"1-1": "yes, predicted", "x": "yes, predicted"}},
		{"a device of a kind that never pairs, and did", func(j *job) {
			j.hub("H1", m(0, 0, 0))
			j.paired("1-1", m(15, 0, 0), func(d *events.DeviceListed) { d.Is = events.WiredRemote })
			j.paired("1-2", m(30, 0, 0))
		}, mesh.What{}, map[events.Tag]string{"1-1": "yes, predicted", "1-2": "unknown, predicted"}},
		{"radios too weak for anything, and a fade margin no link has", func(j *job) {
			j.set(events.MeshPower, "-4000")
			j.set(events.AntennaGain, "-3000")
			j.set(events.FadeMargin, "10000")
			j.row(1, "1-1", "1-2")
		}, mesh.What{}, map[events.Tag]string{"1-1": "no, predicted", "1-2": "no, predicted"}},
		{"radios that cross the country", func(j *job) {
			j.set(events.MeshPower, "3000")
			j.set(events.AntennaGain, "1500")
			j.set(events.RadioModel, "p525")
			j.set(events.FadeMargin, "0")
			j.row(9_000, "1-1", "1-2")
		}, mesh.What{}, map[events.Tag]string{"1-1": "yes, predicted", "1-2": "yes, predicted"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			j := newJob(t)
			tt.told(j)
			require.Equal(t, tt.want, answers(asked(t, j.Now(), tt.what)))
		})
	}
}

func TestASettingOfALaterVersion(t *testing.T) {
	j := newJob(t)
	j.row(15, "1-1")
	s := j.Now()
	walls := append(s.Walls, events.WallListed{Wall: "w9", Floor: "1", Material: "aerogel", Thickness: 10, Line: []events.XY{{X: 1}, {X: 2}}})
	s.Walls = walls
	g := mesh.Survey(s)
	require.True(t, slices.ContainsFunc(g.Notes(), func(n string) bool {
		return strings.HasPrefix(n, "wall w9 counts for nothing: ") && strings.Contains(n, "aerogel")
	}), "%q", g.Notes())
	require.Equal(t, map[events.Tag]string{"1-1": "yes, predicted"}, answers(g.Net(s, mesh.What{})))
}

func TestEverybodyInOneSpot(t *testing.T) {
	for _, tt := range []struct {
		devices int
		thinned bool
	}{{600, false}, {2_200, true}} {
		t.Run(fmt.Sprint(tt.devices), func(t *testing.T) {
			j := newJob(t)
			j.hub("H1", m(0, 0, 0))
			for i := range tt.devices {
				j.say("08:10", events.DeviceListed{Device: events.Tag(fmt.Sprint("1-", i)), Is: events.Dimmer, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Place: m(30, 0, 0)})
			}
			j.say("08:10", events.DeviceListed{Device: "2-1", Is: events.Dimmer, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Place: m(15, 0, 0)})
			s := j.Now()
			g := mesh.Survey(s)
			require.Equal(t, tt.thinned, slices.ContainsFunc(g.Notes(), func(n string) bool { return strings.Contains(n, "so many devices close together") }))
			n := g.Net(s, mesh.What{Planned: true})
			for _, r := range n.Reaches() {
				require.Equal(t, mesh.Yes, r.Answer)
				require.LessOrEqual(t, r.Hops, 3)
			}
			require.Len(t, n.SinglePoints(), 1)
			require.Len(t, n.SinglePoints()[0].Strands, tt.devices)
		})
	}
}

func TestRandomSitesHoldTogether(t *testing.T) {
	for seed := range uint64(150) {
		s := randomJob(t, seed).Now()
		r := rand.New(rand.NewPCG(seed, 9))
		var what mesh.What
		what.Planned = r.IntN(2) == 0
		for range r.IntN(3) {
			what.Without = append(what.Without, events.Device(s.Devices[r.IntN(len(s.Devices))].Device))
		}
		for range r.IntN(3) {
			what.Relays = append(what.Relays, mesh.Relay{Place: events.Point{X: int64(r.IntN(99_000)), Y: int64(r.IntN(30_000))}})
		}
		asked(t, s)
		asked(t, s, what)
	}
}

// However entries came in, and however often one asks, the answers are the same.
func TestTheSameEventsGiveTheSameAnswers(t *testing.T) {
	for seed := range uint64(40) {
		j := randomJob(t, seed)
		all := func(s *projection.Site) []any {
			g := mesh.Survey(s)
			n := g.Net(s, mesh.What{Planned: seed%2 == 0, Relays: []mesh.Relay{{Place: m(9, 3, 0).Value}}})
			a, ok := n.BestRelay()
			var links []mesh.Link
			for i := range s.Devices {
				for l := range g.Links(s.Devices[i].Device) {
					l.Measured = nil
					links = append(links, l)
				}
			}
			reaches := slices.Clone(n.Reaches())
			for i := range reaches {
				if reaches[i].Weakest != nil {
					l := *reaches[i].Weakest
					l.Measured = nil
					reaches[i].Weakest = &l
				}
			}
			return []any{reaches, n.Islands(), n.SinglePoints(), a, ok, links, g.Notes(), g.Model(), n.Notes()}
		}
		s := j.Now()
		want := all(s)
		require.Equal(t, want, all(s), "asked twice")
		evs := j.Events()
		r := rand.New(rand.NewPCG(seed, 11))
		r.Shuffle(len(evs), func(a, b int) { evs[a], evs[b] = evs[b], evs[a] })
		h := projection.History{Site: j.Site}
		h.Add(evs...)
		got := all(h.At(projection.Moment{}))
		require.True(t, reflect.DeepEqual(want, got), "seed %d: shuffled\n%v\n%v", seed, want, got)
	}
}

// A ground that is older than the site knows nothing of what came since, and says
// so.
func TestAnOlderGround(t *testing.T) {
	j := newJob(t)
	j.row(15, "1-1")
	j.list("1-4", m(5, 0, 0), onHub("H7"))
	g := mesh.Survey(j.Now())
	j.hub("H2", m(0, 0, 0))
	j.paired("1-0", m(5, 0, 0)) // before the others in the site's order
	j.paired("2-1", m(5, 0, 0), onHub("H2"))
	j.say("09:30", events.DevicePaired{Device: "1-4", Hub: "H1"})
	j.say("09:40", events.DeviceUnpaired{Device: "1-0", Why: "reset"}, events.DevicePaired{Device: "1-0", Hub: "H1"})
	s := j.Now()
	n := g.Net(s, mesh.What{Without: []events.Subject{events.Device("9-9")}, Relays: []mesh.Relay{{Hub: "H2"}}})
	require.Equal(t, "yes, predicted", answers(n)["1-1"])
	require.Equal(t, "it was not on H1 when the ground was surveyed", reach(t, n, "1-0").Why)
	require.Equal(t, "it was not on H1 when the ground was surveyed", reach(t, n, "1-4").Why)
	require.Equal(t, "hub H2 was not known when the ground was surveyed", reach(t, n, "2-1").Why)
	for _, tag := range tags("1-0", "1-4", "2-1") {
		require.Equal(t, mesh.Unknown, reach(t, n, tag).Answer)
		_, _, ok := n.Joins(tag)
		require.False(t, ok)
	}
	require.Empty(t, n.SinglePoints())
	require.Empty(t, n.Islands())
	_, ok := n.BestRelay()
	require.False(t, ok)
}
