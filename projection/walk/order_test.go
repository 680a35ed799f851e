package walk_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/checks"
	"pairwalk/projection/walk"
)

func at(tag events.Tag, floor events.FloorID, room events.RoomID) events.DeviceListed {
	d := dimmer(tag)
	d.Floor, d.Room = floor, room
	return d
}

// R3: start near the hub and work outward.
func TestOrder(t *testing.T) {
	j := newJob(
		at("a", "1", "R10"), at("b", "1", "R9"), at("c-10", "1", "plant"), at("c-9", "1", "plant"), at("d", "1", ""),
		at("e", "2", ""), at("f", "B1", ""), at("g", "3", ""), at("h", "mezzanine", ""), at("i", "", ""), at("k", "", "loft"),
		never("x", events.Standalone), on("H2", dimmer("y")), at("z", "1", ""),
	)
	j.ann.Say("08:30", events.RoomListed{Room: "loft", Floor: "5"})
	j.ann.Say("08:30", events.DeviceStruck{Device: "z"})
	require.Equal(t, []events.Tag{"c-9", "c-10", "d", "b", "a", "e", "f", "g", "k", "h", "i"}, walk.Order(j.Now(), "H1"))
	require.Empty(t, walk.Order(j.Now(), "H7"))

	var pair []events.Tag
	for _, x := range walk.Next(j.Now(), j.ann.Key, nil, checks.Book{}, nil, nil) {
		if tag, _ := x.Subject.Tag(); x.Act == walk.Pair && x.Hub == "H1" {
			pair = append(pair, tag)
		}
	}
	require.Equal(t, walk.Order(j.Now(), "H1"), pair, "they are suggested in that order")
}

// Levels that are listed count for more than what a floor is called.
func TestOrderByListedLevels(t *testing.T) {
	j := newJob(at("a", "roof", ""), at("b", "7", ""), at("c", "1", ""), at("d", "cellar", ""))
	j.ann.Say("08:30", events.FloorListed{Floor: "1", Level: 0})
	j.ann.Say("08:30", events.FloorListed{Floor: "roof", Level: 1})
	j.ann.Say("08:30", events.FloorListed{Floor: "cellar", Level: -1})
	require.Equal(t, []events.Tag{"c", "d", "a", "b"}, walk.Order(j.Now(), "H1"), "the lower of two first")
}

// A hub that nobody placed is walked from the lowest floor up.
func TestOrderFromAnUnplacedHub(t *testing.T) {
	j := newJob(at("a", "2", ""), at("b", "10", ""), at("c", "B1", ""), at("d", "", ""))
	j.ann.Say("08:30", events.HubListed{Hub: "H1"})
	require.Equal(t, []events.Tag{"c", "a", "b", "d"}, walk.Order(j.Now(), "H1"))
}

// What to do before leaving a floor.
func TestLeave(t *testing.T) {
	wired := at("1-11", "1", "")
	wired.Circuit = "C1-3"
	j := newJob(
		at("1-1", "1", ""), at("1-2", "1", ""), at("1-3", "1", ""), at("1-4", "1", ""), at("1-5", "1", ""), at("1-6", "1", ""),
		emergency("1-7"), never("1-8", events.WiredRemote), at("2-1", "2", ""), at("1-9", "1", ""), wired, at("1-10", "", "den"),
	)
	j.ann.Say("08:30", events.RoomListed{Room: "den", Floor: "1"})
	j.ann.Say("09:00", events.DeviceRefused{Device: "1-2", Why: events.NoAnswer})
	j.ann.Say("09:00", events.DeviceSkipped{Device: "1-3", Why: events.NoAccess, Note: "locked"})
	j.ann.Say("09:00", events.DevicePaired{Device: "1-4", Hub: "H1"})
	j.ann.Say("09:00", paired("1-5"))
	j.ann.Say("09:00", paired("1-6"))
	j.ann.Say("09:00", paired("1-9"))
	j.ann.Say("09:15", events.PushDone{Hub: "H1", Program: "r1", Missed: []events.Tag{"1-5", "1-9"}})
	j.ann.Say("09:16", events.DeviceStruck{Device: "1-9"})
	j.ann.Say("09:16", events.PowerOff{Of: events.Device("1-6")})
	j.ann.Say("09:17", events.HoldPlaced{Of: events.Device("1-1"), Why: "wet paint"})
	j.ann.Say("09:17", events.HoldPlaced{Of: events.Floor("2"), Why: "elsewhere"})
	j.ann.Say("09:18", events.FaultFound{Of: events.Device("1-6"), Symptom: "hums", Severity: events.Minor})
	mended := j.ann.Say("09:18", events.FaultFound{Of: events.Device("1-5"), Symptom: "loose", Severity: events.Minor})
	j.ann.Say("09:19", events.FaultCleared{Fault: mended.Ref()})
	j.ann.Say("09:19", events.HoldPlaced{Of: events.Circuit("C1-3"), Why: "tests"})
	j.ann.Say("09:18", events.FaultFound{Of: events.Room("den"), Symptom: "draughty", Severity: events.Minor})

	steps := walk.Leave(j.Now(), "1")
	require.Equal(t, "pair 1-1, pair 1-7, pair 1-10, pair 1-11, pair 1-2, pair 1-3, read-serial 1-4, push 1-5, power 1-6, lift-hold 1-1, lift-hold circuit C1-3, mend 1-6, mend room den", brief(steps))
	require.Equal(t, []string{walk.CautionEmergency}, step(steps, events.Device("1-7")).Cautions)
	require.Contains(t, step(steps, events.Device("1-3")).Why, "no-access: locked")
	require.Equal(t, "pair 2-1, lift-hold floor 2", brief(walk.Leave(j.Now(), "2")))
	require.Empty(t, walk.Leave(j.Now(), "7"))
}
