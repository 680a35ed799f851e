package projection_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
)

// twice is lamp 1-1 paired by the lead to H1 and by bo to H2, neither knowing.
func twice() (s *tale.Story, bo *tale.Teller, lead, bos *events.Event) {
	s, bo = duo()
	s.Lead.Say("08:30", events.HubListed{Hub: "H2"})
	lead = s.Lead.Say("09:00", events.DevicePaired{Device: "1-1", Hub: "H1", Serial: "S1"})
	bos = bo.Say("09:10", events.DevicePaired{Device: "1-1", Hub: "H2", Serial: "S2"})
	return s, bo, lead, bos
}

func TestPairedTwice(t *testing.T) {
	s, _, lead, bos := twice()
	site := s.Now()
	c := conflict(t, site, projection.PairedTwice)
	require.ElementsMatch(t, []events.Ref{lead.Ref(), bos.Ref()}, c.Events)
	require.Equal(t, events.Device("1-1"), c.Subjects[0])
	require.ElementsMatch(t, []events.Subject{events.Device("1-1"), events.Hub("H1"), events.Hub("H2")}, c.Subjects)
	require.Equal(t, "the later of the two by the clocks, by bo", c.Stands)
	require.Len(t, c.Offers, 2)
	require.True(t, c.Kind.Identity())

	d := device(t, site, "1-1")
	requireCause(t, bos, &d.Paired.Cause)
	require.True(t, d.Has(projection.FlagConflict))
	require.True(t, d.Wants(projection.NeedResolve))
	require.Empty(t, conflicts(site, projection.TwoSerials), "which of them is right settles the serial")
	require.NotEmpty(t, conflicts(at(s, "09:10"), projection.PairedTwice))
	require.Empty(t, conflicts(at(s, "09:05"), projection.PairedTwice), "there was one pairing then")
}

// Clocks have no say in who had heard of whom, in either direction.
func TestPairedTwiceIsFoundAgainstTheClocks(t *testing.T) {
	t.Run("an hour apart by the clocks, and neither had heard", func(t *testing.T) {
		s, bo := duo()
		s.Lead.Say("09:00", paired("1-1", "H1"))
		bo.Skew = time.Hour
		bo.Say("09:01", paired("1-1", "H1"))
		conflict(t, s.Now(), projection.PairedTwice)
	})
	t.Run("the same minute by the clocks, and one had heard", func(t *testing.T) {
		s, bo := duo()
		s.Lead.Say("09:00", paired("1-1", "H1"))
		bo.Hear(s.Lead)
		bo.Skew = -time.Hour
		again := bo.Say("09:30", paired("1-1", "H1"))
		site := s.Now()
		require.Empty(t, conflicts(site, projection.PairedTwice))
		require.Len(t, oddities(site, again), 1)
		require.Contains(t, oddities(site, again)[0], "was paired already")
	})
	t.Run("one typed it in late", func(t *testing.T) {
		s, bo := duo()
		s.Lead.Say("09:00", paired("1-1", "H1"))
		bo.Say("17:00", paired("1-1", "H1"), tale.When("08:20", "08:30"))
		conflict(t, s.Now(), projection.PairedTwice)
	})
	t.Run("heard of only through a third", func(t *testing.T) {
		s, bo := duo()
		cy := s.Join("cy", events.Tech)
		s.Lead.Say("09:00", paired("1-1", "H1"))
		cy.Hear(s.Lead)
		cy.Say("09:05", events.NoteAdded{Of: events.Site(), Text: "on my way down"})
		bo.Hear(cy)
		bo.Say("09:10", paired("1-1", "H1"))
		require.Empty(t, s.Now().Conflicts)
	})
	t.Run("one person twice", func(t *testing.T) {
		s, bo := duo()
		bo.Say("09:00", paired("1-1", "H1"))
		bo.Say("09:10", paired("1-1", "H1"))
		require.Empty(t, s.Now().Conflicts)
	})
}

func TestPairedTwiceIsResolvedByEachOffer(t *testing.T) {
	for i, want := range []string{"one", "the other"} {
		t.Run(want, func(t *testing.T) {
			s, _, lead, bos := twice()
			open := conflict(t, s.Now(), projection.PairedTwice)
			s.Lead.Say("10:00", events.ConflictResolved{Key: open.Key, Stands: open.Offers[i].Stands, Why: "looked at it"})

			site := s.Now()
			require.Empty(t, site.Conflicts)
			require.Len(t, site.Resolved, 1)
			d := device(t, site, "1-1")
			require.Equal(t, open.Offers[i].Stands, d.Paired.Ref().String())
			require.False(t, d.Has(projection.FlagConflict))
			for _, h := range site.Hubs {
				for _, p := range h.Pairings {
					require.Equal(t, p.Ref().String() != open.Offers[i].Stands, p.Lost)
				}
			}
			if d.Paired.Ref() == lead.Ref() {
				require.Equal(t, events.HubID("H1"), d.Paired.Hub)
				require.Equal(t, events.Serial("S1"), d.Serial)
			} else {
				requireCause(t, bos, &d.Paired.Cause)
				require.Equal(t, events.Serial("S2"), d.Serial)
			}
		})
	}
}

