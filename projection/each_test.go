package projection_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale/chance"
	"pairwalk/testdata/invent"
)

func TestWhatEachKnowsIsWhatOneIsAskedFor(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := chance.Story(t).History()
		members := []events.Key{"nobody"}
		for _, m := range h.At(projection.Moment{}).Members {
			members = append(members, m.Key)
		}
		for i, got := range h.KnownToEach(members) {
			want, _ := h.KnownTo(projection.Known{Member: members[i]})
			require.Equal(t, want, got)
		}
	})
}

// More members than are looked at together, and one asked for twice.
func TestACrowdKnowsWhatEachKnows(t *testing.T) {
	job := invent.Job{Seed: 5, Members: 70, Count: 1_500, Size: invent.Size{Seed: 5, Devices: 24}}
	h := &projection.History{Site: job.Site()}
	for e := range job.Events() {
		h.Add(e)
	}
	var members []events.Key
	for _, m := range h.At(projection.Moment{}).Members {
		members = append(members, m.Key)
	}
	require.Len(t, members, 70)
	members = append(members, members[3])
	each := h.KnownToEach(members)
	require.Equal(t, each[3], each[70])
	knew := 0
	for i, got := range each {
		want, _ := h.KnownTo(projection.Known{Member: members[i]})
		require.Equal(t, want, got, fmt.Sprint(i))
		knew += len(got)
	}
	require.Greater(t, knew, 500)
}
