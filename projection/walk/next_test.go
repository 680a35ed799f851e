package walk_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/checks"
	"pairwalk/projection/settle"
	"pairwalk/projection/tale"
	"pairwalk/projection/walk"
)

// Each story ends with what ann is told to do next, in order.
func TestNext(t *testing.T) {
	cases := []struct {
		name string
		job  *job
		tell func(j *job)
		at   string
		want string
	}{
		{"a hub comes before its devices (R2)", newJob(dimmer("1-1")), func(j *job) {
			j.ann.Say("08:10", events.HubLost{Hub: "H1", Why: "no light"})
		}, "09:00", "ready-hub H1, pair 1-1"},
		{"a program lists every device before it is paired (R2)", newJob(dimmer("1-1"), dimmer("1-2")), func(j *job) {
			j.ann.Say("08:10", events.HubLoaded{Hub: "H1", Program: "r0", Lists: []events.Tag{"1-1"}})
		}, "09:00", "ready-hub H1, pair 1-1, pair 1-2"},
		{"the walk goes in natural order (R3)", newJob(dimmer("1-10"), dimmer("1-9")), nil, "09:00", "pair 1-9, pair 1-10"},
		{"mesh goes first while there is mesh to pair (R8)", newJob(star("1-1"), dimmer("1-2"), dimmer("1-3")), func(j *job) {
			j.ann.Say("09:00", paired("1-2"))
		}, "09:01", "pair 1-3, pair 1-1"},
		{"star devices fill the wait (R9)", newJob(star("1-1"), dimmer("1-2")), func(j *job) {
			j.ann.Say("09:00", paired("1-2"))
		}, "09:01", "pair 1-1"},
		{"another hub fills the wait too (R9)", newJob(dimmer("1-2"), on("H2", dimmer("2-1"))), func(j *job) {
			j.ann.Say("08:30", events.HubListed{Hub: "H2"})
			j.ann.Say("08:30", events.HubLoaded{Hub: "H2", Program: "r1", All: true})
			j.ann.Say("08:30", events.HubReady{Hub: "H2"})
			j.ann.Say("09:00", paired("1-2"))
			j.comesHome("09:01")
		}, "09:02", "pair 2-1, wait H1"},
		{"records come home during the wait (R7)", newJob(dimmer("1-1")), func(j *job) {
			j.ann.Say("09:00", paired("1-1"))
		}, "09:01", "export H1, wait H1"},
		{"and are merged (R7)", newJob(dimmer("1-1")), func(j *job) {
			j.ann.Say("09:00", paired("1-1"))
			j.ann.Say("09:01", events.RecordsExported{Export: "X", Heads: j.Now().Heads})
		}, "09:01", "merge H1, wait H1"},
		{"records wait while there is something to pair", newJob(dimmer("1-1"), dimmer("1-2")), func(j *job) {
			j.ann.Say("09:00", paired("1-1"))
		}, "09:11", "pair 1-2"},
		{"nothing but to wait (R8)", newJob(dimmer("1-1")), func(j *job) {
			j.ann.Say("09:00", paired("1-1"))
			j.comesHome("09:01")
		}, "09:05", "wait H1"},
		{"push (R8)", newJob(dimmer("1-1")), func(j *job) {
			j.ann.Say("09:00", paired("1-1"))
			j.comesHome("09:01")
		}, "09:11", "push H1"},
		{"check what took its push (R10)", newJob(dimmer("1-1")), func(j *job) {
			j.ann.Say("09:00", paired("1-1"))
			j.comesHome("09:01")
			j.ann.Say("09:11", events.PushDone{Hub: "H1", Program: "r1"})
		}, "09:12", "check 1-1"},
		{"nothing left", newJob(dimmer("1-1")), func(j *job) {
			j.ann.Say("09:00", paired("1-1"))
			j.comesHome("09:01")
			j.ann.Say("09:11", events.PushDone{Hub: "H1", Program: "r1"})
			j.ann.Say("09:12", events.DeviceHeard{Device: "1-1", Hub: "H1"})
		}, "09:13", ""},
		{"a serial nobody wrote down", newJob(dimmer("1-1")), func(j *job) {
			j.ann.Say("09:00", events.DevicePaired{Device: "1-1", Hub: "H1"})
			j.comesHome("09:01")
		}, "09:05", "read-serial 1-1, wait H1"},
		{"skipped and refused ones come after untouched ones (R6)", newJob(dimmer("1-1"), dimmer("1-2"), dimmer("1-3")), func(j *job) {
			j.ann.Say("09:00", events.DeviceSkipped{Device: "1-1", Why: events.NoAccess})
			j.ann.Say("09:01", events.DeviceRefused{Device: "1-2", Why: events.NoAnswer})
		}, "09:02", "pair 1-3, pair 1-1, pair 1-2"},
		{"and do not keep a push back", newJob(dimmer("1-1"), dimmer("1-2")), func(j *job) {
			j.ann.Say("09:00", events.DeviceSkipped{Device: "1-1", Why: events.NoAccess})
			j.ann.Say("09:01", paired("1-2"))
			j.comesHome("09:02")
		}, "09:12", "push H1, pair 1-1"},
		{"what never pairs is never suggested (R6)", newJob(never("1-1", events.WiredRemote), never("1-2", events.Standalone), dimmer("1-3")), nil, "09:00", "pair 1-3"},
		{"what is struck is not suggested", newJob(dimmer("1-1"), dimmer("1-2")), func(j *job) {
			j.ann.Say("09:00", events.DeviceStruck{Device: "1-1"})
		}, "09:01", "pair 1-2"},
		{"what is dark is not suggested, only asked after", newJob(dimmer("1-1"), dimmer("1-2")), func(j *job) {
			j.ann.Say("09:00", events.PowerOff{Of: events.Circuit("C7"), Dark: []events.Tag{"1-1"}})
		}, "09:01", "pair 1-2, power circuit C7"},
		{"my own hold comes first", newJob(dimmer("1-1"), dimmer("1-2")), func(j *job) {
			j.ann.Say("09:00", events.HoldPlaced{Of: events.Device("1-1"), Why: "wet paint"})
		}, "09:01", "lift-hold 1-1, pair 1-2"},
		{"somebody else's comes last", newJob(dimmer("1-1"), dimmer("1-2")), func(j *job) {
			bo := j.Join("bo", events.Tech)
			bo.Say("09:00", events.HoldPlaced{Of: events.Device("1-1"), Why: "wet paint"})
		}, "09:01", "pair 1-2, lift-hold 1-1"},
		{"emergency devices come last", newJob(emergency("1-1"), dimmer("1-2")), func(j *job) {
			j.ann.Say("09:00", events.DeviceSkipped{Device: "1-2", Why: events.NoAccess})
		}, "09:01", "pair 1-2, pair 1-1"},
		{"also to be checked and read", newJob(emergency("1-1"), emergency("1-2"), dimmer("1-3")), func(j *job) {
			j.ann.Say("09:00", paired("1-1"))
			j.ann.Say("09:00", events.DevicePaired{Device: "1-2", Hub: "H1"})
			j.ann.Say("09:00", paired("1-3"))
			j.comesHome("09:01")
			j.ann.Say("09:11", events.PushDone{Hub: "H1", Program: "r1"})
		}, "09:12", "check 1-3, check 1-1, check 1-2, read-serial 1-2"},
		{"who is which is settled before more is paired", newJob(dimmer("1-1"), dimmer("1-2"), dimmer("1-3")), func(j *job) {
			j.ann.Say("09:00", events.DeviceFitted{Device: "1-1", Serial: "S9"})
			j.ann.Say("09:00", events.DeviceFitted{Device: "1-2", Serial: "S9"})
		}, "09:01", "resolve 1-1, pair 1-3"},
		{"planned tests once a room is done", newJob(inRoom("1-1", "A"), inRoom("1-2", "B")), func(j *job) {
			j.ann.Say("08:10", events.RoomListed{Room: "A"})
			j.ann.Say("08:10", events.RoomListed{Room: "B"})
			j.ann.Say("08:10", events.TestPlanned{Room: "A", Test: events.TestManual})
			j.ann.Say("08:10", events.TestPlanned{Room: "B", Test: events.TestManual})
			j.ann.Say("09:00", paired("1-1"))
			j.comesHome("09:01")
			j.ann.Say("09:11", events.PushDone{Hub: "H1", Program: "r1"})
			j.ann.Say("09:12", events.DeviceHeard{Device: "1-1", Hub: "H1"})
		}, "09:13", "pair 1-2, check room A"},
		{"until they pass", newJob(inRoom("1-1", "A")), func(j *job) {
			j.ann.Say("08:10", events.RoomListed{Room: "A"})
			j.ann.Say("08:10", events.TestPlanned{Room: "A", Test: events.TestManual})
			j.ann.Say("09:00", paired("1-1"))
			j.comesHome("09:01")
			j.ann.Say("09:11", events.PushDone{Hub: "H1", Program: "r1"})
			j.ann.Say("09:12", events.DeviceHeard{Device: "1-1", Hub: "H1"})
			j.ann.Say("09:13", events.CheckDone{Of: events.Room("A"), Test: events.TestManual, Pass: true})
		}, "09:14", ""},
		{"a struck hub is left alone", newJob(dimmer("1-1")), func(j *job) {
			j.ann.Say("09:00", events.HubStruck{Hub: "H1"})
		}, "09:01", ""},
		{"a hub called ready on its new channel is not made ready again (R1)", newJob(dimmer("1-1")), func(j *job) {
			j.ann.Say("08:30", events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 15})
			j.ann.Say("09:00", paired("1-1"))
			j.comesHome("09:01")
			j.ann.Say("09:02", events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 20})
			j.ann.Say("09:03", events.HubReady{Hub: "H1"})
		}, "09:20", "push H1"},
		{"an emergency device does not keep a push back", newJob(emergency("1-1"), dimmer("1-2")), func(j *job) {
			j.ann.Say("09:00", paired("1-2"))
			j.comesHome("09:01")
		}, "09:20", "push H1, pair 1-1"},
		{"a circuit that is off is asked after once", newJob(dimmer("1-1"), dimmer("1-2")), func(j *job) {
			j.ann.Say("09:00", events.PowerOff{Of: events.Circuit("C7"), Dark: []events.Tag{"1-1", "1-2"}})
		}, "09:01", "power circuit C7"},
		{"a fault that was mended", newJob(), func(j *job) {
			e := j.ann.Say("09:00", events.FaultFound{Of: events.Hub("H1"), Symptom: "hums", Severity: events.Minor})
			j.ann.Say("09:01", events.FaultCleared{Fault: e.Ref()})
		}, "09:02", ""},
		{"faults to mend", newJob(), func(j *job) {
			j.ann.Say("09:00", events.FaultFound{Of: events.Hub("H1"), Symptom: "hums", Severity: events.Minor})
		}, "09:01", "mend H1"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if c.tell != nil {
				c.tell(c.job)
			}
			require.Equal(t, c.want, brief(c.job.next(c.at)))
		})
	}
}

