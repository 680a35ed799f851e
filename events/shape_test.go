package events_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

// What a rule of shape refuses on entry, each with the field that the message
// must name.
func TestShapeOfPayloads(t *testing.T) {
	var (
		long65   = strings.Repeat("é", 65)
		long401  = strings.Repeat("é", 401)
		long4001 = strings.Repeat("é", 4001)
		picture  = events.Picture{SHA256: hash(1).String(), Bytes: 1, Type: "image/png"}
		line     = []events.XY{{}, {X: 1}}
		reading  = events.Reading{Mono: events.Mono{Boot: "b"}}
		fault    = faultRef()
		noHeads  = map[events.FeedID]events.Head{}
	)
	joined := func(change func(*events.MemberJoined)) events.Payload {
		p := benJoined()
		change(&p)
		return p
	}
	listed := func(change func(*events.DeviceListed)) events.Payload {
		p := events.DeviceListed{Device: "a", Is: events.Sensor, Hub: "H2", Radio: events.Mesh, Power: events.Mains}
		change(&p)
		return p
	}
	for _, c := range []struct {
		name  string
		said  events.Payload
		field string
	}{
		{"no name", events.HubReady{}, "hub"},
		{"a name with space before", events.HubReady{Hub: " H2"}, "hub"},
		{"a name with space after", events.HubReady{Hub: "H2\u00a0"}, "hub"},
		{"a name of spaces", events.HubReady{Hub: "  "}, "hub"},
		{"a name of 65 letters", events.HubReady{Hub: events.HubID(long65)}, "hub"},
		{"a name of two lines", events.HubReady{Hub: "H\n2"}, "hub"},
		{"a name with a tab", events.HubReady{Hub: "H\t2"}, "hub"},
		{"a name with NUL", events.HubReady{Hub: "H\x002"}, "hub"},
		{"a name with DEL", events.HubReady{Hub: "H\x7f2"}, "hub"},
		{"a name with a C1 control", events.HubReady{Hub: "H\u00852"}, "hub"},
		{"a name of no text", events.HubReady{Hub: "H\xff"}, "hub"},
		{"a name with a lone surrogate", events.HubReady{Hub: "H\xed\xa0\x80"}, "hub"},

		{"no reason", events.HubLost{Hub: "H2"}, "why"},
		{"a reason of 401 letters", events.HubLost{Hub: "H2", Why: long401}, "why"},
		{"a reason of two lines", events.HubLost{Hub: "H2", Why: "a\nb"}, "why"},
		{"no remark", events.NoteAdded{Of: events.Site()}, "text"},
		{"a remark of 4001 letters", events.NoteAdded{Of: events.Site(), Text: long4001}, "text"},
		{"a remark with a carriage return", events.NoteAdded{Of: events.Site(), Text: "a\r\nb"}, "text"},
		{"a remark with an escape sequence", events.NoteAdded{Of: events.Site(), Text: "\x1b[31mred"}, "text"},
		{"a remark of no text", events.NoteAdded{Of: events.Site(), Text: "\xc3\x28"}, "text"},

		{"no subject", events.NoteAdded{Text: "x"}, "of"},
		{"a subject of no class", events.NoteAdded{Of: events.Subject{Class: "lamp", ID: "x"}, Text: "x"}, "of"},
		{"a subject of no id", events.HoldPlaced{Of: events.Device(""), Why: "x"}, "of"},
		{"power of a room", events.PowerOff{Of: events.Room("2.14")}, "of"},
		{"power of a hub", events.PowerOn{Of: events.Hub("H2")}, "of"},
		{"an unnamed dark device", events.PowerOff{Of: events.Circuit("C3"), Dark: []events.Tag{"a", ""}}, "dark"},

		{"a kind of device there is not", listed(func(p *events.DeviceListed) { p.Is = "lamp" }), "is"},
		{"a radio there is not", listed(func(p *events.DeviceListed) { p.Radio = "MESH" }), "radio"},
		{"no radio", listed(func(p *events.DeviceListed) { p.Radio = "" }), "radio"},
		{"a power there is not", listed(func(p *events.DeviceListed) { p.Power = "solar" }), "power"},
		{"a date of another form", listed(func(p *events.DeviceListed) { p.WarrantyStart = "31.3.2026" }), "warranty_start"},
		{"a date with one digit", listed(func(p *events.DeviceListed) { p.WarrantyStart = "2026-3-31" }), "warranty_start"},
		{"a day there is not", listed(func(p *events.DeviceListed) { p.WarrantyStart = "2026-02-29" }), "warranty_start"},
		{"a date with a time", listed(func(p *events.DeviceListed) { p.WarrantyStart = "2026-03-31T00:00:00Z" }), "warranty_start"},
		{"a negative warranty", listed(func(p *events.DeviceListed) { p.WarrantyMonths = -1 }), "warranty_months"},
		{"a warranty of a century and a month", listed(func(p *events.DeviceListed) { p.WarrantyMonths = 1201 }), "warranty_months"},
		{"a place off the earth", listed(func(p *events.DeviceListed) { p.Place = events.Some(events.Point{Z: 1_000_000_001}) }), "place"},
		{"a floor below all", events.FloorListed{Floor: "x", Level: -100}, "level"},
		{"a hub of no radio", events.HubListed{Hub: "H2", Radio: "lora"}, "radio"},
		{"a rename to itself", events.DeviceRenamed{From: "a", To: "a"}, "to"},
		{"a wall of one point", events.WallListed{Wall: "W", Floor: "2", Material: "glass", Thickness: 6, Line: line[:1]}, "line"},
		{"a wall of no thickness", events.WallListed{Wall: "W", Floor: "2", Material: "glass", Line: line}, "thickness_mm"},
		{"a wall of ten metres and more", events.WallListed{Wall: "W", Floor: "2", Material: "glass", Thickness: 10_001, Line: line}, "thickness_mm"},

		{"a channel below 0", events.HubChannel{Hub: "H2", Radio: events.Mesh, Channel: -1}, "channel"},
		{"a channel past 999", events.HubChannel{Hub: "H2", Radio: events.Mesh, Channel: 1000}, "channel"},
		{"a program that lists all and some", events.HubLoaded{Hub: "H2", Program: "r7", All: true, Lists: []events.Tag{"a"}}, "all"},
		{"a pairing by magic", events.DevicePaired{Device: "a", Hub: "H2", How: "magic"}, "how"},
		{"a pairing to nothing", events.DevicePaired{Device: "a"}, "hub"},
		{"a pairing of nothing", events.DevicePaired{Hub: "H2"}, "device"},
		{"a serial from nowhere", events.DeviceFitted{Device: "a", Serial: "s", Source: "memory"}, "source"},
		{"no serial", events.DeviceFitted{Device: "a"}, "serial"},
		{"a refusal for no reason", events.DeviceRefused{Device: "a"}, "why"},
		{"a skip for a reason there is not", events.DeviceSkipped{Device: "a", Why: "lunch"}, "why"},
		{"a unit replaced by itself", events.DeviceReplaced{Device: "a", Old: "s", New: "s", Why: "x"}, "new"},
		{"RSSI below the octet", events.DeviceHeard{Device: "a", Hub: "H2", RSSI: events.Some(-175)}, "rssi_dbm"},
		{"RSSI past the octet", events.DeviceHeard{Device: "a", Hub: "H2", RSSI: events.Some(81)}, "rssi_dbm"},
		{"LQI past the octet", events.DeviceHeard{Device: "a", Hub: "H2", LQI: events.Some(256)}, "lqi"},
		{"a link that was not measured", events.LinkMeasured{A: "a", B: "b"}, "rssi_dbm"},
		{"a link to itself", events.LinkMeasured{A: "a", B: "a", LQI: events.Some(1)}, "b"},
		{"more delivered than sent", events.LinkMeasured{A: "a", B: "b", PDR: events.Some[int64](1_000_001)}, "pdr_ppm"},
		{"a push that began before 1970", events.PushDone{Hub: "H2", Program: "r7", Began: events.Some[events.Instant](-1)}, "began"},
		{"an unnamed missed device", events.PushDone{Hub: "H2", Program: "r7", Missed: []events.Tag{""}}, "missed"},
		{"Wi-Fi channel 0", events.WifiSurveyed{Floor: "2", Heard: []events.AccessPoint{{Width: 20}}}, "channel"},
		{"a picture of no bytes", events.PhotoAdded{Of: events.Site(), Picture: events.Picture{SHA256: hash(1).String(), Type: "image/png"}}, "bytes"},
		{"a picture of no hash", events.PhotoAdded{Of: events.Site(), Picture: events.Picture{Bytes: 1, Type: "image/png"}}, "sha256"},
		{"a drawing of no scale", events.DrawingPlaced{Floor: "2", Picture: picture}, "pixel_um"},
		{"a drawing turned twice", events.DrawingPlaced{Floor: "2", Picture: picture, Pixel: 1, Turn: 360_001}, "turn_mdeg"},
		{"an accuracy below 0", events.DevicePlaced{Device: "a", Accuracy: -1}, "accuracy_mm"},
		{"a test there is not", events.TestPlanned{Room: "r", Test: "smell"}, "test"},
		{"a limit of no name", events.TestPlanned{Room: "r", Test: events.TestManual, Limits: map[string]int64{"": 1}}, "limits"},
		{"a limit of 2^53", events.TestPlanned{Room: "r", Test: events.TestManual, Limits: map[string]int64{"off_s": 1 << 53}}, "off_s"},

		{"a fault of no severity", events.FaultFound{Of: events.Site(), Symptom: "x"}, "severity"},
		{"a fault assigned to nobody for nothing", events.FaultAssigned{Fault: fault}, "owner"},
		{"no fault cleared", events.FaultCleared{}, "fault"},
		{"a fault of no seq", events.FaultCleared{Fault: events.Ref{Feed: adaFeed}}, "fault"},
		{"nothing voided", events.EventVoided{Why: events.DidNotHappen}, "event"},
		{"a void for no reason", events.EventVoided{Event: fault}, "why"},
		{"a conflict of no key", events.ConflictResolved{Why: "x"}, "key"},
		{"work signed by nobody", events.WorkSigned{Of: events.Site(), Scope: "x", As: "lead"}, "signer"},

		{"no settings", events.SettingsChanged{}, "set"},
		{"a setting of no name", events.SettingsChanged{Set: map[events.SettingKey]string{"": "1"}}, "set"},
		{"a setting of two lines", events.SettingsChanged{Set: map[events.SettingKey]string{"region": "E\nU"}}, "region"},
		{"a root that is no key", events.SiteOpened{Name: "E", Root: "abc", Zone: "UTC"}, "root"},
		{"a feed after no feed", events.FeedStarted{Previous: "x", Why: events.Restored}, "previous"},
		{"a feed for no reason", events.FeedStarted{}, "why"},
		{"a last line of no hash", events.FeedStarted{Why: events.TornTail, Last: events.Some(events.Head{Seq: 1})}, "last"},
		{"a head of seq 0", events.RecordsExported{Export: "X", Heads: map[events.FeedID]events.Head{benFeed: {Hash: hash(1)}}}, "heads"},
		{"a head of no hash", events.RecordsExported{Export: "X", Heads: map[events.FeedID]events.Head{benFeed: {Seq: 1}}}, "heads"},
		{"a head of no feed", events.RecordsExported{Export: "X", Heads: map[events.FeedID]events.Head{"x": {Seq: 1, Hash: hash(1)}}}, "heads"},

		{"a member of no name", joined(func(p *events.MemberJoined) { p.Name = "" }), "name"},
		{"a role there is not", joined(func(p *events.MemberJoined) { p.Role = "boss" }), "role"},
		{"a key that is none", joined(func(p *events.MemberJoined) { p.Key = "x" }), "key"},
		{"no bus key", joined(func(p *events.MemberJoined) { p.Bus = "" }), "bus"},
		{"one key for feed and bus", joined(func(p *events.MemberJoined) { p.Bus = p.Key }), "bus"},
		{"no proof", joined(func(p *events.MemberJoined) { p.Proof = "" }), "proof"},
		{"a grant of no role", joined(func(p *events.MemberJoined) { p.Grant.Value.Role = "" }), "role"},
		{"a grant of no signature", joined(func(p *events.MemberJoined) { p.Grant.Value.Signature = "x" }), "signature"},
		{"a grant that ended before 1970", joined(func(p *events.MemberJoined) { p.Grant.Value.Expires = -1 }), "expires"},
		{"a revocation for no reason", events.MemberRevoked{Key: ben, Heads: noHeads}, "why"},
		{"a revocation with half a proof", events.MemberRevoked{Key: ben, Heads: noHeads, Why: "x", Proof: "AAAA"}, "proof"},
		{"an admission on no invite", events.MemberAdmitted{Key: ben}, "invite"},
		{"an assignment of nobody", events.HubAssigned{Hub: "H2"}, "member"},
		{"an answer that ends before it begins", events.MemberAsked{Member: ben, Hub: "H2", Last: events.Some(events.Interval{From: 2, To: 1})}, "last"},
		{"a comparison with no boot of mine", events.ClockCompared{Other: ben, Theirs: reading}, "mono"},
		{"a round trip below 0", events.ClockCompared{Other: ben, Mine: reading, Theirs: reading, RoundTrip: -1}, "round_trip"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := events.EncodeBody(c.said)
			require.Error(t, err)
			require.Regexp(t, `(^|[ :])`+c.field+`\b`, err.Error(), "the message names the field")
			_, err = benSays(c.said).Encode()
			require.ErrorContains(t, err, string(c.said.Kind()), "and the kind")
		})
	}
}

