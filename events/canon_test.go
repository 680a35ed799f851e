package events_test

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

// RFC 8785 §3.2.2.2: short escapes where JSON has them, \u00xx in lower case for
// other controls, everything else as it is. The rules of shape let no control
// but line feed and tab into an event; escape_internal_test.go tries the rest.
func TestStringsAreWrittenAsRFC8785Prescribes(t *testing.T) {
	for text, want := range map[string]string{
		"\u20ac$\nA'B\"\\\\\"/":  `"€$\nA'B\"\\\\\"/"`, // RFC 8785 §3.2.2, but for U+000F, which no text of ours may hold
		"tab\tfeed\n":            `"tab\tfeed\n"`,
		"<script>&amp;</script>": `"<script>&amp;</script>"`,
		"\u2028\u2029x":          "\"\u2028\u2029x\"",
		"é e\u0301":              "\"é e\u0301\"", // no normalisation
		"漢😀\U0010ffff":           "\"漢😀\U0010ffff\"",
		"\\u0041":                `"\\u0041"`,
		`","sig":"`:              `"\",\"sig\":\""`,
	} {
		body, err := events.EncodeBody(events.NoteAdded{Of: events.Site(), Text: text})
		require.NoError(t, err)
		require.Equal(t, `{"of":"site:site","text":`+want+`}`, string(body))
		var plain struct{ Text string }
		require.NoError(t, json.Unmarshal(body, &plain))
		require.Equal(t, text, plain.Text)
	}
}

