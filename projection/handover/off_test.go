package handover_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/walk"
)

// darkened is the small job after circuit C3 went off for good: an emergency lamp and a
// sensor on a battery hang on it by the schedule, beside the lamps.
func darkened(t *testing.T) *job {
	j := small(t)
	exit := lamp("1-8", "102", 9_000, 4_000, "C3")
	exit.Emergency = true
	j.Lead.Say("10:01", exit)
	sensor := events.DeviceListed{Device: "1-9", Is: events.Sensor, Hub: "H1", Radio: events.Mesh, Power: events.Battery, Floor: "1", Room: "102", Circuit: "C3"}
	j.Lead.Say("10:01", sensor)
	j.Lead.Say("10:02", events.DevicePaired{Device: "1-9", Hub: "H1", How: events.ByButton})
	j.Lead.Say("10:03", events.PowerOff{Of: events.Circuit("C3")})
	return j
}

// An emergency lamp is marked wherever somebody is sent to its circuit.
func TestEmergencyStandsOutWhereItHurts(t *testing.T) {
	d := darkened(t).document()
	electrician := part(t, d, "electrician")
	require.Equal(t, "driver, emergency", row(t, d, "electrician", "Circuit C3: what to look at", "1-8")[2])
	require.Equal(t, "driver", row(t, d, "electrician", "Circuit C3: what to look at", "1-4")[2])
	require.Contains(t, electrician, "! Emergency lighting hangs on this circuit: 1-7, 1-8. "+walk.CautionEmergency+"\n")
	require.Contains(t, row(t, d, "caretaker", "Floor 1: what must stay on", "circuit C3")[1], "room 102 (1-3, 1-4, 1-8; emergency: 1-8)")

	// a lamp on no known circuit may be on any
	require.Contains(t, part(t, func() *job {
		j := small(t)
		exit := lamp("1-8", "102", 9_000, 4_000, "")
		exit.Emergency = true
		j.Lead.Say("10:01", exit)
		return j
	}().document(), "electrician"), "! Emergency lighting is on no known circuit, so any may feed it: 1-8. ")
}

// The caretaker's page says what is off already, before it says where to look, and that
// nobody is to switch what they look at.
func TestTheCaretakerReadsWhatIsOffNow(t *testing.T) {
	j := darkened(t)
	words := part(t, j.document(), "caretaker")
	off := strings.Index(words, "Circuit C3 was off at the moment of this pack, since 2026-03-02 10:03, lead.")
	only := strings.Index(words, "! Only look at a breaker, don't switch it: somebody may be working on what it feeds.")
	look := strings.Index(words, "first look whether circuit C1 is on")
	require.True(t, 0 < off && off < only && only < look, "%d %d %d in %s", off, only, look, words)
	require.Contains(t, words, "Dark with it: room 101 (1-7, emergency), room 102 (1-3, 1-4, 1-8; emergency: 1-8).")
	require.Contains(t, words, "Ask who switched it off, and why, before anybody switches it on.")
	require.Equal(t, []string{"2026-03-02 10:03", "power off at circuit C3", "lead"}, lastRow(table(t, j.document(), "people", "The main acts").Rows))

	j.Lead.Say("10:04", events.PowerOn{Of: events.Circuit("C3")})
	require.NotContains(t, part(t, j.document(), "caretaker"), "was off at the moment")
	require.Equal(t, "power on at circuit C3", lastRow(table(t, j.document(), "people", "The main acts").Rows)[1])
}

func lastRow(rows [][]string) []string { return rows[len(rows)-1] }

// A sensor on a battery keeps its power when its circuit goes: no part says otherwise.
func TestABatteryIsDarkNowhere(t *testing.T) {
	j := darkened(t)
	d := j.document()
	require.Equal(t, []string{"Without power, as far as known", "4", "1-3, 1-4, 1-7, 1-8"}, row(t, d, "summary", "What is not finished at this moment", "Without power, as far as known"))
	require.NotContains(t, part(t, d, "electrician"), "\n| 1-9 |", "there is nothing for them to look at")
	require.NotContains(t, row(t, d, "caretaker", "Floor 1: what must stay on", "circuit C3")[1], "1-9")
	listed := row(t, d, "floors", "Floor 1: devices", "1-9")
	require.NotContains(t, listed[4], "no power")
	require.False(t, slices.ContainsFunc(strings.Split(text(d), "\n"), func(l string) bool {
		return strings.Contains(l, "| 1-9 |") && strings.Contains(l, "no power")
	}))

	// seen to go dark with it, it is dark, whatever the schedule says
	j.Lead.Say("10:05", events.PowerOn{Of: events.Circuit("C3")})
	j.Lead.Say("10:06", events.PowerOff{Of: events.Circuit("C3"), Dark: []events.Tag{"1-9"}})
	d = j.document()
	require.Contains(t, row(t, d, "electrician", "Circuit C3: what to look at", "1-9")[3], "no power")
	require.Contains(t, row(t, d, "caretaker", "Floor 1: what must stay on", "circuit C3")[1], "1-9")
	require.Contains(t, row(t, d, "floors", "Floor 1: devices", "1-9")[4], "no power")
}

// Where a device carries others, the advice says where it is to be found.
func TestAdviceNamesADeviceWithItsPlace(t *testing.T) {
	j := newJob(t)
	j.say(events.HubListed{Hub: "H1", Floor: "1", Place: events.Some(events.Point{X: 0, Y: 0, Z: 2_500})}, events.HubReady{Hub: "H1"})
	circuit := map[events.Tag]events.CircuitID{"1-2": "C2"}
	for i, tag := range []events.Tag{"1-1", "1-2", "1-3"} {
		j.say(lamp(tag, "101", int64(i+1)*8_000, 0, circuit[tag]), events.DevicePaired{Device: tag, Hub: "H1"})
	}
	sensor := events.DeviceListed{Device: "1-4", Is: events.Sensor, Hub: "H1", Radio: events.Mesh, Power: events.Battery, Floor: "1", Room: "101", Circuit: "C2"}
	sensor.Place = events.Some(events.Point{X: 2_000, Y: 0, Z: 2_500})
	j.say(sensor, events.DevicePaired{Device: "1-4", Hub: "H1"}, events.LinkMeasured{A: "H1", B: "1-4", RSSI: events.Some(-60)})
	for _, l := range [][2]events.Tag{{"H1", "1-1"}, {"1-1", "1-2"}, {"1-2", "1-3"}} {
		j.say(events.LinkMeasured{A: l[0], B: l[1], RSSI: events.Some(-60)})
	}
	for _, l := range [][2]events.Tag{{"H1", "1-2"}, {"H1", "1-3"}, {"1-1", "1-3"}} {
		j.say(events.LinkMeasured{A: l[0], B: l[1], RSSI: events.Some(-110)})
	}
	words := part(t, j.document(), "caretaker")
	require.Contains(t, words, "first look whether 1-2 (a driver on floor 1, in room 101) has power: room 101 (1-3).")
	lost := row(t, j.document(), "network", "Single points of failure, the worst first", "circuit C2")
	require.Equal(t, []string{"1-3", "1-2"}, lost[2:4], "the sensor on C2 has a battery")
}
