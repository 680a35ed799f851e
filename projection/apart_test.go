package projection_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
)

// told is a pairing, and what its author knew then.
type told struct {
	ref  events.Ref
	by   *tale.Teller
	knew map[events.Ref]bool
}

// A lamp is paired again and again by three who meet now and then. What clashes is
// found by asking of each two pairings who knew of what, which this test keeps a list
// of: no more and no less.
func TestPairingsInIgnoranceAreThoseOfWhoeverKnewNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, bo := duo()
		cy := s.Join("cy", events.Tech)
		team := []*tale.Teller{s.Lead, bo, cy}
		meet(team...)
		know := map[*tale.Teller]map[events.Ref]bool{}
		for _, who := range team {
			know[who] = map[events.Ref]bool{}
		}
		var all []told
		for i := range rapid.IntRange(4, 40).Draw(t, "steps") {
			who, other := rapid.SampledFrom(team).Draw(t, "who"), rapid.SampledFrom(team).Draw(t, "other")
			if who != other && rapid.IntRange(0, 2).Draw(t, "meets") == 0 {
				who.Hear(other)
				for ref := range know[other] {
					know[who][ref] = true
				}
				continue
			}
			e := who.SayAt(minute(i), paired("1-1", "H1"))
			x := told{e.Ref(), who, map[events.Ref]bool{}}
			for ref := range know[who] {
				x.knew[ref] = true
			}
			all = append(all, x)
			know[who][x.ref] = true
		}
		clash := map[events.Ref]bool{}
		for j, b := range all {
			for _, a := range all[:j] {
				cured := func() bool {
					for _, x := range all[j+1:] {
						if x.knew[a.ref] && x.knew[b.ref] {
							return true
						}
					}
					return false
				}
				if a.by != b.by && !b.knew[a.ref] && !cured() {
					clash[a.ref], clash[b.ref] = true, true
				}
			}
		}
		found := map[events.Ref]bool{}
		for _, c := range conflicts(s.Now(), projection.PairedTwice) {
			for _, ref := range c.Events {
				found[ref] = true
			}
		}
		require.Equal(t, clash, found)
	})
}

// Whoever went on from a pairing is no second one in ignorance, in whatever order the
// lines came here.
func TestWhatWasSeenHangsOnNoOrderOfArrival(t *testing.T) {
	s, bo := duo()
	s.Lead.Say("09:00", paired("1-2", "H1"))
	bo.Hear(s.Lead)
	bo.Say("09:05", events.NoteAdded{Of: events.Device("1-2"), Text: "seen"})
	s.Lead.Say("09:10", events.DevicePaired{Device: "1-1", Hub: "H1", Serial: "A"})
	bo.Hear(s.Lead)
	bo.Say("09:20", events.DevicePaired{Device: "1-1", Hub: "H1", Serial: "B"})
	require.Empty(t, conflicts(s.Now(), projection.PairedTwice))
	said := s.Events()
	slices.Reverse(said)
	h := &projection.History{Site: s.Site}
	h.Add(said...)
	require.Equal(t, s.Now().Conflicts, h.At(projection.Moment{}).Conflicts)
}
