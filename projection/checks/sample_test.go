package checks_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/checks"
	"pairwalk/projection/tale"
)

// cells is a job with so many rooms of one geometry, one sensor in each, all of one
// type.
func cells(n int) *tale.Story {
	s := tale.New()
	s.Lead.Say("08:01", events.HubListed{Hub: "H1"})
	for i := range n {
		d := device(events.Tag(fmt.Sprintf("3-%d", i+1)), events.Sensor, events.RoomID(fmt.Sprintf("3.%d", i+1)))
		d.Geometry = "cell"
		s.Lead.Say("08:03", d)
	}
	return s
}

// roomOf is the room of a sensor of cells.
func roomOf(tag events.Tag) events.Subject { return events.Room("3." + events.RoomID(tag[2:])) }

// The rule and its numbers: IECC C408.3.1.1, adopted text.
func TestHowManySensorsAreTested(t *testing.T) {
	for _, c := range []struct{ sensors, drawn int }{
		{1, 1}, {7, 7}, // up to seven: every one
		{8, 1}, {10, 1}, // ten percent, and at least one
		{11, 2}, {20, 2}, {21, 3}, {100, 10}, // rounded up
	} {
		t.Run(fmt.Sprintf("%d sensors", c.sensors), func(t *testing.T) {
			b := checks.Of(cells(c.sensors).Now())
			require.Len(t, b.Groups, 1)
			require.Len(t, b.Groups[0].Devices, c.sensors)
			require.Len(t, b.Groups[0].Drawn, c.drawn)
			require.Equal(t, c.drawn, b.Owed)
			for _, tag := range b.Groups[0].Drawn {
				require.Equal(t, checks.FromSample, find(t, b, roomOf(tag), events.TestOccupancy).From)
			}
		})
	}
}

func TestAtLeastOneOfEachTypeAndGeometry(t *testing.T) {
	s := cells(12)
	wall := device("3-90", events.Sensor, "3.90")
	wall.Type, wall.Geometry = "wall presence sensor", "cell"
	s.Lead.Say("08:04", wall)
	stairs := device("3-91", events.Sensor, "3.91")
	stairs.Geometry = "stairs"
	s.Lead.Say("08:04", stairs)
	vacancy := device("3-92", events.Sensor, "3.92")
	vacancy.Type, vacancy.Geometry = "ceiling vacancy sensor", "cell"
	s.Lead.Say("08:04", vacancy)

	b := checks.Of(s.Now())
	drawn := map[string]int{}
	for _, g := range b.Groups {
		drawn[fmt.Sprintf("%s, %s, %s: %d of %d", g.Test, g.Type, g.Geometry, len(g.Drawn), len(g.Devices))]++
	}
	require.Equal(t, map[string]int{
		"occupancy, ceiling occupancy sensor, cell: 2 of 12":  1,
		"occupancy, wall presence sensor, cell: 1 of 1":       1,
		"occupancy, ceiling occupancy sensor, stairs: 1 of 1": 1,
		"vacancy, ceiling vacancy sensor, cell: 1 of 1":       1,
	}, drawn)
}

// The widening: thirty percent of those drawn, and not a hair less. 20 of 67 is
// 29.85 percent, 21 of 67 is 31.3, 3 of 10 is 30 to the dot.
func TestWhenTheIdenticalRestIsTestedToo(t *testing.T) {
	for _, c := range []struct {
		sensors, drawn, failed int
		widened                bool
	}{
		{134, 67, 20, false}, {134, 67, 21, true},
		{20, 10, 2, false}, {20, 10, 3, true},
	} {
		t.Run(fmt.Sprintf("%d of %d", c.failed, c.drawn), func(t *testing.T) {
			s := cells(c.sensors)
			s.Lead.Say("08:30", events.SettingsChanged{Set: map[events.SettingKey]string{events.SamplePercent: "50"}})
			drawn := checks.Of(s.Now()).Groups[0].Drawn
			require.Len(t, drawn, c.drawn)
			for _, tag := range drawn[:c.failed] {
				s.Lead.Say("09:00", events.CheckDone{Of: roomOf(tag), Test: events.TestOccupancy})
			}
			g := checks.Of(s.Now()).Groups[0]
			require.Len(t, g.Failed, c.failed)
			require.Equal(t, c.widened, g.Widened)
			want := drawn
			if c.widened {
				want = g.Devices
			}
			require.Equal(t, want, g.Drawn)

			for _, tag := range drawn[:c.failed] {
				s.Lead.Say("10:00", events.CheckDone{Of: roomOf(tag), Test: events.TestOccupancy, Pass: true})
			}
			require.Equal(t, c.widened, checks.Of(s.Now()).Groups[0].Widened, "what failed has failed, though it passed when it was repeated")
		})
	}
}

