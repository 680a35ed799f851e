package invent_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/projection/mesh"
	"pairwalk/projection/spectrum"
	"pairwalk/projection/tale"
	"pairwalk/testdata"
)

// job is the works on the morning after the probes, with all files taken in.
type job struct {
	*tale.Story
	t   *testing.T
	now events.Instant
}

// open takes in the committed files as a user would, in the order in which one
// needs the other.
func open(t *testing.T) *job {
	j := &job{Story: tale.NewAt("2026-03-03T08:00:00Z"), t: t, now: tale.T("2026-03-03T08:10:00Z")}
	site := intake.Listing{}
	for _, file := range [][]byte{testdata.WorksFloors, testdata.WorksSchedule, testdata.WorksWalls, testdata.WorksLinks, testdata.WorksSurvey} {
		d := read(t, file, intake.Options{Site: site, Region: "EU", Now: j.now.Time(), Tolerance: 5 * time.Minute}).Diff(site)
		require.Empty(t, d.Problems)
		said := d.Payloads(intake.Accept{})
		for _, p := range said {
			j.say(p)
		}
		site = listed(site, said)
		for _, r := range d.Entries {
			j.Lead.SayAt(j.now, r.Payload, func(e *events.Event) { e.Told = events.NewTold(r.When, "") })
		}
	}
	return j
}

func listed(site intake.Listing, said []events.Payload) intake.Listing {
	if site.Hubs == nil {
		site = intake.Listing{
			Hubs: map[events.HubID]events.HubListed{}, Devices: map[events.Tag]events.DeviceListed{},
			Floors: map[events.FloorID]events.FloorListed{}, Rooms: map[events.RoomID]events.RoomListed{}, Walls: map[string]events.WallListed{},
		}
	}
	for _, p := range said {
		switch p := p.(type) {
		case events.HubListed:
			site.Hubs[p.Hub] = p
		case events.DeviceListed:
			site.Devices[p.Device] = p
		case events.FloorListed:
			site.Floors[p.Floor] = p
		case events.RoomListed:
			site.Rooms[p.Room] = p
		case events.WallListed:
			site.Walls[p.Wall] = p
		}
	}
	return site
}

func (j *job) say(p events.Payload) {
	j.now = j.now.Add(time.Second)
	j.Lead.SayAt(j.now, p)
}

func (j *job) pair(hub events.HubID, tags ...events.Tag) {
	for _, tag := range tags {
		j.say(events.DevicePaired{Device: tag, Hub: hub})
	}
}

func (j *job) net(w mesh.What) *mesh.Net {
	s := j.Now()
	return mesh.Survey(s).Net(s, w)
}

// tags are those of a floor from one number to another.
func tags(floor string, from, to int) []events.Tag {
	var out []events.Tag
	for n := from; n <= to; n++ {
		out = append(out, events.Tag(fmt.Sprintf("%s-%d", floor, n)))
	}
	return out
}

// cellar is what Ada of the demo pairs in the basement: near the hub.
var cellar = []events.Tag{"B1-101", "B1-103", "B1-104", "B1-105", "B1-106", "B1-107", "B1-108", "B1-110", "B1-111"}

// The far room of the boiler house is paired while somebody has the key, and the
// way there is still to come.
func TestTheBoilerHouseIsAnIslandUntilTheWayThereIsPaired(t *testing.T) {
	far := tags("B1", 173, 180)
	j := open(t)
	j.pair("H1", cellar...)
	require.Empty(t, j.net(mesh.What{}).Islands(), "all near the hub")

	j.pair("H1", far...)
	n := j.net(mesh.What{})
	island(t, n, far)
	_, _, ok := n.Joins("B1-148")
	require.False(t, ok, "the fitting in the gate does not hear the hub either")

	j.pair("H1", "B1-148")
	n = j.net(mesh.What{})
	island(t, n, append([]events.Tag{"B1-148"}, far...))
	via, l, ok := n.Joins("B1-134")
	require.True(t, ok && l.Sure, "the one at the mouth of the passage hears the hub")
	require.Equal(t, events.Tag("H1"), via)
	advice, ok := n.BestRelay()
	require.True(t, ok)
	require.Len(t, advice.Gains, 9, "one more relay would do")
	require.InDelta(t, 19_500, advice.Place.X, 1_500, "and it belongs into the passage")

	j.pair("H1", "B1-134")
	n = j.net(mesh.What{})
	require.Empty(t, n.Islands())
	r, _ := n.Reach("B1-180")
	require.Equal(t, mesh.Yes, r.Answer)
	require.Equal(t, []events.Tag{"B1-180", "B1-148", "B1-134", "H1"}, r.Path)
}

func TestOneOfTheTwoOnTheWayIsNotEnough(t *testing.T) {
	for _, one := range []events.Tag{"B1-134", "B1-148"} {
		t.Run(string(one), func(t *testing.T) {
			j := open(t)
			j.pair("H1", append(slices.Clone(cellar), one)...)
			j.pair("H1", tags("B1", 173, 180)...)
			require.Len(t, j.net(mesh.What{}).Islands(), 1)
		})
	}
}

// island holds that exactly these have no path home, for sure.
func island(t *testing.T, n *mesh.Net, want []events.Tag) {
	t.Helper()
	got := n.Islands()
	require.Len(t, got, 1)
	require.True(t, got[0].Sure)
	require.Equal(t, want, got[0].Devices)
	no := 0
	for _, r := range n.Reaches() {
		if r.Answer == mesh.No {
			no++
		}
	}
	require.Equal(t, len(want), no, "all others have a path")
}

