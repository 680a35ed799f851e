package walk_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/checks"
	"pairwalk/projection/mesh"
	"pairwalk/projection/settle"
	"pairwalk/projection/tale"
	"pairwalk/projection/walk"
	"pairwalk/testdata/invent"
)

// placed is a dimmer on H1 some metres along a corridor.
func placed(tag events.Tag, x int64) events.DeviceListed {
	d := dimmer(tag)
	d.Place = events.Some(events.Point{X: x * 1000, Z: 2700})
	return d
}

// along is a job whose hub sits at the beginning of a corridor.
func along(devices ...events.DeviceListed) *job {
	j := newJob(devices...)
	j.ann.Say("08:01", events.DevicePlaced{Device: "H1", Place: events.Point{Z: 2700}})
	return j
}

// nextOnAir is what ann could do, with what radio tells.
func (j *job) nextOnAir(clock string) []walk.Step {
	s := j.Now()
	g := mesh.Survey(s)
	now := j.ann.Stamp(tale.T(clock))
	return walk.Next(s, j.ann.Key, settle.All(s, settle.Local{Self: j.ann.Key, Now: now, Opened: now}), checks.Of(s), g, g.Net(s, mesh.What{}))
}

// pairs keeps the steps that pair.
func pairs(steps []walk.Step) []walk.Step {
	return slices.DeleteFunc(steps, func(x walk.Step) bool { return x.Act != walk.Pair })
}

func TestNextSaysThroughWhom(t *testing.T) {
	j := along(placed("1-9", 12), placed("1-2", 24), placed("1-3", 43), placed("1-4", 5))
	got := pairs(j.nextOnAir("09:30"))
	require.Equal(t, "pair 1-4, pair 1-9, pair 1-2, pair 1-3", brief(got), "the nearest that has a path, not the next in the schedule")
	require.Contains(t, got[0].Why, "5 m from H1, joins through H1, margin 17–39 dB")
	require.Contains(t, got[2].Why, "24 m from H1, a path is not sure: through H1, margin -4 to 19 dB; it may be an island until 1-9 is paired")

	j.ann.Say("09:00", paired("1-9"))
	got = pairs(j.nextOnAir("09:30"))
	require.Equal(t, "pair 1-4, pair 1-2, pair 1-3", brief(got))
	require.Contains(t, got[0].Why, "7 m away, joins through H1", "from where she last worked")
	require.Contains(t, got[1].Why, "12 m away, joins through 1-9, margin")
	require.Contains(t, got[2].Why, "it may be an island until 1-2 is paired")
}

// A sensor on a battery carries nothing, however near it is.
func TestASleeperIsNoBridge(t *testing.T) {
	sleeper := placed("1-8", 20)
	sleeper.Is, sleeper.Power = events.Sensor, events.Battery
	j := along(placed("1-2", 12), placed("1-3", 24), sleeper)
	require.Contains(t, step(j.nextOnAir("09:30"), events.Device("1-3")).Why, "until 1-2 is paired")
}

func TestNextKnowsNoPathWithoutPlaces(t *testing.T) {
	j := newJob(dimmer("1-2"), dimmer("1-10"))
	with := j.nextOnAir("09:30")
	s := j.Now()
	now := j.ann.Stamp(tale.T("09:30"))
	without := walk.Next(s, j.ann.Key, settle.All(s, settle.Local{Self: j.ann.Key, Now: now, Opened: now}), checks.Of(s), nil, nil)
	require.Equal(t, without, with)
	for _, x := range pairs(with) {
		require.NotContains(t, x.Why, "through")
		require.NotContains(t, x.Why, "island")
	}
}

// What may well not answer is checked first, and says why.
func TestDoubtfulDevicesAreCheckedFirst(t *testing.T) {
	j := along(placed("1-1", 5), placed("1-7", 40))
	j.ann.Say("09:00", paired("1-1"))
	j.ann.Say("09:01", paired("1-7"))
	j.comesHome("09:02")
	j.ann.Say("09:20", events.PushDone{Hub: "H1", Program: "r1"})
	var checks []walk.Step
	for _, x := range j.nextOnAir("09:30") {
		if x.Act == walk.Check {
			checks = append(checks, x)
		}
	}
	require.Equal(t, "check 1-7, check 1-1", brief(checks))
	require.Contains(t, checks[0].Why, "this one first, its way home is weak: ")
	require.NotContains(t, checks[1].Why, "this one first")
}