func TestPassesOutsideTheSampleThinNothingOut(t *testing.T) {
	s := cells(20)
	drawn := checks.Of(s.Now()).Groups[0].Drawn
	require.Len(t, drawn, 2)
	outside := 0
	for _, tag := range checks.Of(s.Now()).Groups[0].Devices {
		if tag != drawn[0] && tag != drawn[1] {
			s.Lead.Say("09:00", events.CheckDone{Of: roomOf(tag), Test: events.TestOccupancy, Pass: true})
			outside++
		}
	}
	require.Equal(t, 18, outside)
	require.Equal(t, 2, checks.Of(s.Now()).Owed, "the drawn ones are owed all the same")
	s.Lead.Say("09:01", events.CheckDone{Of: roomOf(drawn[0]), Test: events.TestOccupancy})
	require.True(t, checks.Of(s.Now()).Groups[0].Widened)
}

func TestWhereNothingShowsThatSensorsAreAlikeEachIsTested(t *testing.T) {
	s := tale.New()
	s.Lead.Say("08:01", events.HubListed{Hub: "H1"})
	for i := range 12 {
		s.Lead.Say("08:03", events.DeviceListed{Device: events.Tag(fmt.Sprintf("3-%d", i+1)), Is: events.Sensor, Hub: "H1", Radio: events.Mesh, Power: events.Battery})
	}
	b := checks.Of(s.Now())
	require.Len(t, b.Groups[0].Drawn, 12)
	require.Contains(t, b.Groups[0].Words, "does not tell their type and the geometry of their spaces")
	require.Equal(t, 12, b.Owed)
	require.Len(t, b.Rooms, 1, "and they are in no known room")
	require.Equal(t, events.RoomID(""), b.Rooms[0].Room)
}

func TestAStruckSensorIsNotInTheDraw(t *testing.T) {
	s := cells(8)
	s.Lead.Say("08:30", events.DeviceStruck{Device: "3-8", Why: "not built"})
	b := checks.Of(s.Now())
	require.Len(t, b.Groups[0].Devices, 7)
	require.Len(t, b.Groups[0].Drawn, 7, "seven are left, so each is tested")
}

func TestAStruckDeviceAsksForNothing(t *testing.T) {
	s := office()
	s.Lead.Say("08:30", events.DeviceStruck{Device: "3-2", Why: "not built"})
	require.Equal(t, 1, checks.Of(s.Now()).Owed, "the sensor's test alone")
}

func TestANewNameIsNoNewLot(t *testing.T) {
	s := cells(20)
	before := checks.Of(s.Now()).Groups[0].Drawn
	s.Lead.Say("08:30", events.DeviceRenamed{From: before[0], To: "9-99"})
	after := checks.Of(s.Now()).Groups[0].Drawn
	require.ElementsMatch(t, []events.Tag{"9-99", before[1]}, after)
	for i, tag := range checks.Of(s.Now()).Groups[0].Devices {
		if tag != "9-99" && tag != before[1] { // and for those that are not drawn
			s.Lead.Say("08:31", events.DeviceRenamed{From: tag, To: events.Tag(fmt.Sprintf("8-%d", i))})
		}
	}
	require.ElementsMatch(t, after, checks.Of(s.Now()).Groups[0].Drawn)
}

func TestTheSampleIsASetting(t *testing.T) {
	s := cells(20)
	s.Lead.Say("08:30", events.SettingsChanged{Set: map[events.SettingKey]string{events.SampleAll: "20"}})
	require.Len(t, checks.Of(s.Now()).Groups[0].Drawn, 20)
	s.Lead.Say("08:31", events.SettingsChanged{Set: map[events.SettingKey]string{events.SampleAll: "0", events.SamplePercent: "25"}})
	b := checks.Of(s.Now())
	require.Len(t, b.Groups[0].Drawn, 5)
	require.Contains(t, b.Rule.Source, "IECC C408.3.1.1")
}
