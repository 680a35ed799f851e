package events_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
)

// The rules and the trace are those of Kulkarni, Demirbas, Madappa, Avva and
// Leone, "Logical Physical Clocks" (OPODIS 2014), fig. 5; the readings are
// computed by hand from its rules. All clocks begin at (0,0).
func TestHLCTrace(t *testing.T) {
	const local, send, receive = "local", "send", "receive"
	clocks := map[string]events.HLC{}
	for _, step := range []struct {
		who, act string
		pt       events.Instant
		message  events.HLC
		want     events.HLC
	}{
		{"A", local, 10, events.HLC{}, events.HLC{L: 10, C: 0}},
		{"A", send, 10, events.HLC{}, events.HLC{L: 10, C: 1}},
		{"B", receive, 5, events.HLC{L: 10, C: 1}, events.HLC{L: 10, C: 2}},
		{"B", send, 6, events.HLC{}, events.HLC{L: 10, C: 3}},
		{"C", receive, 10, events.HLC{L: 10, C: 3}, events.HLC{L: 10, C: 4}},
		{"C", receive, 12, events.HLC{L: 10, C: 3}, events.HLC{L: 12, C: 0}},
		{"A", receive, 11, events.HLC{L: 12, C: 0}, events.HLC{L: 12, C: 1}},
		{"B", receive, 12, events.HLC{L: 12, C: 1}, events.HLC{L: 12, C: 2}},
		{"B", receive, 12, events.HLC{L: 12, C: 1}, events.HLC{L: 12, C: 3}},
		{"A", send, 20, events.HLC{}, events.HLC{L: 20, C: 0}},
		{"B", receive, 30, events.HLC{L: 20, C: 0}, events.HLC{L: 30, C: 0}},
	} {
		clock := clocks[step.who]
		if step.act == receive {
			clock = clock.Merge(step.message, step.pt)
		} else {
			clock = clock.Tick(step.pt)
		}
		require.Equal(t, step.want, clock, "%s %s at %d", step.who, step.act, step.pt)
		clocks[step.who] = clock
	}
}

func TestHLCAlwaysRises(t *testing.T) {
	clock := rapid.Custom(func(t *rapid.T) events.HLC {
		small := rapid.Int64Range(0, 3) // small, so that ties are common
		edge := rapid.SampledFrom([]int64{0, 1, 2, 1<<53 - 2, 1<<53 - 1})
		return events.HLC{L: events.Instant(small.Draw(t, "l")), C: edge.Draw(t, "c")}
	})
	rapid.Check(t, func(t *rapid.T) {
		h, m := clock.Draw(t, "mine"), clock.Draw(t, "theirs")
		pt := events.Instant(rapid.Int64Range(0, 3).Draw(t, "pt"))
		require.True(t, h.Before(h.Next()))
		require.True(t, h.Before(h.Tick(pt)))
		merged := h.Merge(m, pt)
		require.True(t, h.Before(merged))
		require.True(t, m.Before(merged))
		require.Equal(t, h.Compare(m), -m.Compare(h))
		require.Equal(t, h == m, h.Compare(m) == 0)
		require.LessOrEqual(t, merged.C, int64(1<<53-1), "what a clock shows can be written")
		require.LessOrEqual(t, h.Tick(pt).C, int64(1<<53-1), "what a clock shows can be written")
	})
}

// A member whose counter stands at its end must not stop everybody who hears
// them from writing.
func TestAFullCounterCarries(t *testing.T) {
	full := events.HLC{L: nine, C: 1<<53 - 1}
	require.Equal(t, events.HLC{L: nine + 1}, full.Next())
	e := benSays(events.HubReady{Hub: "H2"})
	e.HLC = events.HLC{}.Hear(full, nine-1000)
	_, err := e.Encode()
	require.NoError(t, err)
	require.True(t, full.Before(e.HLC))
}

// One phone set to next year must not drag the whole team there.
func TestHearLeavesAStrangersFutureAlone(t *testing.T) {
	mine := events.HLC{L: nine, C: 4}
	limit := nine.Add(events.MaxAhead)
	require.Equal(t, events.HLC{L: limit, C: 8}, mine.Hear(events.HLC{L: limit, C: 7}, nine), "just within")
	require.Equal(t, mine, mine.Hear(events.HLC{L: limit + 1}, nine), "just past")
	require.Equal(t, mine, mine.Hear(events.HLC{L: 1<<53 - 1}, nine))
	require.Equal(t, events.HLC{L: nine, C: 5}, mine.Hear(events.HLC{L: 3}, nine), "an old one is merged")
}
