package projection_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
)

// cause is the place of an entry in site time.
func cause(t *testing.T, s *tale.Story, e *events.Event) projection.Told {
	t.Helper()
	for _, x := range s.History().Told(projection.Moment{}) {
		if x.Ref() == e.Ref() {
			return x
		}
	}
	require.Fail(t, "entry is not told")
	return projection.Told{}
}

func settings(set ...string) events.SettingsChanged {
	p := events.SettingsChanged{Set: map[events.SettingKey]string{}}
	for i := 0; i < len(set); i += 2 {
		p.Set[events.SettingKey(set[i])] = set[i+1]
	}
	return p
}

// RFC 5905 §8: θ = ½[(T2−T1)+(T3−T4)], δ = (T4−T1)−(T3−T2). With T = 1000, 4040,
// 4045, 1065 ms, θ = +3010 and δ = 60, so the offset lies in [2980, 3040]
// (computed from the formula).
func TestComparisonBoundsAnOffsetAsRFC5905(t *testing.T) {
	s, bo := duo()
	bo.Skew = 3010 * time.Millisecond
	noon := tale.T("12:00")
	mine, theirs := s.Lead.Stamp(noon), bo.Stamp(noon)
	s.Lead.SayAt(noon, events.ClockCompared{
		Other:     bo.Key,
		Mine:      events.Reading{Wall: mine.Wall.At, Mono: mine.Mono},
		Theirs:    events.Reading{Wall: theirs.Wall.At, Mono: theirs.Mono},
		Offset:    3010,
		RoundTrip: 60,
	})
	e := bo.SayAt(noon, events.HubReady{Hub: "H1"})

	x := cause(t, s, e)
	require.True(t, x.Placed)
	require.Equal(t, noon, x.At)
	require.Equal(t, events.Interval{From: e.Wall.At - 3040, To: e.Wall.At - 2980}, x.Span)
}

// 2ρ·age with ρ = 200 ppm: two hours make 2880 ms.
func TestComparisonsAge(t *testing.T) {
	require.EqualValues(t, 2880, projection.Drift(7_200_000))
	require.EqualValues(t, 2880, projection.Drift(-7_200_000))
	require.EqualValues(t, 1, projection.Drift(1), "rounded up")

	s, bo := duo()
	bo.Skew = -4 * time.Minute
	bo.Compare("10:00", s.Lead, 100*time.Millisecond)
	for clock, err := range map[string]events.Instant{"10:00": 50, "12:00": 50 + 2880, "09:00": 50 + 1440} {
		x := cause(t, s, bo.Say(clock, events.HubReady{Hub: "H1"}))
		require.Equal(t, tale.T(clock), x.Span.Middle(), clock)
		require.Equal(t, events.Interval{From: tale.T(clock) - err, To: tale.T(clock) + err}, x.Span, clock)
	}
}

func TestTheNarrowestOfSeveralComparisonsCounts(t *testing.T) {
	s, bo := duo()
	bo.Compare("10:00", s.Lead, 4*time.Second)
	bo.Compare("10:30", s.Lead, 20*time.Millisecond)
	x := cause(t, s, bo.Say("10:00", events.HubReady{Hub: "H1"}))
	require.Equal(t, events.Interval{From: tale.T("10:00") - 730, To: tale.T("10:00") + 730}, x.Span, "half an hour from the good one")
}

func TestClocksCompareOverAMemberBetween(t *testing.T) {
	s, bo := duo()
	cy := s.Join("cy", events.Tech)
	bo.Skew, cy.Skew = 3*time.Minute, -2*time.Minute
	bo.Compare("10:00", s.Lead, 100*time.Millisecond)
	cy.Compare("11:00", bo, 200*time.Millisecond)
	x := cause(t, s, cy.Say("11:30", events.HubReady{Hub: "H1"}))
	require.True(t, x.Placed)
	err := events.Instant(50 + 100 + 1440 + 720) // δ/2 each, an hour of one clock, half an hour of the other
	require.Equal(t, events.Interval{From: tale.T("11:30") - err, To: tale.T("11:30") + err}, x.Span)
}

