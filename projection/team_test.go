package projection_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale/chance"
)

// Who belongs to the site is the same whether or not the facts are folded, however
// the entries come in and whatever was asked before.
func TestTheTeamIsWhoTheFactsSay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		story := chance.Story(t)
		arriving := story.Events()
		shuffle(t, arriving)
		h := &projection.History{Site: story.Site}
		var had []events.Event
		for len(arriving) > 0 {
			n := rapid.IntRange(1, len(arriving)).Draw(t, "chunk")
			h.Add(arriving[:n]...)
			had, arriving = append(had, arriving[:n]...), arriving[n:]
			if rapid.Bool().Draw(t, "ask") {
				h.At(projection.Moment{})
			}
			facts, team := freshly(story.Site, had, projection.Moment{}), h.Team()
			require.Equal(t, len(facts.Members), len(team.Members))
			for i, want := range facts.Members {
				got := team.Members[i]
				requireSaid(t, want.Joined, got.Joined)
				requireSaid(t, want.Decided, got.Decided)
				want.Joined, want.Decided = got.Joined, got.Decided
				require.Equal(t, want, got)
				require.Equal(t, facts.MemberName(want.Key), team.MemberName(want.Key))
			}
		}
	})
}

// requireSaid says that two causes are the same entry, if any.
func requireSaid(t *rapid.T, want, got projection.Cause) {
	require.Equal(t, want.Event == nil, got.Event == nil)
	if want.Event != nil {
		require.Equal(t, want.Event.Ref(), got.Event.Ref())
	}
}
