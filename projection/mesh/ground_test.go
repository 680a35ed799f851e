package mesh_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
	"pairwalk/projection/radio"
	"pairwalk/projection/tale"
)

func TestEveryModelThatMayBeSetIsKnown(t *testing.T) {
	var known []string
	for _, m := range radio.Models() {
		known = append(known, m.ID)
	}
	require.ElementsMatch(t, events.RadioModels, known)
}

func TestTheModelIsTold(t *testing.T) {
	j := newJob(t)
	j.row(15, "1-1")
	require.Equal(t, "mesh: ITU-R P.1238-10, office, at 2440 MHz, not calibrated", mesh.Survey(j.Now()).Model())

	const guessed = "no floors are listed: a slab is taken for every 3.5 m of height"
	require.NotContains(t, mesh.Survey(j.Now()).Notes(), guessed)
	require.NotEmpty(t, mesh.Survey(j.Now()).Notes(), "what the model is not good for")
	j.list("1-3", m(0, 0, 4))
	require.Contains(t, mesh.Survey(j.Now()).Notes(), guessed)

	j.set(events.RadioModel, "p1238-13-corridor-los")
	j.set(events.Region, "US")
	j.paired("1-2", m(1, 0, 0), asStar)
	model := mesh.Survey(j.Now()).Model()
	require.Contains(t, model, "mesh: ITU-R P.1238-13, corridor")
	require.Contains(t, model, "star: ITU-R P.1238-13, corridor")
	require.Contains(t, model, "at 915 MHz")
}

// Each setting moves the margin by what it says; the signs are those of a link
// budget.
func TestSettingsMoveTheMargin(t *testing.T) {
	margin := func(star bool, set ...string) int64 {
		j := newJob(t)
		j.row(15, "1-1")
		j.paired("1-2", m(15, 0, 0), asStar)
		for i := 0; i < len(set); i += 2 {
			j.set(events.SettingKey(set[i]), set[i+1])
		}
		tag := events.Tag("1-1")
		if star {
			tag = "1-2"
		}
		l, ok := mesh.Survey(j.Now()).Link(tag, "H1")
		require.True(t, ok)
		return l.Mean
	}
	for _, tt := range []struct {
		name       string
		set        []string
		mesh, star int64 // centi-dB more
	}{
		{"mesh power", []string{"mesh_power_cdbm", "400"}, 400, 0},
		{"star power", []string{"star_power_cdbm", "400"}, 0, 400},
		{"antenna gain, at both ends", []string{"antenna_gain_cdb", "-200"}, 200, 200},
		{"noise figure; the star radio's need is given whole", []string{"noise_figure_cdb", "1200"}, -200, 0},
		{"implementation loss", []string{"implementation_loss_cdb", "500"}, 100, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			require.Equal(t, tt.mesh, margin(false, tt.set...)-margin(false))
			require.Equal(t, tt.star, margin(true, tt.set...)-margin(true))
		})
	}
	require.Less(t, margin(false, "radio_model", "p1238-10-office"), margin(false, "radio_model", "p525"))
}

