package events_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

func TestInstant(t *testing.T) {
	at := time.Date(2026, 3, 2, 10, 0, 0, 999_999, time.FixedZone("", 3600))
	require.Equal(t, nine, events.InstantOf(at), "rounded down to the millisecond")
	require.Equal(t, events.Instant(-1), events.InstantOf(time.Unix(0, -1)), "down, also before 1970")
	require.Equal(t, "2026-03-02T09:00:00.000Z", nine.String())
	require.Equal(t, "1970-01-01T00:00:00.007Z", events.Instant(7).String())
	require.Equal(t, nine, events.InstantOf(nine.Time()))
	require.Equal(t, minutes(5), nine.Add(5*time.Minute))
	require.Equal(t, -90*time.Second, nine.Sub(nine+90_000))
}

// A hostile clock may say the year 287396. A difference that a Duration can't
// hold ends at its bounds and never turns its sign.
func TestInstantSubNeverWraps(t *testing.T) {
	const latest events.Instant = 1<<53 - 1
	require.Equal(t, time.Duration(1<<63-1), latest.Sub(0))
	require.Equal(t, time.Duration(-1<<63), nine.Sub(latest))
}

func TestInterval(t *testing.T) {
	require.Equal(t, events.Interval{From: nine, To: nine}, events.At(nine))
	require.Equal(t, events.Interval{From: minutes(-5), To: minutes(5)}, events.Around(nine, 5*time.Minute))
	require.Equal(t, nine, events.Around(nine, 5*time.Minute).Middle())
	require.Equal(t, events.Instant(1), events.Interval{From: 1, To: 2}.Middle(), "rounded down")
	require.Equal(t, events.Instant(-2), events.Interval{From: -2, To: -1}.Middle(), "down, also before 1970")
}

// Base stays put while both clocks run, and moves by as much as somebody sets
// the wall clock.
func TestStampBase(t *testing.T) {
	look := func(wall events.Instant, ms int64) int64 {
		return events.Stamp{Wall: events.Wall{At: wall}, Mono: events.Mono{Boot: "b", Ms: ms}}.Base()
	}
	before := look(nine, 5_000)
	require.Equal(t, before, look(minutes(60), 5_000+3_600_000))
	require.Equal(t, before-180_000, look(minutes(57), 5_000+3_600_000))
	require.False(t, events.Mono{}.Known())
	require.True(t, events.Mono{Boot: "b"}.Known(), "at the very boot it reads 0")
}
