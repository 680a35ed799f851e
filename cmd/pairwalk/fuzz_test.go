package main

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

// mostMs is the latest instant that an entry can name, and any other whole number
// of the log.
const mostMs = events.Instant(1<<53 - 1)

// FuzzMadeUpClock reads any text as PAIRWALK_CLOCK: a clock that is taken gives
// readings that entries can be made of.
func FuzzMadeUpClock(f *testing.F) {
	for _, s := range []string{
		"2026-03-02T09:00:00Z", "+3m", "-90s", "+11m", "0", "-2562047h47m16s", "9999-12-31T23:59:59Z", "0000-01-01T00:00:00Z", "1969-12-31T23:59:59-12:00", "2026-03-02T09:00:00.999999999+14:00", "now",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, spec string) {
		clock, err := madeUpClock(spec, deviceStamp)
		if err != nil {
			require.ErrorContains(t, err, "PAIRWALK_CLOCK is ")
			return
		}
		first, then := clock(), clock()
		for _, s := range []events.Stamp{first, then} {
			require.GreaterOrEqual(t, s.Wall.At, events.Instant(0))
			require.LessOrEqual(t, s.Wall.At, mostMs)
			require.GreaterOrEqual(t, s.Mono.Ms, int64(0))
		}
		require.GreaterOrEqual(t, then.Mono.Ms, first.Mono.Ms, "it runs forward")
	})
}

// FuzzRelayAt reads any text as where a router would be put.
func FuzzRelayAt(f *testing.F) {
	for _, s := range []string{"12.5,3,2.7", "H2:12.5,3,2.7", ":1,2,3", "a:b:1,2,3", "1,2", "NaN,0,0", "1e6,-1e6,0x1p3", "Inf,0,0", "1_0,2,3"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		r, err := relayAt(text)
		if err != nil {
			return
		}
		for _, v := range []int64{r.Place.X, r.Place.Y, r.Place.Z} {
			require.LessOrEqual(t, max(v, -v), int64(1e9))
		}
		require.True(t, strings.HasPrefix(text, string(r.Hub)))
	})
}

// FuzzJudge shows the door of a serving process any call: it is taken only from the
// same build, for the same folder.
func FuzzJudge(f *testing.F) {
	folder := f.TempDir()
	d := &door{host: &host{}, folder: folder}
	good, err := json.Marshal(call{V: callVersion, Build: build(), Folder: []byte(folder), Args: [][]byte{[]byte("status")}})
	require.NoError(f, err)
	f.Add(byte(frameCall), good)
	f.Add(byte(frameCall), []byte(`{"v":1}`))
	f.Add(byte(frameCall), []byte(strings.Replace(string(good), `"env":null`, `"env":{"PAIRWALK_CLOCK":"+1h"}`, 1)))
	f.Add(byte(frameAsk), good)
	f.Fuzz(func(t *testing.T, kind byte, body []byte) {
		c, verdict, words := d.judge(frame{kind, body})
		if verdict != frameTaken {
			require.Equal(t, verdict == frameRefused, words != "")
			return
		}
		require.Equal(t, byte(frameCall), kind)
		require.Equal(t, build(), c.Build)
		require.Empty(t, c.Env["PAIRWALK_CLOCK"])
		_ = c.args()
	})
}