func TestAResolutionThatOffersNothing(t *testing.T) {
	s, _, _, bos := twice()
	open := conflict(t, s.Now(), projection.PairedTwice)
	bad := s.Lead.Say("10:00", events.ConflictResolved{Key: open.Key, Stands: "the third one", Why: "?"})
	site := s.Now()
	conflict(t, site, projection.PairedTwice)
	require.Contains(t, oddities(site, bad)[0], "does not offer")
	requireCause(t, bos, &device(t, site, "1-1").Paired.Cause)

	s.Lead.Say("10:01", events.ConflictResolved{Key: open.Key, Why: "both are gone by now"})
	require.Empty(t, s.Now().Conflicts, "one may close it and leave the facts as they stand")
}

func TestPairedTwiceIsCured(t *testing.T) {
	tests := map[string]func(s *tale.Story, bo *tale.Teller, lead, bos *events.Event){
		"by unpairing, having heard of both": func(s *tale.Story, bo *tale.Teller, _, _ *events.Event) {
			s.Lead.Hear(bo)
			s.Lead.Say("10:00", events.DeviceUnpaired{Device: "1-1", Why: "start again"})
		},
		"by pairing again, having heard of both": func(s *tale.Story, bo *tale.Teller, _, _ *events.Event) {
			bo.Hear(s.Lead)
			bo.Say("10:00", paired("1-1", "H1"))
		},
		"by a new unit": func(s *tale.Story, bo *tale.Teller, _, _ *events.Event) {
			bo.Hear(s.Lead)
			bo.Say("10:00", events.DeviceReplaced{Device: "1-1", New: "S9", Why: "broken"})
		},
		"by withdrawing one": func(s *tale.Story, bo *tale.Teller, _, bos *events.Event) {
			bo.Say("10:00", events.EventVoided{Event: bos.Ref(), Why: events.DidNotHappen})
		},
	}
	for name, happens := range tests {
		t.Run(name, func(t *testing.T) {
			s, bo, lead, bos := twice()
			happens(s, bo, lead, bos)
			require.Empty(t, conflicts(s.Now(), projection.PairedTwice))
		})
	}
	t.Run("not by somebody who had heard of one", func(t *testing.T) {
		s, bo, _, _ := twice()
		bo.Say("10:00", events.DeviceUnpaired{Device: "1-1", Why: "reset"})
		conflict(t, s.Now(), projection.PairedTwice)
	})
	t.Run("not by an earlier act typed in late", func(t *testing.T) {
		s, bo, _, _ := twice()
		bo.Hear(s.Lead)
		bo.Say("10:00", events.DeviceUnpaired{Device: "1-1", Why: "reset"}, tale.When("08:40", "08:50"))
		conflict(t, s.Now(), projection.PairedTwice)
	})
}

func TestAThirdPairingReopensAResolvedConflict(t *testing.T) {
	s, bo := duo()
	cy := s.Join("cy", events.Tech) // in the basement from now on
	lead := s.Lead.Say("09:00", paired("1-1", "H1"))
	bos := bo.Say("09:10", paired("1-1", "H1"))
	open := conflict(t, s.Now(), projection.PairedTwice)
	meet(s.Lead, bo)
	resolved := s.Lead.Say("10:00", events.ConflictResolved{Key: open.Key, Stands: lead.Ref().String(), Why: "it is on H1"})
	require.Empty(t, s.Now().Conflicts)

	third := cy.Say("09:20", paired("1-1", "H1"))
	site := s.Now()
	wider := conflict(t, site, projection.PairedTwice)
	require.ElementsMatch(t, []events.Ref{lead.Ref(), bos.Ref(), third.Ref()}, wider.Events)
	require.NotEqual(t, open.Key, wider.Key)
	require.Len(t, wider.Offers, 3)
	require.Empty(t, oddities(site, resolved), "it closed what its author knew")

	s.Lead.Hear(cy)
	s.Lead.Say("11:00", events.ConflictResolved{Key: wider.Key, Stands: third.Ref().String(), Why: "seen"})
	site = s.Now()
	require.Empty(t, site.Conflicts)
	requireCause(t, third, &device(t, site, "1-1").Paired.Cause)
}