func TestAPushNamesWhoMissedTheLast(t *testing.T) {
	j := newJob(dimmer("1-1"), dimmer("1-2"))
	j.ann.Say("09:00", paired("1-1"))
	j.ann.Say("09:00", paired("1-2"))
	j.comesHome("09:01")
	j.ann.Say("09:12", events.PushDone{Hub: "H1", Program: "r1", Missed: []events.Tag{"1-2"}})
	push := step(j.next("09:20"), events.Hub("H1"))
	require.Equal(t, walk.Push, push.Act)
	require.Contains(t, push.Why, "1-2 missed the last one")
}

// R9: star devices fill the wait.
func TestStarDevicesFillTheWait(t *testing.T) {
	waited := func(devices ...events.DeviceListed) time.Duration {
		s := newJob(devices...).Now()
		sum := time.Duration(0)
		for _, x := range walk.Plan(s, mesh.Survey(s), crew(1), begin).People[0].Stops {
			if x.Act == walk.Wait {
				sum += x.Until.Sub(x.At)
			}
		}
		return sum
	}
	require.Equal(t, 10*time.Minute, waited(dimmer("1-1")), "nothing to do but to wait")
	require.Equal(t, 6*time.Minute, waited(dimmer("1-1"), star("1-2"), star("1-3")), "two of two minutes each")
	require.Zero(t, waited(dimmer("1-1"), star("1-2"), star("1-3"), star("1-4"), star("1-5"), star("1-6")))
	require.Zero(t, waited(star("1-2")), "star devices have no settle time")
}

// What is done is done; what is on hold, dark, an emergency device or never pairs
// is left out and said to be.
func TestPlanFromTheMiddle(t *testing.T) {
	j := newJob(dimmer("1-1"), dimmer("1-2"), dimmer("1-3"), dimmer("1-4"), dimmer("1-5"), emergency("1-6"), never("1-7", events.Standalone))
	j.ann.Say("09:00", paired("1-1"))
	j.ann.Say("09:01", events.HoldPlaced{Of: events.Device("1-2"), Why: "painter"})
	j.ann.Say("09:02", events.PowerOff{Of: events.Device("1-3")})
	j.ann.Say("09:03", events.DeviceRefused{Device: "1-4", Why: events.NoAnswer})
	s := j.Now()
	o := walk.Plan(s, mesh.Survey(s), crew(1), begin)
	var acts []string
	for _, x := range o.People[0].Stops {
		acts = append(acts, string(x.Act)+" "+x.Subject.ID)
	}
	require.Equal(t, "pair 1-5, pair 1-4, wait H1, export H1, push H1, check H1", strings.Join(acts, ", "), "what refused comes last")
	require.Contains(t, o.People[0].Stops[5].Why, "each of 3 devices")
	notes := strings.Join(o.Notes, "\n")
	require.Contains(t, notes, "1-2: on hold")
	require.Contains(t, notes, "1-3: without power")
	require.Contains(t, notes, "1-6: not in the plan. "+walk.CautionEmergency)
	require.Contains(t, notes, "1-7: never pair")
	require.Contains(t, notes, "of 2 of 2 devices to pair nobody knows")
	require.Zero(t, o.Hubs[0].Ready, "it is ready already")
}

func TestAMemberKeepsTheirHub(t *testing.T) {
	rows := invent.Site(invent.Size{Seed: 5, Devices: 60, Hubs: 2, Floors: 3})
	j := newJob()
	for _, r := range rows {
		j.ann.Say("08:10", r)
	}
	bo := j.Join("bo", events.Tech)
	j.ann.Say("08:20", events.HubAssigned{Hub: "H1", Member: bo.Key})
	s := j.Now()
	o := walk.Plan(s, mesh.Survey(s), []walk.Person{{Key: j.ann.Key, Name: "ann"}, {Key: bo.Key, Name: "bo"}}, begin)
	require.Equal(t, events.HubID("H1"), o.People[1].Stops[0].Hub)
	require.Equal(t, events.HubID("H2"), o.People[0].Stops[0].Hub)
}

func TestPairMinutesOfAKind(t *testing.T) {
	j := newJob(dimmer("1-1"))
	j.ann.Say("08:02", events.SettingsChanged{Set: map[events.SettingKey]string{events.PairMinutes: "4", events.PairMinutesOf: "dimmer=7"}})
	s := j.Now()
	x := walk.Plan(s, nil, crew(1), begin).People[0].Stops[0]
	require.Equal(t, 7*time.Minute, x.Until.Sub(x.At))
	require.Equal(t, walk.Plan(s, nil, crew(1), begin), walk.Plan(s, nil, crew(1), begin), "the same every time")
}

func BenchmarkPlan(b *testing.B) {
	s := listed(invent.Site(invent.Size{Seed: 1, Devices: 5000, Hubs: 25, Floors: 12})...)
	g := mesh.Survey(s)
	for b.Loop() {
		walk.Plan(s, g, crew(4), begin)
	}
}
