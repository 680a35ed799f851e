package walk_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/checks"
	"pairwalk/projection/tale"
	"pairwalk/projection/walk"
)

func of(is events.DeviceKind, tag events.Tag, room events.RoomID) events.DeviceListed {
	d := dimmer(tag)
	d.Is, d.Room = is, room
	return d
}

// answering is a job whose devices are all paired, pushed and heard by 09:13.
func answering(devices ...events.DeviceListed) *job {
	j := newJob(devices...)
	for _, d := range devices {
		j.ann.Say("09:00", paired(d.Device))
	}
	j.comesHome("09:01")
	j.ann.Say("09:11", events.PushDone{Hub: "H1", Program: "r1"})
	for _, d := range devices {
		j.ann.Say("09:12", events.DeviceHeard{Device: d.Device, Hub: "H1"})
	}
	return j
}

func (j *job) leave() []walk.Step { return walk.Leave(j.Now(), "1") }

func TestOfManySensorsThoseThatAreDrawn(t *testing.T) {
	var devices []events.DeviceListed
	for i := range 20 {
		d := of(events.Sensor, events.Tag(fmt.Sprintf("1-%d", i+1)), events.RoomID(fmt.Sprintf("R%d", i+1)))
		d.Type, d.Geometry = "ceiling occupancy sensor", "cell"
		devices = append(devices, d)
	}
	j := answering(devices...)
	drawn := checks.Of(j.Now()).Groups[0].Drawn
	require.Len(t, drawn, 2, "ten percent of twenty: IECC C408.3.1.1")

	for name, steps := range map[string][]walk.Step{"next": j.next("09:14"), "leave": j.leave()} {
		require.Len(t, steps, 2, name)
		for _, x := range steps {
			require.Equal(t, walk.Check, x.Act, name)
			require.True(t, slices.ContainsFunc(drawn, func(tag events.Tag) bool { return x.Subject == events.Room("R"+events.RoomID(tag[2:])) }), name)
			require.Contains(t, x.Why, "is drawn", name)
			require.Equal(t, events.HubID("H1"), x.Hub, name)
			require.Contains(t, x.Cautions, walk.CautionPush, name)
		}
	}
}

// A room's test is on the hub of its first device that is still on the schedule.
func TestATestOfARoomIsOnItsFirstDevicesHub(t *testing.T) {
	gone := inRoom("1-0", "A")
	gone.Hub = "H2"
	j := answering(gone, of(events.WallControl, "1-1", "A"), inRoom("1-2", "A"))
	j.ann.Say("09:13", events.DeviceStruck{Device: "1-0"})
	x := j.next("09:14")
	require.Equal(t, "check room A", brief(x))
	require.Equal(t, events.HubID("H1"), x[0].Hub)
}

func TestATestIsSuggestedUntilItPasses(t *testing.T) {
	j := answering(of(events.WallControl, "1-1", "A"), inRoom("1-2", "A"))
	require.Equal(t, "check room A", brief(j.next("09:14")))

	outlook := walk.Plan(j.Now(), nil, []walk.Person{{Key: j.ann.Key, Name: "ann"}}, tale.T("09:14"))
	require.Contains(t, strings.Join(outlook.Notes, "\n"), "functional tests to be passed besides, whose time is not counted: 1")

	j.ann.Say("09:14", events.CheckDone{Of: events.Room("A"), Test: events.TestManual})
	require.Equal(t, "check room A", brief(j.next("09:15")))
	require.Contains(t, j.next("09:15")[0].Why, "it failed, so repeat it")

	j.ann.Say("09:15", events.CheckDone{Of: events.Room("A"), Test: events.TestManual, Pass: true})
	require.Empty(t, brief(j.next("09:16")))
	require.Empty(t, brief(j.leave()))

	j.ann.Say("09:20", events.PushDone{Hub: "H1", Program: "r1"})
	require.Contains(t, j.next("09:21")[0].Why, "something was paired, reset or pushed since")
}

func TestADeviceAnswersBeforeItIsTested(t *testing.T) {
	j := newJob(of(events.WallControl, "1-1", ""))
	j.ann.Say("09:00", paired("1-1"))
	j.comesHome("09:01")
	j.ann.Say("09:11", events.PushDone{Hub: "H1", Program: "r1"})
	require.Equal(t, "check 1-1", brief(j.next("09:12")))
	require.Contains(t, j.next("09:12")[0].Why, "paired is not reachable")

	j.ann.Say("09:12", events.DeviceHeard{Device: "1-1", Hub: "H1"})
	require.Equal(t, "check 1-1", brief(j.next("09:13")))
	require.Contains(t, j.next("09:13")[0].Why, "the manual test is owed")
}

func TestADeviceThatAnsweredBeforeAPushIsToAnswerAgain(t *testing.T) {
	j := newJob(dimmer("1-1"))
	answer := events.CheckDone{Of: events.Device("1-1"), Test: events.TestAnswer, Pass: true}
	j.ann.Say("09:00", paired("1-1"))
	j.ann.Say("09:05", answer)
	j.comesHome("09:06")
	j.ann.Say("09:16", events.PushDone{Hub: "H1", Program: "r1"})
	require.Equal(t, "check 1-1", brief(j.next("09:17")))
	j.ann.Say("09:17", answer)
	require.Empty(t, j.next("09:18"))
}

func TestEgressLightingIsTestedWithTheAuthoritysWord(t *testing.T) {
	exit := of(events.Driver, "1-1", "A")
	exit.Emergency = true
	j := answering(exit, of(events.WallControl, "1-2", "A"), of(events.WallControl, "1-3", "B"))
	steps := j.next("09:14")
	require.Equal(t, "check room A, check room B, check room A", brief(steps), "it comes after all else")
	last := steps[2]
	require.Contains(t, last.Why, "egress")
	require.Contains(t, last.Why, "only with the authority's word")
	require.Equal(t, walk.CautionEmergency, last.Cautions[0])
	require.Contains(t, steps[0].Cautions, walk.CautionEmergency, "and what is tested beside it carries the caution")
	require.Equal(t, []string{walk.CautionPush}, steps[1].Cautions)

	for _, p := range []events.Payload{events.CheckDone{Of: events.Room("A"), Test: events.TestEgress}, events.TestPlanned{Room: "A", Test: events.TestEgress}} {
		require.Contains(t, walk.CautionsOf(j.Now(), p), walk.CautionEmergency)
	}
	require.Empty(t, walk.CautionsOf(j.Now(), events.TestPlanned{Room: "A", Test: events.TestManual}))
}