func never(tag events.Tag, is events.DeviceKind) events.DeviceListed {
	d := dimmer(tag)
	d.Is = is
	return d
}

func inRoom(tag events.Tag, room events.RoomID) events.DeviceListed {
	d := dimmer(tag)
	d.Room = room
	return d
}

// A colleague is asked once nothing else keeps the push back, and not before.
func TestNextAsks(t *testing.T) {
	j := newJob(dimmer("1-1"), dimmer("1-2"))
	silent := j.Join("silent", events.Tech)
	j.ann.Say("08:10", events.HubAssigned{Hub: "H1", Member: silent.Key})
	j.ann.Say("08:10", events.HubAssigned{Hub: "H1", Member: j.ann.Key})
	j.ann.Say("09:00", paired("1-1"))
	j.comesHome("09:01")
	require.Equal(t, "pair 1-2", brief(j.next("09:20")), "an answer would go stale")
	j.ann.Say("09:21", paired("1-2"))
	j.comesHome("09:22")
	require.Equal(t, "wait H1", brief(j.next("09:25")))
	first := j.next("09:40")[0]
	require.Equal(t, walk.Ask, first.Act)
	require.Equal(t, events.Member(silent.Key), first.Subject)
	require.Contains(t, first.Why, "ask what they last paired on H1")
}