func TestWhatAComparisonDoesNotReachIsNotPlaced(t *testing.T) {
	tests := map[string]func(s *tale.Story, bo *tale.Teller){
		"none at all": func(s *tale.Story, bo *tale.Teller) {},
		"their reboot since": func(s *tale.Story, bo *tale.Teller) {
			bo.Compare("10:00", s.Lead, time.Second)
			bo.Reboot("10:30")
		},
		"their step since": func(s *tale.Story, bo *tale.Teller) {
			bo.Compare("10:00", s.Lead, time.Second)
			bo.Skew += 51 * time.Millisecond
		},
		"a reboot of site time's own clock since": func(s *tale.Story, bo *tale.Teller) {
			bo.Compare("10:00", s.Lead, time.Second)
			s.Lead.Reboot("10:30")
			s.Lead.Say("10:31", events.HubReady{Hub: "H1"})
		},
		"a step of site time's own clock since": func(s *tale.Story, bo *tale.Teller) {
			bo.Compare("10:00", s.Lead, time.Second)
			s.Lead.Skew += 5 * time.Minute
			s.Lead.Say("10:31", events.HubReady{Hub: "H1"})
		},
		"a comparison withdrawn": func(s *tale.Story, bo *tale.Teller) {
			x := bo.Compare("10:00", s.Lead, time.Second)
			bo.Say("10:01", events.EventVoided{Event: x.Ref(), Why: events.WrongDetail})
		},
		"a comparison with a stranger": func(s *tale.Story, bo *tale.Teller) {
			gus := s.Stranger("gus")
			gus.Compare("10:00", s.Lead, time.Second)
			bo.Compare("10:00", gus, time.Second)
		},
		"no clock that only runs forward": func(s *tale.Story, bo *tale.Teller) {
			bo.Compare("10:00", s.Lead, time.Second)
			bo.Boot = ""
		},
		"a round trip of years": func(s *tale.Story, bo *tale.Teller) {
			bo.Compare("10:00", s.Lead, 200*366*24*time.Hour)
		},
	}
	for name, happens := range tests {
		t.Run(name, func(t *testing.T) {
			s, bo := duo()
			bo.Skew = time.Minute
			happens(s, bo)
			e := bo.Say("11:00", events.HubReady{Hub: "H1"})
			x := cause(t, s, e)
			require.False(t, x.Placed)
			require.Equal(t, e.Wall.At, x.At, "its own clock is all there is")
		})
	}
}

func TestAStepWithinTheSlackKeepsTheMapping(t *testing.T) {
	s, bo := duo()
	bo.Compare("10:00", s.Lead, time.Second)
	bo.Skew += projection.BaseSlack * time.Millisecond
	require.True(t, cause(t, s, bo.Say("10:10", events.HubReady{Hub: "H1"})).Placed)
}

func TestANewComparisonPlacesWhatFollowsAStepOrReboot(t *testing.T) {
	s, bo := duo()
	bo.Compare("10:00", s.Lead, time.Second)
	bo.Reboot("10:30")
	bo.Skew = -9 * time.Minute
	bo.Compare("10:40", s.Lead, time.Second)
	after := bo.Say("10:50", events.HubReady{Hub: "H1"})
	require.True(t, cause(t, s, after).Placed)
	require.Equal(t, tale.T("10:50"), cause(t, s, after).At)

	unsure := bo.Say("10:57", events.HubReady{Hub: "H1"})
	s.Lead.Say("10:55", events.HubReady{Hub: "H1"})
	s.Lead.Skew = 5 * time.Minute // site time itself is set
	s.Lead.Say("11:00", events.HubReady{Hub: "H1"})
	bo.Compare("11:10", s.Lead, time.Second)
	x := cause(t, s, bo.Say("11:20", events.HubReady{Hub: "H1"}))
	require.True(t, x.Placed)
	require.Equal(t, tale.T("11:25"), x.At, "by site time as it runs now")
	require.Equal(t, tale.T("10:50"), cause(t, s, after).At, "and what was before stays")
	require.False(t, cause(t, s, unsure).Placed, "site time may have been set before this or after")
}

func TestTypedTimesTakeTheMiddle(t *testing.T) {
	s, bo := duo()
	bo.Skew = 10 * time.Minute
	bo.Compare("10:00", s.Lead, 100*time.Millisecond)
	x := cause(t, s, bo.Say("10:00", events.HubReady{Hub: "H1"}, tale.When("09:40", "10:10")))
	require.Equal(t, tale.T("09:45"), x.At, "a typed time is read on the typist's clock")
	require.Equal(t, events.Interval{From: tale.T("09:30") - 50, To: tale.T("10:00") + 50}, x.Span)
}