// Every other way to write the same thing is refused, so that a body which is
// read is a body which can be written.
func TestOnlyCanonicalBodiesAreRead(t *testing.T) {
	long := strings.Repeat("x", 60_000)
	for _, c := range []struct {
		name, kind, body string
	}{
		{"an escaped printable character", "note.added", `{"of":"site:site","text":"\u0041"}`},
		{"an escaped quote, in hex", "note.added", `{"of":"site:site","text":"\u0022"}`},
		{"an escaped slash", "note.added", `{"of":"site:site","text":"a\/b"}`},
		{"a line feed in hex", "note.added", `{"of":"site:site","text":"a\u000ab"}`},
		{"a line feed as it is", "note.added", "{\"of\":\"site:site\",\"text\":\"a\nb\"}"},
		{"a tab as it is", "note.added", "{\"of\":\"site:site\",\"text\":\"a\tb\"}"},
		{"a tab in upper-case hex", "note.added", `{"of":"site:site","text":"a\U0009b"}`},
		{"a control character", "note.added", `{"of":"site:site","text":"a\u001fb"}`},
		{"a control character in upper-case hex", "note.added", `{"of":"site:site","text":"a\u001Fb"}`},
		{"HTML escapes", "note.added", `{"of":"site:site","text":"\u003cb\u003e"}`},
		{"U+2028 escaped", "note.added", `{"of":"site:site","text":"a\u2028b"}`},
		{"a surrogate pair", "note.added", `{"of":"site:site","text":"\ud83d\ude00"}`},
		{"a lone surrogate", "note.added", `{"of":"site:site","text":"\ud83d"}`},
		{"a lone surrogate in bytes", "note.added", "{\"of\":\"site:site\",\"text\":\"\xed\xa0\xbd\"}"},
		{"invalid UTF-8", "note.added", "{\"of\":\"site:site\",\"text\":\"\xff\"}"},
		{"an overlong encoding", "note.added", "{\"of\":\"site:site\",\"text\":\"\xc0\xaf\"}"},
		{"invalid UTF-8 beside an escape", "note.added", "{\"of\":\"site:site\",\"text\":\"\\n\xff\"}"},
		{"an unknown escape", "note.added", `{"of":"site:site","text":"\x41"}`},
		{"an escape cut short", "note.added", `{"of":"site:site","text":"\u00`},
		{"a string cut short", "note.added", `{"of":"site:site","text":"a`},
		{"a string that ends in an escape", "note.added", `{"of":"site:site","text":"\`},
		{"an empty string", "note.added", `{"of":"site:site","text":""}`},
		{"an escaped key", "note.added", `{"o\u0066":"site:site","text":"a"}`},
		{"single quotes", "note.added", `{'of':'site:site','text':'a'}`},

		{"a space after a colon", "hub.ready", `{"hub": "H2"}`},
		{"a space inside braces", "hub.ready", `{ "hub":"H2"}`},
		{"a line feed at the end", "hub.ready", "{\"hub\":\"H2\"}\n"},
		{"a space before", "hub.ready", ` {"hub":"H2"}`},
		{"a byte order mark", "hub.ready", "\ufeff{\"hub\":\"H2\"}"},
		{"bytes after the end", "hub.ready", `{"hub":"H2"}x`},
		{"a second object", "hub.ready", `{"hub":"H2"}{}`},
		{"an unknown key", "hub.ready", `{"hub":"H2","why":"x"}`},
		{"an unknown key before", "hub.ready", `{"a":1,"hub":"H2"}`},
		{"the same key twice", "hub.ready", `{"hub":"H2","hub":"H2"}`},
		{"a key in another case", "hub.ready", `{"Hub":"H2"}`},
		{"a comma at the end", "hub.ready", `{"hub":"H2",}`},
		{"no object", "hub.ready", `"H2"`},
		{"null for a body", "hub.ready", `null`},
		{"null for a string", "hub.ready", `{"hub":null}`},
		{"a number for a string", "hub.ready", `{"hub":2}`},
		{"nothing", "hub.ready", ``},
		{"an empty object", "hub.ready", `{}`},
		{"very long", "hub.ready", `{"hub":"` + long + `"}`},
		{"very deep", "hub.ready", strings.Repeat(`{"hub":`, 9_000)},
		{"very deep in lists", "push.done", `{"hub":"H2","program":"r7","tried":` + strings.Repeat("[", 60_000)},

		{"keys out of order", "device.paired", `{"hub":"H2","device":"2-114"}`},
		{"null for absent", "device.paired", `{"device":"2-114","hub":"H2","serial":null}`},
		{"empty for absent", "device.paired", `{"device":"2-114","hub":"H2","serial":""}`},
		{"false for absent", "site.opened", `{"name":"E","root":"` + string(root) + `","zone":"UTC","practice":false}`},
		{"0 for absent", "device.placed", `{"device":"2-114","place":[0,0,0],"accuracy_mm":0}`},
		{"0 for absent, where 0 is in range", "drawing.placed", `{"floor":"2","sha256":"` + hash(1).String() + `","bytes":1,"type":"image/png","corner":[0,0],"pixel_um":1,"turn_mdeg":0}`},
		{"an empty list for absent", "push.done", `{"hub":"H2","program":"r7","tried":[]}`},
		{"an empty list of objects for absent", "wifi.surveyed", `{"floor":"2","place":[0,0],"heard":[]}`},
		{"an empty map for absent", "test.planned", `{"room":"2.14","test":"manual","limits":{}}`},
		{"an empty object for absent", "member.joined", `{"name":"Ada","role":"lead","key":"` + string(ada) + `","bus":"` + string(adaBus) + `","grant":{}}`},

		{"a float", "hub.channel", `{"hub":"H2","radio":"mesh","channel":25.0}`},
		{"an exponent", "hub.channel", `{"hub":"H2","radio":"mesh","channel":2e1}`},
		{"a leading zero", "hub.channel", `{"hub":"H2","radio":"mesh","channel":025}`},
		{"a plus", "hub.channel", `{"hub":"H2","radio":"mesh","channel":+25}`},
		{"minus zero", "hub.channel", `{"hub":"H2","radio":"mesh","channel":-0}`},
		{"a minus alone", "hub.channel", `{"hub":"H2","radio":"mesh","channel":-}`},
		{"a number in a string", "hub.channel", `{"hub":"H2","radio":"mesh","channel":"25"}`},
		{"null for a number", "hub.channel", `{"hub":"H2","radio":"mesh","channel":null}`},
		{"no number", "hub.channel", `{"hub":"H2","radio":"mesh","channel":}`},
		{"2^53", "push.done", `{"hub":"H2","program":"r7","began":9007199254740992}`},
		{"2^63", "push.done", `{"hub":"H2","program":"r7","began":9223372036854775808}`},
		{"a number that wraps a uint64 to 7", "fault.cleared", `{"fault":"` + string(adaFeed) + `/18446744073709551623/0102030405060708"}`},
		{"sixty thousand digits", "push.done", `{"hub":"H2","program":"r7","began":` + strings.Repeat("9", 60_000) + `}`},
		{"a number for a flag", "site.opened", `{"name":"E","root":"` + string(root) + `","zone":"UTC","practice":1}`},

		{"an unsorted map", "settings.changed", `{"set":{"b":"1","a":"2"}}`},
		{"a key of a map twice", "settings.changed", `{"set":{"a":"1","a":"2"}}`},
		{"a map sorted by UTF-16, not by bytes", "settings.changed", "{\"set\":{\"😀\":\"1\",\"\uff5e\":\"2\"}}"},
		{"a comma at the end of a map", "settings.changed", `{"set":{"a":"1",}}`},
		{"a comma at the start of a map", "settings.changed", `{"set":{,"a":"1"}}`},
		{"a comma at the end of a list", "push.done", `{"hub":"H2","program":"r7","tried":["a",]}`},
		{"two commas in a list", "push.done", `{"hub":"H2","program":"r7","tried":["a",,"b"]}`},
		{"a point of two numbers", "device.placed", `{"device":"2-114","place":[0,0]}`},
		{"a point of four numbers", "device.placed", `{"device":"2-114","place":[0,0,0,0]}`},
		{"an unknown kind", "hub.purrs", `{"hub":"H2"}`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := events.DecodeBody(events.Kind(c.kind), []byte(c.body))
			require.Error(t, err)
			require.Less(t, len(err.Error()), 400, "a message for people, not a copy of the input")
		})
	}
}

// The largest of everything is read and written.
func TestBoundsAreInclusive(t *testing.T) {
	for _, p := range []events.Payload{
		events.PushDone{Hub: "H2", Program: "r7", Began: events.Some[events.Instant](1<<53 - 1)},
		events.ClockCompared{
			Other: ben, Offset: -(1<<53 - 1), RoundTrip: 1<<53 - 1,
			Mine: events.Reading{Mono: events.Mono{Boot: "a"}}, Theirs: events.Reading{Mono: events.Mono{Boot: "b"}},
		},
		events.HubReady{Hub: events.HubID(strings.Repeat("é", 64))},
		events.HubLost{Hub: "H2", Why: strings.Repeat("漢", 400)},
		events.NoteAdded{Of: events.Site(), Text: strings.Repeat("😀", 4000)},
		events.DeviceHeard{Device: "a", Hub: "H2", RSSI: events.Some(-174), LQI: events.Some(255)},
		events.LinkMeasured{A: "a", B: "b", RSSI: events.Some(80), PDR: events.Some[int64](1_000_000)},
	} {
		body, err := events.EncodeBody(p)
		require.NoError(t, err)
		back, err := events.DecodeBody(p.Kind(), body)
		require.NoError(t, err)
		require.Equal(t, p, back)
	}
}

// A line has no second spelling of nothing before it.
func TestAHashOfZerosIsNone(t *testing.T) {
	signed, err := benSaysBriefly(events.HubReady{Hub: "H2"}).Encode()
	require.NoError(t, err)
	odd := bytes.Replace(signed, []byte(`"prev":""`), []byte(`"prev":"`+strings.Repeat("0", 64)+`"`), 1)
	require.NotEqual(t, string(signed), string(odd))
	_, err = events.Decode(odd)
	require.ErrorContains(t, err, "prev")
	_, err = events.DecodeBody("records.exported", []byte(`{"export":"X1","heads":{"`+string(adaFeed)+`":[1,"`+strings.Repeat("0", 64)+`"]}}`))
	require.ErrorContains(t, err, "heads")
}

// The same holds for the envelope: what is not canonical there leaves the whole
// event not understood, and what is wrong in the header is an error.
func TestOnlyCanonicalEnvelopesAreUnderstood(t *testing.T) {
	signed, err := benSays(events.HubReady{Hub: "H2"}).Encode()
	require.NoError(t, err)
	feed := string(adaFeed)
	for _, c := range []struct{ name, old, new string }{
		{"a float in hlc", `"hlc":[1772442000000,3]`, `"hlc":[1772442000000.0,3]`},
		{"a negative hlc", `"hlc":[1772442000000,3]`, `"hlc":[-1,3]`},
		{"hlc of one number", `"hlc":[1772442000000,3]`, `"hlc":[1772442000000]`},
		{"a counter of 2^53", `,3],"wall"`, `,9007199254740992],"wall"`},
		{"an offset of more than a day", `,60],"mono"`, `,1441],"mono"`},
		{"an offset that wraps an int16 to 60", `,60],"mono"`, `,65596],"mono"`},
		{"a boot of no name", `["boot-1",`, `["",`},
		{"mono before its boot", `,86400000]`, `,-1]`},
		{"when backwards", `"when":[1772440800000,1772441400000]`, `"when":[1772441400000,1772440800000]`},
		{"no doer, but a field", `"by":"Cy, apprentice"`, `"by":""`},
		{"seen empty", `"seen":{"` + feed + `":[12,"ef6cbd2161eaea79"]}`, `"seen":{}`},
		{"seen with a whole hash", `[12,"ef6cbd2161eaea79"]`, `[12,"` + hash(12).String() + `"]`},
		{"seen at 0", `[12,"ef6cbd2161eaea79"]`, `[0,"ef6cbd2161eaea79"]`},
		{"seen of no feed", `{"` + feed + `":`, `{"x":`},
		{"seen twice", `[12,"ef6cbd2161eaea79"]`, `[12,"ef6cbd2161eaea79"],"` + feed + `":[12,"ef6cbd2161eaea79"]`},
		{"fields in another order", `"when":[1772440800000,1772441400000],"by":"Cy, apprentice"`, `"by":"Cy, apprentice","when":[1772440800000,1772441400000]`},
		{"an extra field", `,"by":`, `,"mood":"good","by":`},
		{"a space", `,"by":`, `, "by":`},
		{"no id", `"id":"01KJPWD6M0WA0KTHEF00R2NDT2",`, ``},
		{"no wall", `,"wall":[1772441998500,60]`, ``},
	} {
		t.Run(c.name, func(t *testing.T) {
			odd := bytes.Replace(signed, []byte(c.old), []byte(c.new), 1)
			require.NotEqual(t, string(signed), string(odd), "the row must change something")
			e, err := events.Decode(odd)
			require.NoError(t, err)
			require.False(t, e.Understood())
		})
	}
}