// When all is paired, one circuit each leads to the wing and to the boiler house.
func TestOneCircuitStrandsWhatLiesBehindIt(t *testing.T) {
	wing := append(tags("3", 157, 164), tags("3", 173, 180)...)
	for _, tt := range []struct {
		circuit events.CircuitID
		dark    []events.Tag
		strands []events.Tag
	}{
		{"C4-7", tags("3", 149, 156), wing},
		{"C1-5", slices.Concat(tags("B1", 133, 136), tags("B1", 138, 144), tags("B1", 146, 148)), tags("B1", 165, 180)}, // 137 and 145, sensors, have batteries
	} {
		t.Run(string(tt.circuit), func(t *testing.T) {
			j := open(t)
			all := j.net(mesh.What{Planned: true})
			points := all.SinglePoints()
			i := slices.IndexFunc(points, func(p mesh.SinglePoint) bool { return p.Of == events.Circuit(tt.circuit) })
			require.GreaterOrEqual(t, i, 0)
			require.Equal(t, tt.dark, points[i].Dark)
			require.Equal(t, tt.strands, points[i].Strands)
			for _, tag := range points[i].Strands {
				d, _ := j.Now().Device(tag)
				require.NotEqual(t, tt.circuit, d.Circuit, "%s keeps its power", tag)
			}
			c := mesh.Compare(all, j.net(mesh.What{Planned: true, Without: []events.Subject{events.Circuit(tt.circuit)}}))
			require.Equal(t, tt.strands, c.Lost)
			require.Equal(t, tt.dark, c.Dark)
		})
	}
}

// Where there is a plan, the design works, star rooms included; where there is
// none, nobody knows.
func TestAllThatIsOnThePlanReachesItsHubInTheEnd(t *testing.T) {
	for _, r := range open(t).net(mesh.What{Planned: true}).Reaches() {
		want := mesh.Yes
		if r.Device[0] == '2' || r.Device[0] == '4' {
			want = mesh.Unknown
		}
		require.Equal(t, want, r.Answer, "%s: %s", r.Device, r.Why)
	}
}

func TestTheProbesCalibrateButForTheShelving(t *testing.T) {
	fit, ok := mesh.Survey(open(t).Now()).Fit()
	require.True(t, ok)
	require.Equal(t, 12, fit.Samples)
	fitted := map[string]bool{}
	for _, p := range fit.Params {
		fitted[p.Name] = p.Fitted
		if p.Fitted {
			require.Less(t, p.Value, p.Prior, "the works are kinder than the average: %s", p.Name)
			require.Less(t, p.Spread, p.PriorSpread)
		}
	}
	require.Equal(t, map[string]bool{"offset": true, "distance": true, "floors": true, "walls": false}, fitted)
	for _, r := range fit.Residuals {
		if r.Name == "1-122–1-132" {
			require.Less(t, r.DB, -12.0, "steel shelving that is on no plan")
			continue
		}
		require.InDelta(t, 0, r.DB, 8, r.Name)
	}
}

func TestTheSameWallsAgainChangeNothing(t *testing.T) {
	site := listed(intake.Listing{}, read(t, testdata.WorksFloors, intake.Options{}).Diff(intake.Listing{}).Payloads(intake.Accept{}))
	first := read(t, testdata.WorksWalls, intake.Options{Site: site}).Diff(site)
	require.Len(t, first.Adds, 12)
	site = listed(site, first.Payloads(intake.Accept{}))
	require.True(t, read(t, testdata.WorksWalls, intake.Options{Site: site}).Diff(site).Empty())
}

// The usual channel for everybody is what happens where nobody plans. Another's
// Wi-Fi covers it but in the cellar, and the hubs hear each other.
func TestAPlanOfChannelsBeatsTheUsualOneForAll(t *testing.T) {
	const usual = 25
	j := open(t)
	for _, h := range []events.HubID{"H1", "H2", "H3", "H4"} {
		j.say(events.HubChannel{Hub: h, Radio: events.Mesh, Channel: usual})
	}
	p, err := spectrum.For(j.Now(), spectrum.Options{})
	require.NoError(t, err)
	require.True(t, p.Exact)
	require.Less(t, 10*p.Cost, p.NowCost)
	on := map[int]events.HubID{}
	for _, h := range p.Hubs {
		require.Empty(t, on[h.Plan], "%s shares with it", h.Hub)
		on[h.Plan] = h.Hub
		now, plan := wifi(h, usual), wifi(h, h.Plan)
		if h.Hub == "H1" {
			require.Equal(t, usual, h.Plan, "the cellar is where the usual channel is quiet")
			require.Less(t, now, wifi(h, 20), "and the one that is free above is not")
			continue
		}
		require.NotEqual(t, usual, h.Plan)
		require.Less(t, 4*plan, now, "%s escapes from Wi-Fi", h.Hub)
	}
}

func wifi(h spectrum.Assignment, channel int) int64 {
	for _, w := range h.Wifi {
		if w.Channel == channel {
			return w.Disturbed
		}
	}
	return -1
}

func TestTheSurveyHasPlacesOnFourFloors(t *testing.T) {
	on := map[events.FloorID]int{}
	for _, x := range open(t).Now().Surveys {
		on[x.Floor]++
	}
	require.Equal(t, map[events.FloorID]int{"B1": 3, "0": 3, "1": 3, "3": 4}, on)
}
