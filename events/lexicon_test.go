package events_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
)

// Whatever was read before, a line means what it means by itself: lines of random
// members, some of them broken anywhere, read alike with a lexicon and without.
func TestALexiconChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := events.NewLexicon(rapid.IntRange(0, 300).Draw(t, "lines"))
		if rapid.Bool().Draw(t, "no table") {
			x = &events.Lexicon{}
		}
		said := rapid.SliceOfN(spoken, 1, 4).Draw(t, "events")
		for range rapid.IntRange(1, 8).Draw(t, "readings") {
			signed, err := rapid.SampledFrom(said).Draw(t, "event").Encode()
			require.NoError(t, err)
			if rapid.Bool().Draw(t, "broken") {
				signed = broken(t, signed)
			}
			want, wantErr := events.Decode(signed)
			h, n, err := x.ParseHeader(signed)
			if wantErr != nil {
				require.EqualError(t, err, wantErr.Error())
				continue
			}
			require.NoError(t, err)
			require.Equal(t, want, x.Decode(h, n, events.HashOf(signed), signed))
		}
	})
}

// broken is a line in which bytes were changed, left out or put in; often such as
// mean something in JSON.
func broken(t *rapid.T, signed []byte) []byte {
	at := rapid.IntRange(0, len(signed)-1).Draw(t, "at")
	until := at + rapid.IntRange(0, min(3, len(signed)-at)).Draw(t, "out")
	in := rapid.SliceOfN(rapid.OneOf(rapid.SampledFrom([]byte(`"\{}[]:,0-9af`)), rapid.Byte()), 0, 3).Draw(t, "in")
	return slices.Concat(signed[:at], in, signed[until:])
}

// A text with a quote in it, once read, is not taken for the same text unescaped.
func TestALexiconTakesNoQuoteForAnEnd(t *testing.T) {
	e := benSays(events.HubReady{Hub: "H2"})
	e.Mono.Boot = `a"b`
	signed, err := e.Encode()
	require.NoError(t, err)
	forged := slices.Concat([]byte(nil), signed)
	i := slices.Index(forged, '\\')
	forged = slices.Delete(forged, i, i+1)
	x := events.NewLexicon(2)
	for _, line := range [][]byte{signed, signed, forged, signed} {
		h, n, err := x.ParseHeader(line)
		require.NoError(t, err)
		e := x.Decode(h, n, events.HashOf(line), line)
		require.Equal(t, string(line) == string(signed), e.Understood())
	}
}

// What lines share is in memory once: the second reading of a line needs no memory
// for its texts.
func TestALexiconSharesTexts(t *testing.T) {
	signed, err := benSays(events.HubReady{Hub: "H2"}).Encode()
	require.NoError(t, err)
	x := events.NewLexicon(100)
	reads := func(x func() *events.Lexicon) float64 {
		return testing.AllocsPerRun(100, func() {
			h, n, err := x().ParseHeader(signed)
			require.NoError(t, err)
			x().Decode(h, n, events.Hash{}, signed)
		})
	}
	shared := reads(func() *events.Lexicon { return x })
	require.Less(t, shared+3, reads(func() *events.Lexicon { return &events.Lexicon{} }))
}

// What a line says is all that takes memory of its own: the payload, and what it or
// the envelope lists.
func TestReadingALineMakesItsPayloadAndNoMore(t *testing.T) {
	for _, p := range []events.Payload{
		events.DevicePaired{Device: "2-114", Hub: "H2", Serial: "00124B0014", How: events.ByButton},
		events.DeviceHeard{Device: "2-114", Hub: "H2", RSSI: events.Some(-71), LQI: events.Some(180)},
		events.FaultCleared{Fault: events.Ref{Feed: adaFeed, Seq: 12, Hash: hash(12).Short()}, Action: "relamped"},
	} {
		signed, err := benSaysBriefly(p).Encode()
		require.NoError(t, err)
		x := events.NewLexicon(1 << 20) // so large that no two of its words are in each other's way
		require.Equal(t, 1.0, testing.AllocsPerRun(100, func() {
			h, n, err := x.ParseHeader(signed)
			require.NoError(t, err)
			require.True(t, x.Decode(h, n, events.Hash{}, signed).Payload != nil)
		}), p.Kind())
	}
}

// A line that ends too soon, wherever that is, is not understood.
func TestHalfALine(t *testing.T) {
	signed, err := benSays(events.HubReady{Hub: "H2"}).Encode()
	require.NoError(t, err)
	for n := range signed {
		e, err := events.Decode(signed[:n])
		require.True(t, err != nil || !e.Understood(), "%s", signed[:n])
	}
}

// Feeds of one member, and a feed with a letter changed, are told apart.
func TestALexiconTellsFeedsApart(t *testing.T) {
	first, second := benSays(events.HubReady{Hub: "H2"}), benSays(events.HubReady{Hub: "H2"})
	second.Feed = events.NewFeedID(first.Member(), [8]byte{7: 1})
	x := events.NewLexicon(4)
	for range 2 {
		for _, e := range []*events.Event{first, second} {
			signed, err := e.Encode()
			require.NoError(t, err)
			h, _, err := x.ParseHeader(signed)
			require.NoError(t, err)
			require.Equal(t, e.Feed, h.Feed)
			signed[slices.Index(signed, byte('.'))+13] = '0' // no letter of a feed
			_, _, err = x.ParseHeader(signed)
			require.Error(t, err)
		}
	}
}
