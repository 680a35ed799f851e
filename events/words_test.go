package events_test

import (
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

// requireWords asks that a payload says itself in words a person can read, and
// names its subjects in a form that parses back.
func requireWords(t require.TestingT, p events.Payload) {
	s := p.String()
	require.NotEmpty(t, s)
	require.True(t, utf8.ValidString(s), "%q", s)
	for _, about := range p.Subjects() {
		require.NotEmpty(t, about.ID)
		require.True(t, utf8.ValidString(about.Words()), "%q", about.Words())
		back, err := events.ParseSubject(about.String())
		require.NoError(t, err)
		require.Equal(t, about, back)
	}
}

func TestPayloadsInWords(t *testing.T) {
	for _, v := range vectors() {
		for _, p := range v.payloads() {
			requireWords(t, p)
			for _, artefact := range []string{"%!", "<nil>", "map[", "{", "0x", "events.", "  "} {
				require.NotContains(t, p.String(), artefact)
			}
		}
	}
	for _, c := range []struct {
		said  events.Payload
		words string
	}{
		{events.DevicePaired{Device: "2-114", Hub: "H2", Serial: "00A1", How: events.ByButton}, "paired 2-114 to H2 serial 00A1 by button"},
		{events.DevicePaired{Device: "2-114", Hub: "H2"}, "paired 2-114 to H2"},
		{events.DevicePlaced{Device: "2-114", Place: events.Point{X: 12_500, Y: -3_000, Z: 50}}, "placed 2-114 at 12.5, -3.0, 0.1 m"},
		{events.DeviceHeard{Device: "2-114", Hub: "H2", RSSI: events.Some(0)}, "H2 heard 2-114 at 0 dBm"},
		{events.DeviceHeard{Device: "2-114", Hub: "H2"}, "H2 heard 2-114"},
		{events.LinkMeasured{A: "a", B: "b", PDR: events.Some[int64](985_000)}, "measured a to b, 98.5 % delivered"},
		{events.PowerOff{Of: events.Circuit("C3-7"), Dark: []events.Tag{"1", "2", "3", "4", "5", "6", "7"}}, "power off at circuit C3-7; dark: 1, 2, 3, 4, 5 and 2 more"},
		{events.PushDone{Hub: "H2", Program: "r7", Missed: []events.Tag{"2-114"}}, "pushed r7 to H2; 1 missed: 2-114"},
		{events.ClockCompared{Other: ben, Offset: -3010, RoundTrip: 60}, "compared clocks with member " + ben.Short() + ": theirs is -3010 ms, round trip 60 ms"},
		{events.MemberAsked{Member: ben, Hub: "H2", Last: events.Some(events.At(nine))}, "asked member " + ben.Short() + " about H2: last paired 2026-03-02T09:00:00.000Z"},
		{events.SettingsChanged{Set: map[events.SettingKey]string{"b": "2", "a": "1"}}, "set a = 1, b = 2"},
		{events.CheckDone{Of: events.Room("2.14"), Test: events.TestEgress, Reading: "0.9 fc", Limit: "1 fc"}, "egress check of room 2.14 failed: 0.9 fc (limit: 1 fc)"},
		{events.EventVoided{Event: faultRef(), Why: events.DidNotHappen}, "voided entry 9 of " + adaFeed.Short() + ": did-not-happen"},
		{events.Opaque{Of: "hub.purrs", Why: "kind"}, "not understood: kind"},
	} {
		require.Equal(t, c.words, c.said.String())
	}
}

func TestSubjectsPutTheMainOneFirst(t *testing.T) {
	for _, c := range []struct {
		name string
		said events.Payload
		want []events.Subject
	}{
		{"a pairing is the device's, then the hub's", events.DevicePaired{Device: "2-114", Hub: "H2"}, []events.Subject{events.Device("2-114"), events.Hub("H2")}},
		{"a rename is the new name's", events.DeviceRenamed{From: "a", To: "b"}, []events.Subject{events.Device("b"), events.Device("a")}},
		{"a push is the hub's, then those tried and missed", events.PushDone{Hub: "H2", Tried: []events.Tag{"a"}, Missed: []events.Tag{"b"}},
			[]events.Subject{events.Hub("H2"), events.Device("a"), events.Device("b")}},
		{"a merge for one hub", events.RecordsMerged{Hub: "H2"}, []events.Subject{events.Hub("H2")}},
		{"a merge for all", events.RecordsMerged{}, []events.Subject{events.Site()}},
		{"power is the circuit's, then the dark ones'", events.PowerOff{Of: events.Circuit("C3"), Dark: []events.Tag{"a"}}, []events.Subject{events.Circuit("C3"), events.Device("a")}},
		{"a join is the member's", events.MemberJoined{Key: ben}, []events.Subject{events.Member(ben)}},
		{"a void is about an entry, which is no subject", events.EventVoided{}, nil},
	} {
		t.Run(c.name, func(t *testing.T) { require.Equal(t, c.want, c.said.Subjects()) })
	}
}

// Subjects builds a new list each time: appending to one must not write into
// the event.
func TestSubjectsDoNotShareTheEventsLists(t *testing.T) {
	tried := make([]events.Tag, 1, 4)
	tried[0] = "a"
	p := events.PushDone{Hub: "H2", Tried: tried, Missed: []events.Tag{"b"}}
	_ = p.Subjects()
	require.Equal(t, []events.Tag{"a", ""}, tried[:2])
}

func TestSubjectText(t *testing.T) {
	for text, want := range map[string]events.Subject{
		"device:2-114":  events.Device("2-114"),
		"device:a:b":    events.Device("a:b"),
		"circuit:C3-7":  events.Circuit("C3-7"),
		"site:site":     events.Site(),
		"hub:device:H2": events.Hub("device:H2"),
	} {
		got, err := events.ParseSubject(text)
		require.NoError(t, err)
		require.Equal(t, want, got)
		require.Equal(t, text, got.String())
	}
	for _, bad := range []string{"", "2-114", ":2-114", "device:", "device: x", "Device:x", "lamp:x", "device:a\nb"} {
		_, err := events.ParseSubject(bad)
		require.Error(t, err, "%q", bad)
	}
	require.Equal(t, "2-114", events.Device("2-114").Words())
	require.Equal(t, "circuit C3-7", events.Circuit("C3-7").Words())
	require.Equal(t, "the site", events.Site().Words())
	require.Equal(t, "member "+ben.Short(), events.Member(ben).Words())

	tag, isDevice := events.Device("2-114").Tag()
	require.True(t, isDevice)
	require.Equal(t, events.Tag("2-114"), tag)
	_, isHub := events.Device("2-114").Hub()
	require.False(t, isHub)
}

func TestTheTradesWords(t *testing.T) {
	// R6: a wired remote has no radio, a stand-alone unit belongs to no hub.
	for _, k := range events.DeviceKinds {
		require.Equal(t, k != events.WiredRemote && k != events.Standalone, k.Pairs(), k)
	}
	// R4: a button within reach, or a broadcast to a fitting without one.
	require.Equal(t, events.ByButton, events.WallControl.How())
	require.Equal(t, events.ByButton, events.Sensor.How())
	require.Equal(t, events.ByBroadcast, events.Driver.How())
}
