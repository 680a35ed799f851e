package projection_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
	"pairwalk/projection/tale/chance"
)

// Whoever is given what somebody knew, and nothing else, sees what they saw.
func TestAnExcerptReadsAsTheViewItIsOf(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := chance.Story(t)
		h := s.History()
		who := rapid.SampledFrom(s.Events()).Draw(t, "entry by")
		k := projection.Known{Member: who.Member()}
		if rapid.Bool().Draw(t, "at a time") {
			k.At = events.Some(tale.T("08:00") + events.Instant(rapid.IntRange(0, 600*60_000).Draw(t, "known at")))
		}
		want := h.At(projection.Moment{Known: k})
		x := h.Excerpt(k)
		got := x.At(projection.Moment{})
		got.Moment.Known = k
		requireSame(t, want, got, "as known to "+string(k.Member.Short()))

		early := projection.Moment{When: events.Some(want.Moment.When.Value - 600_000), Known: k}
		want, got = h.At(early), x.At(projection.Moment{When: early.When})
		got.Moment.Known = k
		requireSame(t, want, got, "ten minutes before")
	})
}

func TestAnExcerptIsApartFromItsHistory(t *testing.T) {
	s, bo := duo()
	s.Lead.Say("09:00", paired("1-1", "H1"))
	h := s.History()
	all, bos := h.Excerpt(projection.Known{}), h.Excerpt(projection.Known{Member: bo.Key})
	require.Equal(t, h.Len(), all.Len())
	require.Less(t, bos.Len(), all.Len(), "bo had not heard of the pairing")
	h.Add(*s.Lead.Say("09:10", paired("1-2", "H1")))
	require.Equal(t, h.Len()-1, all.Len())
}
