package projection_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
)

// requireCatchesUp asks after all but the late entries, then after each of those,
// and wants what a replay of everything gives.
func requireCatchesUp(t *testing.T, s *tale.Story, late ...*events.Event) *projection.Site {
	t.Helper()
	h := &projection.History{Site: s.Site}
	held := map[events.Hash]bool{}
	for _, e := range late {
		held[e.Hash] = true
	}
	for _, e := range s.Events() {
		if !held[e.Hash] {
			h.Add(e)
		}
	}
	before := h.At(projection.Moment{})
	for _, e := range late {
		h.Add(*e)
		h.At(projection.Moment{})
	}
	require.Equal(t, freshly(s.Site, s.Events(), projection.Moment{}), h.At(projection.Moment{}))
	return before
}

// The newest entry may still change how older ones are placed: the clock that is
// site time turns out to have been restarted, so nobody knows how it ran between.
func TestARestartOfSiteTimeReachesBack(t *testing.T) {
	s, bo := duo()
	bo.Compare("09:00", s.Lead, 0)
	e := bo.Say("10:00", paired("1-1", "H1"))
	s.Lead.Reboot("10:30")
	late := s.Lead.Say("11:00", events.HubReady{Hub: "H1"})

	before := requireCatchesUp(t, s, late)
	d, _ := before.Device("1-1")
	require.Equal(t, e.Ref(), d.Paired.Ref())
	require.True(t, d.Paired.Placed)
	d, _ = s.Now().Device("1-1")
	require.False(t, d.Paired.Placed)
}

// A line of the branch that a revocation accepted, heard last, puts the other
// branch past the cut.
func TestAnAcceptedBranchHeardLastReachesBack(t *testing.T) {
	s, bo := duo()
	copied := bo.Branch()
	e := bo.Say("09:00", paired("1-1", "H1"))
	first := copied.Say("11:00", events.HubReady{Hub: "H1"})
	second := copied.Say("11:01", events.HubReady{Hub: "H1"})
	s.Lead.Say("10:00", events.MemberRevoked{Key: bo.Key, Heads: tale.Cut(copied), Why: "lost"})

	before := requireCatchesUp(t, s, first, second)
	require.Empty(t, doubt(before, e))
	require.NotEmpty(t, doubt(s.Now(), e))
}

// Whoever had seen a pairing and then wrote down an earlier one is no second
// person at work in ignorance, whatever the times say.
func TestAnEarlierTimeWrittenByOneWhoHadSeenIsNoDouble(t *testing.T) {
	s, bo := duo()
	bo.Say("14:00", paired("1-1", "H1"))
	s.Lead.Hear(bo)
	s.Lead.Say("14:10", paired("1-1", "H1"), tale.When("13:30", "13:30"))
	for _, c := range s.Now().Conflicts {
		require.NotEqual(t, projection.PairedTwice, c.Kind)
	}
}

// What a course put on lists beyond the last stage is not taken for what follows an
// entry that came in before it.
func TestListsEndWhereTheLastStageDoes(t *testing.T) {
	for what, late := range map[string]func(lead, bo *tale.Teller, ago tale.Detail){
		"pairings": func(lead, _ *tale.Teller, ago tale.Detail) { lead.Say("09:10", star("1-9", "H1"), ago) },
		"programs": func(lead, _ *tale.Teller, ago tale.Detail) {
			lead.Say("09:10", events.HubLoaded{Hub: "H1", Program: "r2", All: true}, ago)
		},
		"acts": func(_, bo *tale.Teller, ago tale.Detail) { bo.Say("09:10", paired("1-1", "H1"), ago) },
	} {
		t.Run(what, func(t *testing.T) {
			s, bo := duo()
			s.Lead.Say("08:10", paired("1-1", "H1"))
			for i := range 6 {
				s.Lead.SayAt(tale.T("08:11")+events.Instant(i), events.DeviceHeard{Device: "1-1", Hub: "H1"})
			}
			s.Lead.Say("09:00", paired("1-9", "H1"))
			s.Lead.Say("09:00", paired("1-1", "H1"))
			s.Lead.Say("09:00", events.HubLoaded{Hub: "H1", Program: "r3", All: true})
			s.Lead.Say("09:05", events.HubListed{Hub: "H2"}, tale.When("08:40", "08:40")) // has stages laid
			late(s.Lead, bo, tale.When("08:50", "08:50"))
			h := &projection.History{Site: s.Site}
			h.SetPace(3)
			for _, e := range s.Events() {
				h.Add(e)
				h.Course(projection.Known{})
			}
			now, want := h.At(projection.Moment{}), s.Now()
			require.Equal(t, hub(t, want, "H1"), hub(t, now, "H1"))
			require.Equal(t, device(t, want, "1-9").Paired, device(t, now, "1-9").Paired)
			require.Equal(t, want.Conflicts, now.Conflicts)
		})
	}
}