func TestNowIsNeverBeforeWhatItsAuthorHadSeen(t *testing.T) {
	s, bo := duo()
	unaware := s.Join("cy", events.Tech)
	bo.Skew = 20 * time.Minute // fast, and nobody has compared
	fast := bo.Say("10:00", paired("1-1", "H1"))
	s.Lead.Hear(bo)
	unpaired := s.Lead.Say("10:05", events.DeviceUnpaired{Device: "1-1", Why: "reset"})

	require.Equal(t, tale.T("10:20"), cause(t, s, fast).At)
	require.Equal(t, tale.T("10:20"), cause(t, s, unpaired).At, "pushed by what it had seen")
	require.Nil(t, device(t, s.Now(), "1-1").Paired, "and after it")

	require.Equal(t, tale.T("10:06"), cause(t, s, unaware.Say("10:06", events.HubReady{Hub: "H1"})).At)
	typed := s.Lead.Say("10:07", events.HubReady{Hub: "H1"}, tale.When("09:00", "09:10"))
	require.Equal(t, tale.T("09:05"), cause(t, s, typed).At, "a typed time is not pushed")
}

func TestTypedEntriesDoNotPushOthers(t *testing.T) {
	s := job()
	s.Lead.Skew = time.Hour
	s.Lead.Say("10:00", events.HubReady{Hub: "H1"}, tale.When("09:30", "09:30"))
	s.Lead.Skew = 0
	require.Equal(t, tale.T("10:05"), cause(t, s, s.Lead.Say("10:05", events.HubReady{Hub: "H1"})).At)
}

func TestTheRunningMaximumGoesThroughThirdParties(t *testing.T) {
	s, bo := duo()
	cy := s.Join("cy", events.Tech)
	bo.Skew = 30 * time.Minute
	bo.Say("10:00", events.HubReady{Hub: "H1"})
	cy.Hear(bo)
	cy.Say("10:01", events.HubReady{Hub: "H1"})
	s.Lead.Hear(cy)
	e := s.Lead.Say("10:02", events.HubReady{Hub: "H1"})
	require.Equal(t, tale.T("10:30"), cause(t, s, e).At)
	require.Equal(t, tale.T("10:30"), cause(t, s, s.Lead.Say("10:03", events.HubReady{Hub: "H1"})).At, "and along the feed")
}

func TestWithdrawnAndQuarantinedEntriesPushNobody(t *testing.T) {
	s, bo := duo()
	bo.Skew = 365 * 24 * time.Hour
	mad := bo.Say("10:00", paired("1-1", "H1"))
	gus := s.Stranger("gus")
	gus.Skew = 24 * time.Hour
	gus.Say("10:00", paired("1-2", "H1"))
	s.Lead.Hear(bo, gus)
	e := s.Lead.Say("10:05", paired("1-3", "H1"))
	require.Greater(t, cause(t, s, e).At, tale.T("23:59"))

	bo.Say("10:06", events.EventVoided{Event: mad.Ref(), Why: events.WrongDetail})
	require.Equal(t, tale.T("10:05"), cause(t, s, e).At)
}

func TestAClockAYearAhead(t *testing.T) {
	s, bo := duo()
	bo.Skew = 365 * 24 * time.Hour
	mad := bo.Say("10:00", paired("1-1", "H1"))
	bo.Skew = 0
	sane := bo.Say("10:01", events.DeviceFitted{Device: "1-1", Serial: "S1"})
	s.Lead.Hear(bo)
	seen := s.Lead.Say("10:05", paired("1-2", "H1"))

	site := s.Now()
	require.NotNil(t, device(t, site, "1-1").Paired, "it happened, and is recorded")
	require.NotNil(t, device(t, site, "1-2").Paired, "and nothing is lost")
	require.Equal(t, []string{"member " + bo.Key.Short() + " has a clock that is ahead by 8759h55m0s or more"}, oddities(site, mad))
	require.Empty(t, oddities(site, sane))
	require.Len(t, conflicts(site, projection.ClockStepped), 2, "it was set, and set back")

	bo.Hear(s.Lead)
	bo.Say("10:10", events.EventVoided{Event: mad.Ref(), Why: events.WrongDetail})
	require.Equal(t, tale.T("10:05"), cause(t, s, seen).At, "voiding it cures the points")
	require.Equal(t, projection.Fitted, device(t, s.Now(), "1-1").State)
}