func TestAnOldCuredPairIsNoPartOfANewConflict(t *testing.T) {
	s, bo, lead, bos := twice()
	meet(s.Lead, bo)
	again := s.Lead.Say("10:00", paired("1-1", "H1"))
	theirs := bo.Say("10:01", paired("1-1", "H2"))
	c := conflict(t, s.Now(), projection.PairedTwice)
	require.ElementsMatch(t, []events.Ref{again.Ref(), theirs.Ref()}, c.Events)
	require.NotContains(t, c.Events, lead.Ref())
	require.NotContains(t, c.Events, bos.Ref())
}

func TestAResolvedPairingStaysResolvedUnderANewName(t *testing.T) {
	s, bo, lead, _ := twice()
	open := conflict(t, s.Now(), projection.PairedTwice)
	meet(s.Lead, bo)
	s.Lead.Say("10:00", events.ConflictResolved{Key: open.Key, Stands: lead.Ref().String(), Why: "seen"})
	s.Lead.Say("10:30", events.DeviceRenamed{From: "1-1", To: "1-11"})
	site := s.Now()
	require.Empty(t, site.Conflicts)
	requireCause(t, lead, &device(t, site, "1-11").Paired.Cause)
}

func TestWhatAResolutionSetAsideStaysAside(t *testing.T) {
	s, bo, lead, bos := twice()
	open := conflict(t, s.Now(), projection.PairedTwice)
	requireCause(t, bos, &device(t, s.Now(), "1-1").Paired.Cause)
	meet(s.Lead, bo)
	s.Lead.Say("10:00", events.ConflictResolved{Key: open.Key, Stands: lead.Ref().String(), Why: "seen"})
	struck := s.Lead.Say("10:30", events.DeviceStruck{Device: "1-1", Why: "drawn twice"})
	site := s.Now()
	require.Empty(t, site.Conflicts)
	requireCause(t, lead, &device(t, site, "1-1").Paired.Cause)
	requireCause(t, struck, device(t, site, "1-1").Struck)

	h := s.History()
	for _, at := range []events.Instant{tale.T("10:00") - 1, tale.T("10:00"), tale.T("10:30")} {
		require.Equal(t, drawnFrom(h.At(projection.Moment{When: events.Some(at)})), drawnBy(h.Course(projection.Known{}), at), "at %s", at)
	}
}

func TestKeysStayHoweverEntriesArrive(t *testing.T) {
	s, _, _, _ := twice()
	s.Lead.Say("09:30", events.DeviceFitted{Device: "1-2", Serial: "S7"})
	s.Lead.Say("09:31", events.DeviceFitted{Device: "1-3", Serial: "S7"})
	s.Lead.Say("09:32", events.DeviceFitted{Device: "1-3", Serial: "S8"})
	want := s.Now().Conflicts
	require.NotEmpty(t, want)
	said := s.Events()
	for range 20 {
		said = append(said[7:], said[:7]...)
		h := &projection.History{Site: s.Site}
		for _, chunk := range slices.Collect(slices.Chunk(said, 5)) {
			h.Add(chunk...)
			h.At(projection.Moment{})
		}
		require.Equal(t, want, h.At(projection.Moment{}).Conflicts)
	}
}

// Whoever reuses an old tag for a new position has not paired the old one twice.
func TestARenamedDeviceIsNotItsSuccessor(t *testing.T) {
	s, bo := duo()
	s.Lead.Say("09:00", paired("1-1", "H1"))
	s.Lead.Say("09:10", events.DeviceRenamed{From: "1-1", To: "1-11"})
	s.Lead.Say("09:11", lamp("1-1", "H1"))
	bo.Say("09:30", paired("1-1", "H1"))
	site := s.Now()
	require.Empty(t, site.Conflicts)
	require.NotNil(t, device(t, site, "1-1").Paired)
	require.NotNil(t, device(t, site, "1-11").Paired)
}

func TestPairedTwiceIsFoundAcrossRenames(t *testing.T) {
	s, bo := duo()
	s.Lead.Say("09:00", paired("1-1", "H1"))
	s.Lead.Say("09:10", events.DeviceRenamed{From: "1-1", To: "1-11"})
	s.Lead.Say("09:11", events.DeviceRenamed{From: "1-11", To: "1-111"})
	bo.Say("09:30", paired("1-1", "H1")) // by the tag on the paper bo has
	c := conflict(t, s.Now(), projection.PairedTwice)
	require.Equal(t, events.Device("1-111"), c.Subjects[0])
}
