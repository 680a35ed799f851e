package mesh_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// What was told of measurements holds for a later moment only where walls, radios and
// the times of the measurements are the same too.
func TestMeasurementsAreToldAgainWhereTheyMeanSomethingElse(t *testing.T) {
	for name, change := range map[string]events.Payload{
		"a wall":         events.WallListed{Wall: "w", Floor: "1", Material: "concrete", Thickness: 200, Line: []events.XY{{X: 14_000, Y: -9_000}, {X: 14_000, Y: 9_000}}},
		"a noisier room": events.SettingsChanged{Set: map[events.SettingKey]string{events.NoiseFigure: "1500"}},
	} {
		t.Run(name, func(t *testing.T) {
			j := newJob(t)
			j.say("08:05", events.HubListed{Hub: "H1", Place: m(0, 0, 0), Floor: "1"})
			for i := range 9 {
				tag := events.Tag(fmt.Sprint("1-", i+1))
				j.paired(tag, m(float64(3*i+4), 0, 0), onFloor("1"))
				j.say("09:30", events.LinkMeasured{A: tag, B: "H1", RSSI: events.Some(-48 - 4*i)})
				if i > 0 {
					j.say("09:30", events.LinkMeasured{A: tag, B: events.Tag(fmt.Sprint("1-", i)), PDR: events.Some(int64(900_000 - 7_000*i))})
				}
			}
			s := j.Now()
			before := mesh.Survey(s)
			require.Contains(t, before.Model(), "calibrated on")
			j.say("10:00", change)
			then := *s // with the same measurements
			then.Walls, then.Settings = j.Now().Walls, j.Now().Settings
			require.NotEqual(t, before.Drawn(), mesh.Survey(&then).Drawn())
			require.Equal(t, mesh.Survey(&then).Drawn(), before.Mend(&then).Drawn())
		})
	}
}

// A measurement is of another time once its author's clock is known to be wrong.
func TestAMeasurementOfAnotherTimeIsAnother(t *testing.T) {
	j := newJob(t)
	j.row(30, "1-1", "1-2")
	j.say("09:30", events.LinkMeasured{A: "1-1", B: "1-2", RSSI: events.Some(-80)})
	s := j.Now()
	g := mesh.Survey(s)
	then := *s
	then.Links = append([]projection.Link(nil), s.Links...)
	then.Links[0].Measured.At -= 20 * 24 * 3600 * 1000
	require.NotEqual(t, g.Drawn(), mesh.Survey(&then).Drawn())
	require.Equal(t, mesh.Survey(&then).Drawn(), g.Mend(&then).Drawn())
}

// A measurement is as old as at the last full hour: until the next one all links are
// shared, also by one who goes back and forth; then it has aged, and a setting by which
// it ages tells at once.
func TestMeasurementsAgeByTheHour(t *testing.T) {
	j := newJob(t)
	j.row(30, "1-1", "1-2")
	j.say("09:30", events.LinkMeasured{A: "1-1", B: "1-2", RSSI: events.Some(-80)})
	j.say("09:30", events.SettingsChanged{Set: map[events.SettingKey]string{events.MeasuredDays: "1", events.MeasuredDoubt: "900"}}) // minutes would tell
	j.say("12:59", events.NoteAdded{Of: events.Site(), Text: "x"})
	h, day := j.History(), j.Now().Moment.When.Value/86_400_000*86_400_000
	at := func(minute int64) *projection.Site { return h.At(projection.At(day + events.Instant(minute)*60_000)) }
	g := mesh.Survey(at(11 * 60))
	within, next := g.Mend(at(11*60+59)), g.Mend(at(12*60))
	require.Equal(t, 1, within.Shares(g))
	require.Equal(t, g.Drawn(), mesh.Survey(at(11*60+59)).Drawn())
	require.Equal(t, mesh.Survey(at(12*60)).Drawn(), next.Drawn())
	require.Zero(t, next.Shares(within), "it is an hour older")
	for _, set := range []map[events.SettingKey]string{{events.MeasuredDays: "2"}, {events.MeasuredDoubt: "600"}} {
		j.say("12:59", events.SettingsChanged{Set: set})
		s := *at(11 * 60) // with the same measurements
		s.Settings = j.Now().Settings
		require.NotEqual(t, g.Drawn(), mesh.Survey(&s).Drawn(), "%v", set)
		require.Equal(t, mesh.Survey(&s).Drawn(), g.Mend(&s).Drawn(), "%v", set)
		g = g.Mend(&s)
	}
}
