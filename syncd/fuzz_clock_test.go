package syncd_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal/journaltest"
	"pairwalk/syncd"
)

// FuzzCompareClocks takes any answer to the question what a peer's clock says:
// whatever it claims, the comparison stays within what was seen here.
func FuzzCompareClocks(f *testing.F) {
	stamp := func(wall, mono int64) events.Stamp {
		return events.Stamp{Wall: events.Wall{At: events.Instant(wall)}, Mono: events.Mono{Boot: "boot 1", Ms: mono}}
	}
	t1, t4 := stamp(1_772_442_000_000, 5000), stamp(1_772_442_000_040, 5040)
	now := t1
	f.Add(syncd.AnswerClock(func() events.Stamp {
		now.Wall.At, now.Mono.Ms = now.Wall.At+9, now.Mono.Ms+9
		return now
	}))
	f.Add([]byte(`{"v":1,"got":{"wall":0,"boot":"b","mono":0},"sent":{"wall":9007199254740990,"boot":"b","mono":9007199254740990}}`))
	f.Add([]byte(`{"v":1,"got":{"wall":9007199254740990,"boot":"b","mono":1},"sent":{"wall":9007199254740990,"boot":"b","mono":1}}`))
	f.Add([]byte(`{"v":1,"got":{"wall":-1,"boot":"","mono":1},"sent":{"wall":1,"boot":"","mono":1}}`))
	f.Add([]byte("{}"))
	f.Fuzz(func(t *testing.T, answer []byte) {
		s, err := syncd.CompareClocks(t1, answer, t4)
		if err != nil {
			return
		}
		require.Equal(t, events.Reading{Wall: t4.Wall.At, Mono: t4.Mono}, s.Mine)
		require.Positive(t, s.RoundTrip)
		require.LessOrEqual(t, s.RoundTrip, int64(40+10), "no longer than it was on its way")
		require.True(t, s.Theirs.Mono.Known())
		require.GreaterOrEqual(t, s.Theirs.Wall, events.Instant(0))
		require.InDelta(t, float64(s.Theirs.Wall-t4.Wall.At), float64(s.Offset), 60, "the offset is that of the clock it showed")
		_, err = events.EncodeBody(events.ClockCompared{Other: journaltest.NewAuthor(9).Start().Feed().Key(), Mine: s.Mine, Theirs: s.Theirs, Offset: s.Offset, RoundTrip: s.RoundTrip})
		require.NoError(t, err, "what is accepted can be logged")
	})
}
