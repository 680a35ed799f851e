package events_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
)

// Events that share hashes say what they said before, whatever follows what.
func TestChainedEventsSayTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		drawn := rapid.SliceOfN(spoken, 1, 6).Draw(t, "events")
		evs, prev := make([]events.Event, len(drawn)), make([]events.Hash, len(drawn))
		for i, e := range drawn {
			evs[i] = *e
			evs[i].Hash = events.Hash{byte(i), 1}
			if i > 0 && e.Before != nil && rapid.Bool().Draw(t, "follows") {
				before := evs[i-1].Hash
				evs[i].Before = &before
			}
			prev[i] = evs[i].Prev()
		}
		events.Chain(evs)
		for i := range evs {
			require.Equal(t, prev[i], evs[i].Prev())
			if evs[i].Before != nil {
				require.NotSame(t, drawn[i].Before, evs[i].Before, "nobody else's memory is kept")
			}
			if i > 0 && prev[i] == evs[i-1].Hash {
				require.Same(t, &evs[i-1].Hash, evs[i].Before)
			}
		}
	})
}
