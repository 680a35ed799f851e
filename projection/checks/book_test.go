package checks_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/checks"
	"pairwalk/projection/tale"
)

func occupancy(of events.Subject, pass bool) events.CheckDone {
	return events.CheckDone{Of: of, Test: events.TestOccupancy, Pass: pass}
}

var room = events.Room("3.12")

func TestWhatARoomOwesIsReadFromTheSchedule(t *testing.T) {
	s := office()
	b := checks.Of(s.Now())
	require.Equal(t, 2, b.Owed, "nothing is paired, so nothing is to answer yet")
	require.Equal(t, events.FloorID("3"), b.Rooms[0].Floor)

	o := find(t, b, room, events.TestOccupancy)
	require.Equal(t, checks.FromSample, o.From)
	require.Equal(t, checks.Owed, o.State)
	require.Equal(t, "3-1 is not paired yet", o.Waits)
	require.Contains(t, o.Verify, "nothing next door and no moving air sets it off")
	m := find(t, b, room, events.TestManual)
	require.Equal(t, checks.FromSchedule, m.From)
	require.Contains(t, m.Why, "3-2")
	require.Empty(t, m.Limits, "no source gives one, so none is made up")
}

func TestWhatASensorsTypeSays(t *testing.T) {
	for text, want := range map[string][]events.TestKind{
		"":                             {events.TestOccupancy},
		"ceiling, 8 m":                 {events.TestOccupancy},
		"Presence detector":            {events.TestOccupancy},
		"VACANCY sensor":               {events.TestVacancy},
		"absence detector":             {events.TestVacancy},
		"daylight sensor":              {events.TestDaylight},
		"photocell":                    {events.TestDaylight},
		"occupancy and daylight":       {events.TestDaylight, events.TestOccupancy},
		"vacancy sensor with daylight": {events.TestDaylight, events.TestVacancy},
	} {
		t.Run(text, func(t *testing.T) {
			s := tale.New()
			s.Lead.Say("08:01", events.HubListed{Hub: "H1"})
			d := device("3-1", events.Sensor, "3.12")
			d.Type = text
			s.Lead.Say("08:02", d)
			var got []events.TestKind
			for _, x := range checks.Of(s.Now()).Rooms[0].Tests {
				require.Equal(t, room, x.Of)
				got = append(got, x.Test)
			}
			require.ElementsMatch(t, want, got)
		})
	}
}

func TestWhereTheScheduleDoesNotTellNothingIsMadeUp(t *testing.T) {
	s := office()
	s.Lead.Say("08:10", device("3-4", events.Driver, "store room"))
	s.Lead.Say("08:10", events.RoomListed{Room: "void", Floor: "3"})
	b := checks.Of(s.Now())
	require.Len(t, b.Rooms, 2, "a room with nothing in it owes nothing")
	require.Empty(t, b.Rooms[0].Unknown)
	require.Contains(t, b.Rooms[1].Unknown, "not known, plan it: pairwalk log planned 'store room' --test ")
	require.Empty(t, b.Rooms[1].Tests)
	require.Contains(t, b.Remarks[0], "Time switches stand on no schedule")

	s.Lead.Say("08:11", events.TestPlanned{Room: "3.12", Test: events.TestManual})
	require.Equal(t, checks.FromPlan, find(t, checks.Of(s.Now()), room, events.TestManual).From, "planned, and so not asked for twice")
	s.Lead.Say("08:11", events.TestPlanned{Room: "store room", Test: events.TestOther, Note: "door contact"})
	b = checks.Of(s.Now())
	require.Empty(t, b.Rooms[1].Unknown)
	require.Equal(t, "planned by lead: door contact", b.Rooms[1].Tests[0].Why)
}

func TestAPlanOverridesSettingsAndTheLastPlanStands(t *testing.T) {
	s := office()
	s.Lead.Say("08:10", events.TestPlanned{Room: "3.12", Test: events.TestOccupancy, Limits: map[string]int64{checks.OffWithin: 600}})
	s.Lead.Say("08:11", events.TestPlanned{Room: "3.12", Test: events.TestOccupancy, Limits: map[string]int64{"off_within_min": 15, "min_lx": 300}})
	o := find(t, checks.Of(s.Now()), room, events.TestOccupancy)
	require.Equal(t, checks.FromPlan, o.From, "the sensor's room is tested once, not twice")
	require.Equal(t, []checks.Limit{
		{Name: checks.OffWithin, Value: 900, Unit: "s", Source: "planned", Words: "off or down within 15 min"},
		{Name: checks.AutoOn, Value: 50, Unit: "%", Source: "setting auto_on_percent (IECC C405.2.1.1)", Words: "on by itself to at most 50 %"},
		{Name: "min_lx", Value: 300, Unit: "lx", Source: "planned", Words: "min 300 lx"},
	}, o.Limits)
}

// The figures are from IECC C405.2.1.1 and C408.3.1.1 and IBC 1008.3.5, by
// secondary texts and adopted codes; 1 fc = 10.764 lx.
func TestTheUsualLimitsAreSettings(t *testing.T) {
	words := func(s *tale.Story, kind events.TestKind) (out []string) {
		for _, l := range checks.LimitsOf(s.Now(), room, kind) {
			out = append(out, l.Words+" | "+l.Source)
		}
		return out
	}
	s := office()
	require.Equal(t, []string{"off or down within 20 min | setting off_within_minutes (IECC C405.2.1.1)", "on by itself to at most 50 % | setting auto_on_percent (IECC C405.2.1.1)"}, words(s, events.TestOccupancy))
	require.Equal(t, []string{"off or down within 20 min | setting off_within_minutes (IECC C405.2.1.1)"}, words(s, events.TestVacancy))
	require.Equal(t, []string{"override at most 120 min | setting override_minutes (IECC C408.3.1.1)"}, words(s, events.TestTimeSwitch))
	require.Equal(t, []string{
		"average at least 1 fc (10.8 lx) | setting egress_average_cfc (IBC 1008.3.5)",
		"no point below 0.1 fc (1.1 lx) | setting egress_minimum_cfc (IBC 1008.3.5)",
		"most to least at most 40:1 | setting egress_max_to_min (IBC 1008.3.5)",
	}, words(s, events.TestEgress))

	s.Lead.Say("08:10", events.SettingsChanged{Set: map[events.SettingKey]string{events.OffWithin: "30"}})
	require.Equal(t, []string{"off or down within 30 min | setting off_within_minutes, as set on this site"}, words(s, events.TestVacancy))
}

func TestEgressCarriesItsCaution(t *testing.T) {
	s := office()
	exit := device("3-9", events.Driver, "3.12")
	exit.Emergency = true
	s.Lead.Say("08:10", exit)
	b := checks.Of(s.Now())
	e := find(t, b, room, events.TestEgress)
	require.Equal(t, []events.Tag{"3-9"}, e.Devices)
	require.Contains(t, e.Cautions, checks.CautionEgress)
	require.Contains(t, checks.CautionEgress, "authority having jurisdiction")
	require.Contains(t, find(t, b, room, events.TestManual).Cautions, checks.CautionEgress, "also what is tested beside it")
	s.Lead.Say("09:00", events.DevicePaired{Device: "3-9", Hub: "H1"})
	require.Contains(t, find(t, checks.Of(s.Now()), events.Device("3-9"), events.TestAnswer).Cautions, checks.CautionEgress)
}
