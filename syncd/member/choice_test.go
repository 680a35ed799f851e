package member_test

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd/member"
	"pairwalk/testdata/invent"
)

// What a leaf says of named entries is what the whole log says of them, whatever the
// moment, their subject and the order they are named in.
func TestALeafOfNamedEntries(t *testing.T) {
	m := opened(t, invent.Sized{Events: 600, Members: 4, Devices: 24})
	r := rand.New(rand.NewPCG(1, 2))
	all := m.History(projection.Moment{}, events.Subject{})
	for range 200 {
		var refs []string
		var about events.Subject
		for range 1 + r.IntN(6) {
			e := all[r.IntN(len(all))].Event
			if refs = append(refs, e.Ref().String()); r.IntN(20) == 0 {
				refs[len(refs)-1] = e.ID.String()
			}
			if of := e.Payload.Subjects(); r.IntN(4) == 0 && len(of) > 0 {
				about = of[0]
			}
		}
		var moment projection.Moment
		if r.IntN(2) == 0 {
			moment = projection.At(all[r.IntN(len(all))].At)
		}
		choice := member.Choice{Refs: refs}
		want := member.Chosen(m.Now(), m.History(moment, about), choice)
		slices.Reverse(want)
		got, err := m.Leaf(moment, about, choice, "", 3)
		require.NoError(t, err)
		require.Equal(t, len(want), got.Total, strings.Join(refs, " "))
		require.Equal(t, want[:min(3, len(want))], got.Said)
		require.Equal(t, len(want) > 3, got.More)
	}
}

// Named entries are looked up, and not looked for in the whole log.
func TestNamedEntriesAreLookedUp(t *testing.T) {
	cost := func(entries int) float64 {
		m := opened(t, invent.Sized{Events: entries, Members: 4, Devices: 24})
		all := m.History(projection.Moment{}, events.Subject{})
		e := all[len(all)/2].Event
		choice := member.Choice{Refs: []string{e.Ref().String()}}
		return testing.AllocsPerRun(5, func() {
			x, err := m.Leaf(projection.Moment{}, e.Payload.Subjects()[0], choice, "", 10)
			require.NoError(t, err)
			require.Len(t, x.Said, 1)
		})
	}
	require.InDelta(t, cost(500), cost(2_000), 20)
}