func TestShapeOfEnvelopes(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(*events.Event)
		field string
	}{
		{"no site", func(e *events.Event) { e.Site = "" }, "site"},
		{"no feed", func(e *events.Event) { e.Feed = "" }, "feed"},
		{"seq 0", func(e *events.Event) { e.Seq = 0 }, "seq"},
		{"seq 2^53", func(e *events.Event) { e.Seq = 1 << 53 }, "seq"},
		{"a seq past what an int64 holds", func(e *events.Event) { e.Seq = 1<<63 + 7 }, "seq"},
		{"a first event after another", func(e *events.Event) { e.Seq = 1 }, "prev"},
		{"a seventh event after none", func(e *events.Event) { e.Prev = events.Hash{} }, "prev"},
		{"an hlc before 1970", func(e *events.Event) { e.HLC.L = -1 }, "hlc"},
		{"a counter of 2^53", func(e *events.Event) { e.HLC.C = 1 << 53 }, "hlc"},
		{"a wall clock before 1970", func(e *events.Event) { e.Wall.At = -1 }, "wall"},
		{"an offset of more than a day", func(e *events.Event) { e.Wall.Offset = 1441 }, "wall"},
		{"a mono clock of no boot", func(e *events.Event) { e.Mono.Boot = "" }, "mono"},
		{"a mono clock before its boot", func(e *events.Event) { e.Mono.Ms = -1 }, "mono"},
		{"when backwards", func(e *events.Event) { e.Told.When.Value.To = 0 }, "when"},
		{"a doer of two lines", func(e *events.Event) { e.Told.By = "Cy\nDee" }, "by"},
		{"a doer with space at the end", func(e *events.Event) { e.Told.By = "Cy " }, "by"},
		{"seen at 0", func(e *events.Event) { e.Seen[0].Seq = 0 }, "seen"},
		{"seen of no feed", func(e *events.Event) { e.Seen[0].Feed = "x" }, "seen"},
		{"seen twice", func(e *events.Event) { e.Seen = append(e.Seen, e.Seen[0]) }, "seen"},
		{"seen unsorted", func(e *events.Event) {
			e.Seen = append(e.Seen, events.Ref{Feed: events.NewFeedID(ben, [8]byte{}), Seq: 1})
		}, "seen"},
	} {
		t.Run(c.name, func(t *testing.T) {
			e := benSays(events.HubReady{Hub: "H2"})
			c.spoil(e)
			signed, err := e.Encode()
			require.Error(t, err)
			require.Regexp(t, `(^|[ :])`+c.field+`\b`, err.Error(), "the message names the field")
			require.Nil(t, signed)
		})
	}
}