// Assigned hubs come first, whole: their pushes and checks before another's
// devices. Somebody assigned to none begins where nobody is.
func TestNextBeginsWithMyHubs(t *testing.T) {
	j := newJob(dimmer("1-1"), on("H2", dimmer("2-1")), on("H3", dimmer("3-1")))
	bo, cy := j.Join("bo", events.Tech), j.Join("cy", events.Tech)
	for _, hub := range []events.HubID{"H2", "H3"} {
		j.ann.Say("08:30", events.HubListed{Hub: hub})
		j.ann.Say("08:30", events.HubLoaded{Hub: hub, Program: "r1", All: true})
		j.ann.Say("08:30", events.HubReady{Hub: hub})
	}
	j.ann.Say("08:31", events.HubAssigned{Hub: "H2", Member: bo.Key})
	require.Equal(t, "pair 2-1, pair 1-1, pair 3-1", brief(j.nextOf(bo, "09:00")))
	require.Equal(t, "pair 1-1, pair 3-1, pair 2-1", brief(j.nextOf(cy, "09:00")))
	cy.Say("09:01", events.DeviceFitted{Device: "3-1", Serial: "S1"})
	require.Equal(t, "pair 3-1, pair 1-1, pair 2-1", brief(j.nextOf(cy, "09:02")), "where cy is at work leads")
}

