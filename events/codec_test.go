package events_test

import (
	"bytes"
	"encoding/json"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
)

func sortedRefs(refs []events.Ref) []events.Ref {
	if len(refs) == 0 {
		return nil
	}
	slices.SortFunc(refs, events.Ref.Compare)
	return refs
}

func TestWhatIsWrittenReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := spoken.Draw(t, "event")
		signed, err := want.Encode()
		require.NoError(t, err)
		got, err := events.Decode(signed)
		require.NoError(t, err)
		want.Hash = events.HashOf(signed)
		require.Equal(t, *want, got)
	})
}

func TestEveryKindReadsBack(t *testing.T) {
	for _, m := range models {
		t.Run(string(m.kind()), rapid.MakeCheck(func(t *rapid.T) {
			want := payloadOf(m).Draw(t, "payload")
			body, err := events.EncodeBody(want)
			require.NoError(t, err)
			got, err := events.DecodeBody(m.kind(), body)
			require.NoError(t, err)
			require.Equal(t, want, got)
			requireWords(t, got)
		}))
	}
}

// A reader that knows nothing of canonical form reads a line as plain JSON.
func TestWhatIsWrittenIsCompactJSON(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		signed, err := spoken.Draw(t, "event").Encode()
		require.NoError(t, err)
		line := append(signed, '}')
		var compact bytes.Buffer
		require.NoError(t, json.Compact(&compact, line))
		require.Equal(t, compact.String(), string(line))
		require.NotContains(t, string(line), "\n")
	})
}

// An event is shared by whoever holds it; writing one must not touch it, nor
// may a failed attempt (here: of an event with no site).
func TestWritingLeavesTheEventAlone(t *testing.T) {
	for _, v := range vectors() {
		e := benSays(v.full)
		e.Site = ""
		_, err := e.Encode()
		require.Error(t, err)
		e.Site = site
		require.Equal(t, benSays(v.full), e)

		var wg sync.WaitGroup
		for range 2 { // the race detector watches
			wg.Go(func() { _, _ = e.Encode() })
		}
		wg.Wait()
	}
}

// Any bytes at all are refused, or kept as not understood, or are exactly what
// would be written.
func FuzzDecode(f *testing.F) {
	for _, v := range vectors() {
		for _, e := range []*events.Event{benSays(v.full), benSaysBriefly(v.minimal)} {
			signed, err := e.Encode()
			require.NoError(f, err)
			f.Add(signed)
			f.Add(bytes.Replace(signed, []byte(`"v":1`), []byte(`"v":99`), 1))
			f.Add(bytes.Replace(signed, []byte(`"kind":"`), []byte(`"kind":"x`), 1))
			f.Add(signed[:len(signed)/2])
		}
	}
	shared := events.NewLexicon(1000)
	f.Fuzz(func(t *testing.T, signed []byte) {
		e, err := events.Decode(signed)
		if err != nil {
			return
		}
		require.Equal(t, events.HashOf(signed), e.Hash)
		for range 2 {
			h, n, err := shared.ParseHeader(signed)
			require.NoError(t, err)
			require.Equal(t, e, shared.Decode(h, n, e.Hash, signed))
		}
		if !e.Understood() {
			require.NotEmpty(t, e.Payload.String())
			_, err := e.Encode()
			require.Error(t, err, "only what is understood is ever written")
			return
		}
		again, err := e.Encode()
		require.NoError(t, err)
		require.Equal(t, string(signed), string(again))
	})
}

func FuzzDecodeBody(f *testing.F) {
	for _, v := range vectors() {
		for _, p := range v.payloads() {
			body, err := events.EncodeBody(p)
			require.NoError(f, err)
			f.Add(string(v.kind()), body)
		}
	}
	f.Fuzz(func(t *testing.T, kind string, body []byte) {
		p, err := events.DecodeBody(events.Kind(kind), body)
		if err != nil {
			return
		}
		again, err := events.EncodeBody(p)
		require.NoError(t, err)
		require.Equal(t, string(body), string(again))
	})
}

// A payload that this version can't write, or that is not a value of the union,
// is an error and no panic.
func TestWhatCannotBeWritten(t *testing.T) {
	for _, c := range []struct {
		name string
		said events.Payload
		why  string
	}{
		{"nothing", nil, "payload is missing"},
		{"an unknown kind", events.Opaque{Of: "device.levitated"}, "device.levitated"},
		{"an opaque of a known kind", events.Opaque{Of: "device.paired"}, "payload is events.Opaque"},
		{"what was not read", events.Unread{Of: "device.paired"}, "payload is events.Unread"},
		{"an opaque of no kind at all", events.Opaque{}, "not known"},
		{"a pointer to a payload", &events.HubReady{Hub: "H2"}, "payload is *events.HubReady"},
		{"a payload with a gap", events.DevicePaired{Device: "2-114"}, "hub: is empty"},
	} {
		t.Run(c.name, func(t *testing.T) {
			signed, err := benSays(c.said).Encode()
			require.ErrorContains(t, err, c.why)
			require.Empty(t, signed)
			if c.said != nil {
				body, err := events.EncodeBody(c.said)
				require.ErrorContains(t, err, c.why)
				require.Empty(t, body)
			}
		})
	}
}

// A line that can't be folded keeps its place, its hash and what else of its
// envelope can be read.
func TestWhatIsNotUnderstoodIsKept(t *testing.T) {
	signed, err := benSays(events.HubReady{Hub: "H2"}).Encode()
	require.NoError(t, err)
	for _, c := range []struct {
		name, old, new string
		kind           events.Kind
		envelope       bool
	}{
		{"a later version", `"v":1`, `"v":99`, "", false},
		{"an unknown kind", `hub.ready`, `hub.purrs`, "hub.purrs", true},
		{"a body of another shape", `{"hub":"H2"}`, `{"hub":"H2","mood":"good"}`, "hub.ready", true},
		{"a body with a space", `{"hub":"H2"}`, `{"hub": "H2"}`, "hub.ready", true},
		{"a body that breaks a rule", `{"hub":"H2"}`, `{"hub":" H2"}`, "hub.ready", true},
		{"no body at all", `,"body":{"hub":"H2"}`, ``, "hub.ready", false},
		{"no kind", `,"kind":"hub.ready"`, ``, "", false},
		{"an envelope of another shape", `"hlc":[`, `"tlc":[`, "", false},
		{"bytes after the body", `{"hub":"H2"}`, `{"hub":"H2"}}`, "hub.ready", true},
	} {
		t.Run(c.name, func(t *testing.T) {
			odd := bytes.Replace(signed, []byte(c.old), []byte(c.new), 1)
			require.NotEqual(t, signed, odd)
			e, err := events.Decode(odd)
			require.NoError(t, err)
			require.False(t, e.Understood())
			require.Equal(t, c.kind, e.Kind())
			require.Equal(t, events.HashOf(odd), e.Hash)
			require.Equal(t, [2]any{benFeed, events.Seq(7)}, [2]any{e.Feed, e.Seq})
			require.Equal(t, hash(6), e.Prev)
			require.Empty(t, e.Payload.Subjects())
			if c.envelope {
				require.Equal(t, benSays(nil).HLC, e.HLC)
				require.Equal(t, benSays(nil).Seen, e.Seen)
			}
		})
	}
}