func TestSlabsBetween(t *testing.T) {
	floors := func(j *job, list ...any) {
		for i := 0; i < len(list); i += 2 {
			j.say("08:02", events.FloorListed{Floor: events.FloorID(list[i].(string)), Level: i / 2, Elevation: events.Some(int64(list[i+1].(int)))})
		}
	}
	for _, tt := range []struct {
		name string
		told func(j *job)
		want int
	}{
		{"by height where no floor is known", func(j *job) {
			j.list("1-1", m(0, 0, 2.7))
			j.list("1-2", m(0, 0, 10.6))
		}, 3},
		{"down too", func(j *job) {
			j.list("1-1", m(0, 0, 0.1))
			j.list("1-2", m(0, 0, -0.1))
		}, 1},
		{"by height among the floors", func(j *job) {
			floors(j, "G", 0, "1", 5000, "2", 8000)
			j.list("1-1", m(0, 0, 4.9))
			j.list("1-2", m(0, 0, 8))
		}, 2},
		{"under the lowest floor counts as on it", func(j *job) {
			floors(j, "G", 0, "1", 5000)
			j.list("1-1", m(0, 0, -3))
			j.list("1-2", m(0, 0, 1))
		}, 0},
		{"by floor, against the height", func(j *job) {
			floors(j, "G", 0, "1", 5000, "2", 8000)
			j.list("1-1", m(0, 0, 8.1), onFloor("G"))
			j.list("1-2", m(0, 0, 8.1), onFloor("1"))
		}, 1},
		{"by the room's floor", func(j *job) {
			floors(j, "G", 0, "1", 5000, "2", 8000)
			j.say("08:03", events.RoomListed{Room: "2.01", Floor: "2"})
			j.list("1-1", m(0, 0, 0), inRoom("2.01"))
			j.list("1-2", m(0, 0, 0), onFloor("G"))
		}, 2},
		{"two wings of one height are one level", func(j *job) {
			floors(j, "G", 0, "1 east", 4000, "1 west", 4000, "2", 8000)
			j.list("1-1", m(0, 0, 0), onFloor("G"))
			j.list("1-2", m(0, 0, 0), onFloor("2"))
		}, 2},
		{"floors that are only named, by number", func(j *job) {
			j.list("1-1", m(0, 0, 0), onFloor("B1"))
			j.list("1-2", m(0, 0, 0), onFloor("2"))
			j.list("1-3", m(0, 0, 0), onFloor("1"))
		}, 2},
		{"a floor named in no such way leaves the height", func(j *job) {
			floors(j, "0", 0, "1", 3500)
			j.list("1-1", m(0, 0, 3.6), onFloor("attic"))
			j.list("1-2", m(0, 0, 1), onFloor("0"))
		}, 1},
	} {
		t.Run(tt.name, func(t *testing.T) {
			j := newJob(t)
			j.hub("H1", m(0, 0, 0))
			tt.told(j)
			l, ok := mesh.Survey(j.Now()).Link("1-1", "1-2")
			require.True(t, ok)
			require.Equal(t, tt.want, l.Floors)
		})
	}
}

func TestWallsCountOnTheirFloor(t *testing.T) {
	j := newJob(t)
	j.say("08:02", events.FloorListed{Floor: "1", Level: 1}, events.FloorListed{Floor: "2", Level: 2})
	j.say("08:03",
		events.WallListed{Wall: "w1", Floor: "1", Material: "concrete", Thickness: 200, Line: []events.XY{{X: 5000, Y: -9000}, {X: 5000, Y: 9000}}},
		events.WallListed{Wall: "w2", Floor: "1", Material: "plasterboard", Thickness: 13, Line: []events.XY{{X: 6000, Y: -9000}, {X: 6000, Y: 9000}}},
		events.WallListed{Wall: "w3", Floor: "1", Material: "concrete", Thickness: 200, Line: []events.XY{{X: 7000, Y: 1}, {X: 7000, Y: 1}}},
	)
	j.hub("H1", nowhere)
	j.list("1-1", m(0, 0, 3.6), onFloor("1"))
	j.list("1-2", m(10, 0, 3.6), onFloor("1"))
	j.list("1-3", m(4, 0, 3.6)) // floor 1 by its height
	j.list("2-1", m(10, 0, 7.1), onFloor("2"))
	j.list("2-2", m(0, 0, 7.1), onFloor("2"))
	g := mesh.Survey(j.Now())
	walls := func(a, b events.Tag) int {
		l, ok := g.Link(a, b)
		require.True(t, ok)
		return l.Walls
	}
	require.Equal(t, 2, walls("1-1", "1-2"), "a wall of no length is none")
	require.Equal(t, 2, walls("1-2", "1-3"))
	require.Zero(t, walls("1-1", "1-3"))
	require.Zero(t, walls("2-1", "2-2"), "the walls of another floor")
	require.Zero(t, walls("1-1", "2-1"), "from floor to floor")

	with, _ := g.Link("1-1", "1-2")
	j.say("08:04", events.WallStruck{Wall: "w1", Why: "never built"})
	without, _ := mesh.Survey(j.Now()).Link("1-1", "1-2")
	require.Equal(t, 1, without.Walls)
	require.Less(t, with.Mean, without.Mean, "concrete loses more than the model's average")
	require.LessOrEqual(t, with.Margin.Hi, without.Margin.Hi, "no wall makes a link more possible")
	require.LessOrEqual(t, with.Chance.Hi, without.Chance.Hi)
}