// What is said with a suggestion: the way to pair (R4), to stay (R5), what to look
// at after a refusal (R6), why in the wait (R9), and the cautions.
func TestNextSaysWhyAndWarns(t *testing.T) {
	driver := dimmer("1-2")
	driver.Is, driver.Room = events.Driver, "A"
	lost, placed := dimmer("1-6"), dimmer("1-7")
	lost.Floor, placed.Floor = "", ""
	j := newJob(dimmer("1-1"), driver, dimmer("1-3"), emergency("1-4"), star("1-5"), lost, placed)
	j.ann.Say("08:59", events.DevicePlaced{Device: "1-7", Place: events.Point{X: 4500, Y: 2000, Z: 2700}})
	j.ann.Say("09:00", events.DeviceRefused{Device: "1-3", Why: events.OutOfReach, Note: "from the door"})
	j.ann.Say("09:00", paired("1-1"))
	next := j.next("09:01")
	at := func(tag events.Tag) walk.Step { return step(next, events.Device(tag)) }

	require.Equal(t, events.ByBroadcast, at("1-2").How)
	require.Equal(t, events.ByButton, at("1-5").How)
	require.Contains(t, at("1-2").Why, "floor 1, room A")
	require.Contains(t, at("1-2").Why, "stay beside it until it confirms")
	require.Contains(t, at("1-3").Why, "stay beside it until it confirms; it refused (out-of-reach: from the door): are you close enough? is it paired already? is it a device that never pairs?")
	require.Contains(t, at("1-5").Why, "fills the wait on H1")
	require.Contains(t, at("1-6").Why, "nobody wrote down where it is")
	require.Contains(t, at("1-7").Why, "x 4.5 m, y 2.0 m")
	require.NotContains(t, at("1-7").Why, "nobody wrote down")
	require.Equal(t, []string{walk.CautionEmergency}, at("1-4").Cautions)
	require.Empty(t, at("1-2").Cautions)

	j.ann.Say("09:02", paired("1-4"))
	for _, tag := range []events.Tag{"1-2", "1-5", "1-6", "1-7"} {
		j.ann.Say("09:03", paired(tag))
	}
	j.comesHome("09:04")
	push := j.next("09:20")[0]
	require.Equal(t, walk.Push, push.Act)
	require.Equal(t, []string{walk.CautionEmergency, walk.CautionPush}, push.Cautions)
}

// An emergency device carries its caution whatever is to be done with it, and a
// test of its room does too; that it may not be paired yet does not keep the
// others from the test.
func TestEmergencyCautionGoesEverywhere(t *testing.T) {
	exit := emergency("1-1")
	exit.Room = "A"
	j := newJob(exit, inRoom("1-2", "A"), emergency("1-3"), emergency("1-4"))
	bo := j.Join("bo", events.Tech)
	j.ann.Say("08:10", events.RoomListed{Room: "A"})
	j.ann.Say("08:10", events.TestPlanned{Room: "A", Test: events.TestManual})
	j.ann.Say("09:00", paired("1-2"))
	j.comesHome("09:01")
	j.ann.Say("09:11", events.PushDone{Hub: "H1", Program: "r1"})
	j.ann.Say("09:12", events.DeviceHeard{Device: "1-2", Hub: "H1"})
	bo.Say("09:12", events.HoldPlaced{Of: events.Device("1-1"), Why: "inspection"})
	j.ann.Say("09:12", events.FaultFound{Of: events.Device("1-3"), Symptom: "hums", Severity: events.Minor})
	j.ann.Say("09:12", events.PowerOff{Of: events.Device("1-4")})
	for name, steps := range map[string][]walk.Step{"next": j.next("09:13"), "leave": walk.Leave(j.Now(), "1")} {
		acts := map[walk.Act]bool{}
		for _, x := range steps {
			tag, device := x.Subject.Tag()
			if device && tag != "1-2" || x.Subject == events.Room("A") {
				require.Equal(t, walk.CautionEmergency, x.Cautions[0], "%s: %v", name, x)
				require.NotContains(t, x.Cautions[1:], walk.CautionEmergency, "once is enough")
				acts[x.Act] = true
			}
		}
		require.True(t, acts[walk.Pair] && acts[walk.Lift] && acts[walk.Mend] && acts[walk.Power], "%s: %v", name, acts)
		require.True(t, acts[walk.Check], name)
	}
}

// The words that stand everywhere.
func TestCautions(t *testing.T) {
	require.Equal(t, "Local codes and licensed practice govern. This log is a record, not a permit to work.", walk.CautionPermit)
	require.Contains(t, walk.CautionMains, "1910.333(b)")
	require.Contains(t, walk.CautionHold, "not a lockout")
}

// Judgements may be missing: a hub without one has nothing to push.
func TestNextWithoutJudgements(t *testing.T) {
	j := newJob(dimmer("1-1"))
	require.Equal(t, "pair 1-1", brief(walk.Next(j.Now(), j.ann.Key, nil, checks.Of(j.Now()), nil, nil)))
	require.Empty(t, walk.Next(tale.New().Now(), j.ann.Key, []settle.Judgement{{Hub: "H9", Verdict: settle.Ready}}, checks.Book{}, nil, nil))
}