func TestAClockAheadIsFlaggedByAnyWitnessWhoseClockIsKnown(t *testing.T) {
	s, bo := duo()
	cy := s.Join("cy", events.Tech)
	cy.Compare("09:00", s.Lead, 100*time.Millisecond)
	bo.Skew = 11 * time.Minute
	ahead := bo.Say("10:00", events.HubReady{Hub: "H1"})
	bo.Skew = 10 * time.Minute
	within := bo.Say("10:00:10", events.HubReady{Hub: "H1"})
	require.Empty(t, oddities(s.Now(), ahead), "nobody can tell yet")
	cy.Hear(bo)
	cy.Say("10:00:30", events.HubReady{Hub: "H1"})
	site := s.Now()
	require.Equal(t, []string{"member " + bo.Key.Short() + " has a clock that is ahead by 10m30s or more"}, oddities(site, ahead))
	require.Empty(t, oddities(site, within), "the limit is ten minutes")
}

func TestSiteTimeIsTheClockTheSettingsName(t *testing.T) {
	s, bo := duo()
	bo.Skew = 7 * time.Minute
	bo.Compare("09:00", s.Lead, 100*time.Millisecond)
	mine := s.Lead.Say("10:00", events.HubReady{Hub: "H1"})
	theirs := bo.Say("10:00", events.HubReady{Hub: "H1"})
	require.Equal(t, tale.T("10:00"), cause(t, s, mine).At)
	require.Equal(t, tale.T("10:00"), cause(t, s, theirs).At)

	s.Lead.Say("11:00", settings("clock_reference", string(bo.Key)))
	require.Equal(t, tale.T("10:07"), cause(t, s, mine).At)
	require.Equal(t, tale.T("10:07"), cause(t, s, theirs).At)

	nobody := s.Lead.Say("12:00", settings("clock_reference", string(s.Stranger("gus").Key)))
	require.Equal(t, []string{"the site makes the clock of somebody who has not joined site time"}, oddities(s.Now(), nobody))
	require.Equal(t, tale.T("10:07"), cause(t, s, mine).At, "and bo's clock stays site time")

	s.Lead.Say("13:00", settings("clock_reference", ""))
	require.Equal(t, tale.T("10:00"), cause(t, s, mine).At, "empty is the lead again")
}

func TestASteppedClockIsAConflictUntilComparedAgain(t *testing.T) {
	s, bo := duo()
	before := bo.Say("09:00", events.HubReady{Hub: "H1"})
	bo.Skew = 29 * time.Second
	bo.Say("09:01", events.HubReady{Hub: "H1"})
	require.Empty(t, s.Now().Conflicts, "within the limit of 30 s")

	bo.Skew = -2 * time.Minute
	bo.Say("09:02", events.HubReady{Hub: "H1"}, tale.By("an apprentice"))
	c := conflict(t, s.Now(), projection.ClockStepped)
	require.Equal(t, "the clock of bo moved by -2m29s between two entries", c.Why)
	require.Equal(t, []events.Subject{events.Member(bo.Key)}, c.Subjects)
	require.NotContains(t, c.Events, before.Ref())

	bo.Compare("09:10", s.Lead, 100*time.Millisecond)
	require.Empty(t, s.Now().Conflicts, "a comparison since then cures it")

	bo.Reboot("09:20")
	bo.Skew = time.Hour
	bo.Say("09:30", events.HubReady{Hub: "H1"})
	require.Empty(t, s.Now().Conflicts, "a reboot is no step")
}

func TestAStepOfSiteTimeItselfNeedsAResolution(t *testing.T) {
	s, bo := duo()
	s.Lead.Say("09:00", events.HubReady{Hub: "H1"})
	s.Lead.Skew = 5 * time.Minute
	s.Lead.Say("09:01", events.HubReady{Hub: "H1"})
	bo.Compare("09:10", s.Lead, 100*time.Millisecond)
	c := conflict(t, s.Now(), projection.ClockStepped)
	s.Lead.Say("09:20", events.ConflictResolved{Key: c.Key, Why: "set it by the station clock"})
	require.Empty(t, s.Now().Conflicts)
}