// The losses of three brick walls and free space come to just what the model has
// on average at 10 m: they leave the mean and add doubt.
func TestNoWallMakesALinkMorePossible(t *testing.T) {
	j := newJob(t)
	j.say("08:02", events.FloorListed{Floor: "1", Level: 1})
	j.hub("H1", m(0, 0, 3.5))
	j.list("1-1", m(10, 0, 3.5), onFloor("1"))
	without, _ := mesh.Survey(j.Now()).Link("1-1", "H1")
	for i := range 3 {
		j.say("08:03", events.WallListed{Wall: fmt.Sprint("w", i), Floor: "1", Material: "brick", Thickness: 100, Line: xy(int64(3+i), -1, int64(3+i), 1)})
	}
	with, _ := mesh.Survey(j.Now()).Link("1-1", "H1")
	require.Equal(t, 3, with.Walls)
	require.InDelta(t, without.Mean, with.Mean, 50)
	require.Less(t, with.Margin.Lo, without.Margin.Lo-50)
	require.LessOrEqual(t, with.Margin.Hi, without.Margin.Hi)
	require.LessOrEqual(t, with.Chance.Hi, without.Chance.Hi)
}

func TestWhereSureAndPossibleBegin(t *testing.T) {
	j := newJob(t)
	j.row(15, "1-1")
	link := func(k events.SettingKey, v int64) mesh.Link {
		j.set(k, fmt.Sprint(v))
		l, ok := mesh.Survey(j.Now()).Link("1-1", "H1")
		require.True(t, ok)
		return l
	}
	mean := link(events.FadeMargin, 1000).Mean
	require.True(t, link(events.FadeMargin, mean).Sure)
	require.False(t, link(events.FadeMargin, mean+1).Sure)

	j.say("09:30", events.LinkMeasured{A: "1-1", B: "H1", RSSI: events.Some(-96)})
	below := -link(events.FadeMargin, mean).Mean
	at := link(events.MeasuredDoubt, below)
	require.Zero(t, at.Margin.Hi)
	require.True(t, at.Possible)
	require.False(t, link(events.MeasuredDoubt, below-1).Possible)
}

