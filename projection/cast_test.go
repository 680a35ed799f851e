package projection_test

import (
	"fmt"
	"reflect"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
)

// lamp is a mesh router on a hub.
func lamp(tag events.Tag, hub events.HubID) events.DeviceListed {
	return events.DeviceListed{Device: tag, Is: events.Driver, Hub: hub, Radio: events.Mesh, Power: events.Mains}
}

// star is a device on star radio.
func star(tag events.Tag, hub events.HubID) events.DeviceListed {
	return events.DeviceListed{Device: tag, Is: events.WallControl, Hub: hub, Radio: events.Star, Power: events.Battery}
}

func paired(tag events.Tag, hub events.HubID) events.DevicePaired {
	return events.DevicePaired{Device: tag, Hub: hub}
}

// job is a story with hub H1, ready with a program that lists all, and lamps 1-1
// to 1-3 on it, all before 08:30.
func job() *tale.Story {
	s := tale.New()
	s.Lead.Say("08:01", events.HubListed{Hub: "H1"})
	for _, tag := range []events.Tag{"1-1", "1-2", "1-3"} {
		s.Lead.Say("08:02", lamp(tag, "H1"))
	}
	s.Lead.Say("08:03", events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 15})
	s.Lead.Say("08:04", events.HubLoaded{Hub: "H1", Program: "r1", All: true})
	s.Lead.Say("08:05", events.HubReady{Hub: "H1"})
	return s
}

// duo is a job with a second pair of hands, bo, who has heard of all of it.
func duo() (s *tale.Story, bo *tale.Teller) {
	s = job()
	bo = s.Join("bo", events.Tech)
	return s, bo
}

// meet lets tellers hear all of each other.
func meet(tellers ...*tale.Teller) {
	for range 2 {
		for _, t := range tellers {
			t.Hear(tellers...)
		}
	}
}

// at is the facts of a story at a true time by the lead's right clock.
func at(s *tale.Story, clock string) *projection.Site {
	return s.History().At(projection.At(tale.T(clock)))
}

func device(t testing.TB, site *projection.Site, tag events.Tag) *projection.Device {
	t.Helper()
	d, ok := site.Device(tag)
	require.True(t, ok, "no device %s", tag)
	return d
}

func hub(t testing.TB, site *projection.Site, id events.HubID) *projection.Hub {
	t.Helper()
	h, ok := site.Hub(id)
	require.True(t, ok, "no hub %s", id)
	return h
}

func member(t testing.TB, site *projection.Site, who *tale.Teller) *projection.Member {
	t.Helper()
	m, ok := site.Member(who.Key)
	require.True(t, ok, "no member %s", who.Name)
	return m
}

// conflict is the one open conflict of a kind.
func conflict(t testing.TB, site *projection.Site, kind projection.ConflictKind) projection.Conflict {
	t.Helper()
	all := conflicts(site, kind)
	require.Len(t, all, 1, "%s among %v", kind, site.Conflicts)
	return all[0]
}

func conflicts(site *projection.Site, kind projection.ConflictKind) []projection.Conflict {
	return slices.DeleteFunc(slices.Clone(site.Conflicts), func(c projection.Conflict) bool { return c.Kind != kind })
}

// oddities is why an entry makes no sense.
func oddities(site *projection.Site, e *events.Event) []string {
	var out []string
	for _, a := range site.Anomalies {
		if a.Ref() == e.Ref() {
			out = append(out, a.Subject.Words()+" "+a.Why)
		}
	}
	return out
}

// doubt is why an entry is quarantined, or "".
func doubt(site *projection.Site, e *events.Event) string {
	for _, d := range site.Quarantined {
		if d.Ref() == e.Ref() {
			return d.Why
		}
	}
	return ""
}

func requireCause(t testing.TB, want *events.Event, got *projection.Cause) {
	t.Helper()
	require.NotNil(t, got, "no cause, want %s", want.Payload)
	require.Equal(t, want.Ref(), got.Ref(), "want %s, got %s", want.Payload, got.Event.Payload)
}

// requireSame compares every field of two sites, also those not exported, and
// names the first one that differs.
func requireSame(t interface {
	Fatalf(format string, args ...any)
	Helper()
}, want, got *projection.Site, about string) {
	t.Helper()
	if reflect.DeepEqual(want, got) {
		return
	}
	w, g := reflect.ValueOf(*want), reflect.ValueOf(*got)
	for i := range w.NumField() {
		a, b := fmt.Sprintf("%+v", w.Field(i)), fmt.Sprintf("%+v", g.Field(i))
		if a != b && w.Type().Field(i).Name != "Devices" && w.Type().Field(i).Name != "Hubs" {
			t.Fatalf("%s: %s differ\nwant %s\n got %s", about, w.Type().Field(i).Name, a, b)
		}
	}
	for i := range min(len(want.Devices), len(got.Devices)) {
		if !reflect.DeepEqual(want.Devices[i], got.Devices[i]) {
			t.Fatalf("%s: device %s differs\nwant %+v\n got %+v", about, want.Devices[i].Device, want.Devices[i], got.Devices[i])
		}
	}
	for i := range min(len(want.Hubs), len(got.Hubs)) {
		if !reflect.DeepEqual(want.Hubs[i], got.Hubs[i]) {
			t.Fatalf("%s: hub %s differs\nwant %+v\n got %+v", about, want.Hubs[i].Hub, want.Hubs[i], got.Hubs[i])
		}
	}
	t.Fatalf("%s: sites differ in causes", about)
}
