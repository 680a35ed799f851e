package checks_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/checks"
	"pairwalk/projection/tale"
)

// office is a job with one hub, and in room 3.12 a sensor, a wall control and a
// driver on it.
func office() *tale.Story {
	s := tale.New()
	s.Lead.Say("08:01", events.HubListed{Hub: "H1"})
	s.Lead.Say("08:02", events.RoomListed{Room: "3.12", Floor: "3", Geometry: "cell"})
	s.Lead.Say("08:03", device("3-1", events.Sensor, "3.12"))
	s.Lead.Say("08:03", device("3-2", events.WallControl, "3.12"))
	s.Lead.Say("08:03", device("3-3", events.Driver, "3.12"))
	s.Lead.Say("08:04", events.HubLoaded{Hub: "H1", Program: "r1", All: true})
	s.Lead.Say("08:05", events.HubReady{Hub: "H1"})
	return s
}

func device(tag events.Tag, is events.DeviceKind, room events.RoomID) events.DeviceListed {
	d := events.DeviceListed{Device: tag, Is: is, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Floor: "3", Room: room}
	if is == events.Sensor {
		d.Power, d.Type = events.Battery, "ceiling occupancy sensor"
	}
	return d
}

// find is the one test of a subject in the book.
func find(t *testing.T, b checks.Book, of events.Subject, kind events.TestKind) checks.Test {
	t.Helper()
	var found []checks.Test
	for _, r := range b.Rooms {
		for _, x := range r.Tests {
			if x.Of == of && x.Test == kind {
				found = append(found, x)
			}
		}
	}
	require.Len(t, found, 1, "%s of %s", kind, of)
	return found[0]
}