// Margins by hand: the mesh threshold is -111 + 10 + 6 + 0.4 = -94.6 dBm; a level
// of -70 lies 24.6 above it. A PDR of 50 % is 2.27 dB below it by the error curve
// of IEEE 802.15.4-2006 §E.4.1.8 (computed by the radio package, tested there).
func TestMeasuredLinks(t *testing.T) {
	level := func(a, b events.Tag, dBm int) events.LinkMeasured {
		return events.LinkMeasured{A: a, B: b, RSSI: events.Some(dBm)}
	}
	share := func(a, b events.Tag, ppm int64) events.LinkMeasured {
		return events.LinkMeasured{A: a, B: b, PDR: events.Some(ppm)}
	}
	both := func(a, b events.Tag, dBm int, ppm int64) events.LinkMeasured {
		return events.LinkMeasured{A: a, B: b, RSSI: events.Some(dBm), PDR: events.Some(ppm)}
	}
	for _, tt := range []struct {
		name string
		far  float64 // metres, 0: no places
		told []events.Payload
		mean float64 // dB
		sure bool
		etx  int64 // 0: not looked at
	}{
		{"a level, with no places", 0, []events.Payload{level("1-1", "H1", -70)}, 24.6, true, 1_000_000},
		{"a level beats the prediction", 100, []events.Payload{level("1-1", "H1", -70)}, 24.6, true, 0},
		{"for worse too", 1, []events.Payload{level("1-1", "H1", -90)}, 4.6, false, 0},
		{"the worse of two ways", 0, []events.Payload{level("1-1", "H1", -70), level("H1", "1-1", -80)}, 14.6, true, 0},
		{"of one way the latest", 0, []events.Payload{level("1-1", "H1", -95), level("1-1", "H1", -70)}, 24.6, true, 0},
		{"a share short of all says where it is", 5, []events.Payload{share("1-1", "H1", 500_000)}, -2.27, false, 4_000_000},
		{"a share short of all caps the level", 0, []events.Payload{both("1-1", "H1", -60, 500_000)}, -2.27, false, 4_000_000},
		{"all delivered leaves the level", 0, []events.Payload{both("1-1", "H1", -60, 1_000_000)}, 34.6, true, 1_000_000},
		{"all delivered leaves the prediction", 15, []events.Payload{share("1-1", "H1", 1_000_000)}, 13.57, true, 1_000_000},
		{"just enough delivered leaves it too", 15, []events.Payload{share("1-1", "H1", 990_000)}, 13.57, true, 0},
		{"all delivered makes sure what prediction doubts", 40, []events.Payload{share("1-1", "H1", 995_000)}, 0.79, true, 0},
		{"and what it thinks impossible", 400, []events.Payload{share("1-1", "H1", 990_000)}, 0, true, 0},
		{"just short of all does not", 0, []events.Payload{share("1-1", "H1", 989_000)}, -0.03, false, 0},
		{"ETX by both shares (De Couto et al., MobiCom 2003)", 0, []events.Payload{share("1-1", "H1", 900_000), share("H1", "1-1", 800_000)}, -1.52, false, 1_388_888},
		{"all delivered one way only", 0, []events.Payload{share("1-1", "H1", 1_000_000), share("H1", "1-1", 900_000)}, -1.09, false, 1_111_111},
		{"LQI says nothing", 40, []events.Payload{events.LinkMeasured{A: "1-1", B: "H1", LQI: events.Some(255)}}, 0.79, false, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			j := newJob(t)
			at, hub := nowhere, nowhere
			if tt.far > 0 {
				at, hub = m(tt.far, 0, 0), m(0, 0, 0)
			}
			j.hub("H1", hub)
			j.paired("1-1", at)
			j.say("09:30", tt.told...)
			l, ok := mesh.Survey(j.Now()).Link("1-1", "H1")
			require.True(t, ok)
			require.InDelta(t, tt.mean, float64(l.Mean)/100, 0.02)
			require.Equal(t, tt.sure, l.Sure)
			if tt.etx > 0 {
				require.InDelta(t, tt.etx, l.ETX, 2)
			}
			_, lqi := tt.told[0].(events.LinkMeasured)
			require.True(t, lqi)
			require.Equal(t, tt.told[0].(events.LinkMeasured).LQI, l.LQI)
			require.Equal(t, tt.name != "LQI says nothing", l.Basis == mesh.Measured)
			if l.Basis == mesh.Measured {
				require.Equal(t, tale.T("09:30"), l.Measured.At)
			}
		})
	}
}

func TestAMeasurementAges(t *testing.T) {
	j := newJob(t)
	j.hub("H1", nowhere)
	j.paired("1-1", nowhere)
	j.paired("1-2", nowhere)
	j.say("09:30", events.LinkMeasured{A: "1-1", B: "H1", RSSI: events.Some(-80)}, events.LinkMeasured{A: "1-2", B: "H1", PDR: events.Some(int64(1_000_000))})
	doubt := func(days float64) float64 {
		at := tale.T("09:30") + events.Instant(days*24*3600*1000)
		l, ok := mesh.Survey(j.History().At(projection.At(at))).Link("1-1", "H1")
		require.True(t, ok)
		require.InDelta(t, 14.6, float64(l.Mean)/100, 0.02)
		return float64(l.Margin.Hi-l.Margin.Lo) / 200
	}
	require.InDelta(t, 3, doubt(0), 0.01, "measured_doubt_cdb")
	require.InDelta(t, 6, doubt(90), 0.01, "doubled at measured_days")
	require.InDelta(t, 9, doubt(180), 0.01, "and on in a line")

	after := func(days int) mesh.Link {
		at := tale.T("09:30") + events.Instant(days*24*3600*1000)
		l, _ := mesh.Survey(j.History().At(projection.At(at))).Link("1-2", "H1")
		return l
	}
	require.True(t, after(90).Sure)
	require.False(t, after(91).Sure, "what it delivered so long ago makes nothing sure")
	require.True(t, after(91).Possible)
}

func TestAStarDeviceHeardIsMeasured(t *testing.T) {
	j := newJob(t)
	j.hub("H1", m(0, 0, 0))
	j.paired("1-1", m(15, 0, 0), asStar)
	j.paired("1-2", m(15, 0, 0))
	for _, tag := range tags("1-1", "1-2") {
		j.say("09:30", events.DeviceHeard{Device: tag, Hub: "H1", RSSI: events.Some(-80)})
	}
	g := mesh.Survey(j.Now())
	star, _ := g.Link("1-1", "H1")
	require.Equal(t, mesh.Measured, star.Basis)
	require.EqualValues(t, 1200, star.Mean, "-92 dBm is what it needs")
	any, _ := g.Link("1-2", "H1")
	require.Equal(t, mesh.Predicted, any.Basis, "of a mesh device nobody knows which hop that was")
}

func TestWhoHasALink(t *testing.T) {
	j := newJob(t)
	j.row(5, "1-1", "1-2")
	j.hub("H2", m(0, 1, 0))
	j.paired("1-3", m(5, 1, 0), asLeaf)
	j.paired("1-4", m(6, 1, 0), asLeaf)
	j.paired("1-5", m(7, 1, 0), asStar)
	j.paired("1-6", nowhere)
	j.paired("1-7", m(600, 0, 0))
	j.paired("2-1", m(8, 1, 0), onHub("H2"))
	j.list("2-2", m(9, 1, 0), onHub("H2"))
	j.say("09:00", events.DevicePaired{Device: "2-2", Hub: "H1"})
	j.say("09:01", events.LinkMeasured{A: "1-6", B: "1-1", RSSI: events.Some(-60)})
	j.list("1-8", m(1, 1, 0))
	j.say("09:02", events.DeviceStruck{Device: "1-8", Why: "not built"})
	g := mesh.Survey(j.Now())
	others := func(of events.Tag) []events.Tag {
		var out []events.Tag
		for l := range g.Links(of) {
			require.Equal(t, of, l.A)
			require.True(t, l.Possible)
			same, ok := g.Link(l.A, l.B)
			require.True(t, ok)
			require.Equal(t, same, l)
			back, ok := g.Link(l.B, l.A)
			require.True(t, ok)
			back.A, back.B = l.A, l.B
			require.Equal(t, l, back)
			out = append(out, l.B)
		}
		return out
	}
	require.Equal(t, tags("1-2", "1-3", "1-4", "1-6", "2-2", "H1"), others("1-1"))
	require.Equal(t, tags("1-1", "1-2", "2-2", "H1"), others("1-3"), "no other sleeper")
	require.Equal(t, tags("H1"), others("1-5"), "a star device talks to the hub alone")
	require.Equal(t, tags("1-1"), others("1-6"), "where it was measured")
	require.Empty(t, others("1-7"))
	require.Empty(t, others("1-8"), "struck")
	require.Empty(t, others("9-9"))
	require.Equal(t, tags("2-2", "H2"), others("2-1"))
	require.Equal(t, tags("1-1", "1-2", "1-3", "1-4", "2-1", "H1", "H2"), others("2-2"), "on the hub it is scheduled on, and the one it is paired to")
	require.Equal(t, tags("1-1", "1-2", "1-3", "1-4", "1-5", "2-2"), others("H1"))

	far, ok := g.Link("1-1", "1-7")
	require.True(t, ok, "known, and not possible")
	require.False(t, far.Possible)
	for _, pair := range [][2]events.Tag{{"1-1", "2-1"}, {"1-5", "1-1"}, {"1-3", "1-4"}, {"1-6", "1-2"}, {"H1", "H2"}, {"1-1", "1-1"}, {"1-1", "9-9"}} {
		_, ok := g.Link(pair[0], pair[1])
		require.False(t, ok, "%v", pair)
	}
	d, ok := g.Metres("1-1", "H2")
	require.True(t, ok)
	require.InDelta(t, math.Sqrt(26), d, 1e-9)
	_, ok = g.Metres("1-1", "1-6")
	require.False(t, ok)
	for l := range g.Links("1-1") { // stops when asked to
		require.Equal(t, events.Tag("1-2"), l.B)
		break
	}
}

func TestCalibration(t *testing.T) {
	j := newJob(t)
	j.hub("H1", m(0, 0, 0))
	j.list("1-9", m(0, 10, 0))
	for i := range 8 {
		tag := events.Tag(fmt.Sprintf("1-%d", i+1))
		j.paired(tag, m(float64(3+4*i), 0, 0))
		// 12 dB weaker than the office row has it
		dBm := -6 - 39.75 - 30*math.Log10(float64(3+4*i)) - 12
		if i < 2 {
			j.say("09:30", events.LinkMeasured{A: tag, B: "H1", RSSI: events.Some(int(dBm))})
		} else {
			j.say("09:40", events.LinkMeasured{A: tag, B: "H1", RSSI: events.Some(int(dBm))}, events.LinkMeasured{A: "H1", B: tag, RSSI: events.Some(int(dBm))})
		}
	}
	j.hub("H2", m(90, 0, 0))
	j.say("09:50", events.LinkMeasured{A: "H2", B: "H1", RSSI: events.Some(-40)}) // no link that a device ever has
	few := mesh.Survey(j.History().At(projection.At(tale.T("09:35"))))
	_, ok := few.Fit()
	require.False(t, ok)
	require.True(t, slices.ContainsFunc(few.Notes(), func(n string) bool {
		return n == "mesh is not calibrated: of 2 measured links 2 can be used, and it takes 5: measure more"
	}), "%q", few.Notes())

	many := mesh.Survey(j.Now())
	fit, ok := many.Fit()
	require.True(t, ok)
	require.Equal(t, 8, fit.Samples, "both ways of a link are one sample")
	require.Contains(t, many.Model(), "calibrated on 8 measured links")
	was, _ := few.Link("1-9", "H1")
	is, _ := many.Link("1-9", "H1")
	require.InDelta(t, -9, float64(is.Mean-was.Mean)/100, 4, "most of the twelve decibels are believed")
	require.Less(t, is.Margin.Hi-is.Margin.Lo, was.Margin.Hi-was.Margin.Lo)
}

func TestTheGraphIsThatOfTheMoment(t *testing.T) {
	j := newJob(t)
	j.hub("H1", m(0, 0, 0))
	j.paired("1-1", m(15, 0, 0))
	j.list("1-2", m(30, 0, 0))
	j.say("11:00", events.DevicePaired{Device: "1-2", Hub: "H1"})
	j.say("12:00", events.DevicePlaced{Device: "1-2", Place: m(300, 0, 0).Value})
	j.say("13:00", events.DeviceUnpaired{Device: "1-1", Why: "reset"})
	for _, tt := range []struct {
		clock string
		want  map[events.Tag]string
	}{
		{"08:30", map[events.Tag]string{}},
		{"10:00", map[events.Tag]string{"1-1": "yes, predicted"}},
		{"11:30", map[events.Tag]string{"1-1": "yes, predicted", "1-2": "yes, predicted"}},
		{"12:30", map[events.Tag]string{"1-1": "yes, predicted", "1-2": "no, predicted"}},
		{"13:30", map[events.Tag]string{"1-2": "no, predicted"}},
	} {
		require.Equal(t, tt.want, answers(j.at(tt.clock)), tt.clock)
	}
}
