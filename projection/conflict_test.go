package projection_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
)

func fitted(tag events.Tag, serial events.Serial) events.DeviceFitted {
	return events.DeviceFitted{Device: tag, Serial: serial}
}

func TestOneSerialOnTwoDevices(t *testing.T) {
	s := job()
	one := s.Lead.Say("09:00", fitted("1-1", "S1"))
	two := s.Lead.Say("09:10", events.DevicePaired{Device: "1-2", Hub: "H1", Serial: "S1"})
	c := conflict(t, s.Now(), projection.SerialTwice)
	require.ElementsMatch(t, []events.Ref{one.Ref(), two.Ref()}, c.Events)
	require.Equal(t, []string{"1-1", "1-2"}, []string{c.Offers[0].Stands, c.Offers[1].Stands})

	// The last resolution counts, so each offer can be tried in turn.
	s.Lead.Say("10:00", events.ConflictResolved{Key: c.Key, Stands: "1-1", Why: "read the label"})
	site := s.Now()
	require.Empty(t, site.Conflicts)
	require.Equal(t, events.Serial("S1"), device(t, site, "1-1").Serial)
	require.Empty(t, device(t, site, "1-2").Serial)
	require.True(t, device(t, site, "1-2").Wants(projection.NeedSerial))

	e := s.Lead.Say("10:10", events.ConflictResolved{Key: c.Key, Stands: "1-2", Why: "read it again"})
	site = s.Now()
	require.Empty(t, site.Conflicts)
	require.Empty(t, device(t, site, "1-1").Serial)
	require.Equal(t, events.Serial("S1"), device(t, site, "1-2").Serial)
	require.Empty(t, oddities(site, e))
}

func TestOneSerialOnTwoDevicesIsCuredByReadingTheLabelAgain(t *testing.T) {
	s := job()
	s.Lead.Say("09:00", fitted("1-1", "S1"))
	s.Lead.Say("09:10", fitted("1-2", "S1"))
	s.Lead.Say("09:20", events.DeviceReplaced{Device: "1-2", Old: "S1", New: "S2", Why: "other unit"})
	require.Empty(t, s.Now().Conflicts)
}

func TestAResolvedSerialStaysResolvedUnderANewName(t *testing.T) {
	s := job()
	s.Lead.Say("09:00", fitted("1-1", "S1"))
	s.Lead.Say("09:10", fitted("1-2", "S1"))
	c := conflict(t, s.Now(), projection.SerialTwice)
	s.Lead.Say("10:00", events.ConflictResolved{Key: c.Key, Stands: "1-1", Why: "read the label"})
	s.Lead.Say("10:10", events.DeviceRenamed{From: "1-1", To: "2-1"})
	site := s.Now()
	require.Empty(t, site.Conflicts)
	require.Equal(t, events.Serial("S1"), device(t, site, "2-1").Serial)
	require.Empty(t, device(t, site, "1-2").Serial)
}

func TestTwoSerialsOnOneDevice(t *testing.T) {
	s := job()
	one := s.Lead.Say("09:00", fitted("1-1", "S1"))
	two := s.Lead.Say("09:10", events.DevicePaired{Device: "1-1", Hub: "H1", Serial: "S2"})
	s.Lead.Say("09:20", fitted("1-1", "S2"))
	c := conflict(t, s.Now(), projection.TwoSerials)
	require.Equal(t, []events.Ref{one.Ref(), two.Ref()}, c.Events)
	require.Equal(t, events.Serial("S2"), device(t, s.Now(), "1-1").Serial, "the last one meanwhile")

	s.Lead.Say("10:00", events.ConflictResolved{Key: c.Key, Stands: "S1", Why: "went to look"})
	require.Empty(t, s.Now().Conflicts)
	require.Equal(t, events.Serial("S1"), device(t, s.Now(), "1-1").Serial)

	s.Lead.Say("10:30", events.DeviceRenamed{From: "1-1", To: "2-1"})
	require.Empty(t, s.Now().Conflicts)
	require.Equal(t, events.Serial("S1"), device(t, s.Now(), "2-1").Serial)
}

func TestAReplacementIsNoSecondSerial(t *testing.T) {
	s := job()
	s.Lead.Say("09:00", fitted("1-1", "S1"))
	s.Lead.Say("09:10", events.DeviceReplaced{Device: "1-1", Old: "S1", New: "S2", Why: "broken"})
	s.Lead.Say("09:20", events.DevicePaired{Device: "1-1", Hub: "H1", Serial: "S2"})
	require.Empty(t, s.Now().Conflicts)

	s.Lead.Say("09:30", events.DeviceUnpaired{Device: "1-1", Why: "reset"})
	s.Lead.Say("09:40", events.DevicePaired{Device: "1-1", Hub: "H1", Serial: "S3"})
	conflict(t, s.Now(), projection.TwoSerials) // a reset unit keeps its label
}

func TestAForkIsKeptOnBothSidesAsOneConflict(t *testing.T) {
	s, bo := duo()
	bo.Say("09:00", paired("1-1", "H1"))
	twin := bo.Branch()
	left := bo.Say("09:10", paired("1-2", "H1"))
	right := twin.Say("09:11", paired("1-3", "H1"))
	c := conflict(t, s.Now(), projection.ForkedFeed)
	require.ElementsMatch(t, []events.Ref{left.Ref(), right.Ref()}, c.Events)

	bo.Say("09:20", events.DeviceHeard{Device: "1-2", Hub: "H1"})
	twin.Say("09:21", events.DeviceHeard{Device: "1-3", Hub: "H1"})
	site := s.Now()
	require.Equal(t, c, conflict(t, site, projection.ForkedFeed), "one, however far the branches go on")
	require.NotNil(t, device(t, site, "1-2").Heard)
	require.NotNil(t, device(t, site, "1-3").Heard, "both branches fold")
	require.False(t, device(t, site, "1-2").Has(projection.FlagConflict), "the conflict is about the member")

	s.Lead.Say("10:00", events.ConflictResolved{Key: c.Key, Why: "copied the laptop, it is wiped now"})
	require.Empty(t, s.Now().Conflicts)
}

func TestAForkFoldedByBothMembersGivesTheSameFacts(t *testing.T) {
	s, bo := duo()
	bo.Say("09:00", paired("1-1", "H1"))
	twin := bo.Branch()
	bo.Say("09:10", events.DeviceUnpaired{Device: "1-1", Why: "reset"})
	twin.Say("09:10", events.DeviceHeard{Device: "1-1", Hub: "H1"})
	said := s.Events()
	n := len(said)

	one := &projection.History{Site: s.Site}
	one.Add(said[:n-1]...)
	one.At(projection.Moment{})
	one.Add(said[n-1])
	other := &projection.History{Site: s.Site}
	other.Add(said[:n-2]...)
	other.Add(said[n-1])
	other.At(projection.Moment{})
	other.Add(said[n-2])
	requireSame(t, one.At(projection.Moment{}), other.At(projection.Moment{}), "by the two members")
}

// Having heard one branch of a copied laptop is not having heard the other.
func TestSeeingOneBranchIsNotSeeingTheOther(t *testing.T) {
	s, bo := duo()
	twin := bo.Branch()
	bo.Say("09:00", events.HubReady{Hub: "H1"})
	bo.Say("09:01", events.HubReady{Hub: "H1"})
	unheard := twin.Say("09:00", paired("1-1", "H1"))
	s.Lead.Hear(bo)
	pairing := s.Lead.Say("10:00", paired("1-1", "H1"))
	c := conflict(t, s.Now(), projection.PairedTwice)
	require.ElementsMatch(t, []events.Ref{unheard.Ref(), pairing.Ref()}, c.Events)

	t.Run("and a branch does not know what the other one heard", func(t *testing.T) {
		s, bo := duo()
		twin := bo.Branch()
		s.Lead.Say("08:40", paired("1-1", "H1"))
		bo.Hear(s.Lead)
		bo.Say("09:00", events.HubReady{Hub: "H1"})
		twin.Say("09:00", events.HubLost{Hub: "H1", Why: "no answer"})
		twin.Say("09:01", paired("1-1", "H1"))
		conflict(t, s.Now(), projection.PairedTwice)
	})
	t.Run("but one who had heard both had", func(t *testing.T) {
		s, bo := duo()
		twin := bo.Branch()
		bo.Say("09:00", events.HubReady{Hub: "H1"})
		twin.Say("09:00", paired("1-1", "H1"))
		s.Lead.Hear(twin)
		s.Lead.Say("09:30", events.NoteAdded{Of: events.Site(), Text: "hm"})
		s.Lead.Say("10:00", paired("1-1", "H1"))
		require.Empty(t, conflicts(s.Now(), projection.PairedTwice))
	})
}

func TestResolutionsOfNothing(t *testing.T) {
	tests := map[string]struct {
		key string
		odd bool
	}{
		"no key at all":                     {"nothing", true},
		"a kind nobody knows":               {"haunted:1-1:00000000", true},
		"a device never paired twice":       {"paired-twice:1-1:00000000", true},
		"a device that never was":           {"two-serials:9-9:00000000", true},
		"a serial nobody wrote down":        {"serial-twice:S9:00000000", true},
		"a feed that never forked":          {"forked-feed:x:00000000", true},
		"a clock nobody set":                {"clock-stepped:x:00000000", true},
		"an invite used once":               {"invite-twice:x:00000000", true},
		"a member nobody revoked":           {"past-revocation:x:00000000", true},
		"a breach, which is judged above":   {"pushed-early:H1:00000000", false},
		"a breach with its digest cut away": {"pushed-early:H1", true},
	}
	for name, row := range tests {
		t.Run(name, func(t *testing.T) {
			s := job()
			e := s.Lead.Say("09:00", events.ConflictResolved{Key: row.key, Why: "asked"})
			site := s.Now()
			if !row.odd {
				require.Empty(t, oddities(site, e))
				return
			}
			require.Equal(t, []string{"the site resolves " + row.key + ", and there is no such conflict"}, oddities(site, e))
			require.Empty(t, oddities(at(s, "08:30"), e), "not yet at a moment before it")
		})
	}
}

func TestResolutionsOfWhatIsOverAreNotOdd(t *testing.T) {
	s, bo, lead, bos := twice()
	c := conflict(t, s.Now(), projection.PairedTwice)
	meet(s.Lead, bo)
	e := s.Lead.Say("10:00", events.ConflictResolved{Key: c.Key, Stands: lead.Ref().String(), Why: "seen"})
	bo.Say("11:00", events.EventVoided{Event: bos.Ref(), Why: events.DidNotHappen})
	require.Empty(t, oddities(s.Now(), e), "the loser is withdrawn after all")

	s.Lead.Say("12:00", fitted("1-2", "S7"))
	s.Lead.Say("12:01", fitted("1-2", "S8"))
	two := conflict(t, s.Now(), projection.TwoSerials)
	e = s.Lead.Say("12:02", events.ConflictResolved{Key: two.Key, Stands: "S7", Why: "seen"})
	s.Lead.Say("12:03", events.DeviceReplaced{Device: "1-2", Old: "S7", New: "S9", Why: "broken"})
	require.Empty(t, oddities(s.Now(), e))

	cy, eve := s.JoinBy(spare, "cy", events.Tech), s.JoinBy(spare, "eve", events.Tech)
	twoOn := conflict(t, s.Now(), projection.InviteTwice)
	e = s.Lead.Say("13:00", events.ConflictResolved{Key: twoOn.Key, Why: "cy it is"})
	s.Lead.Say("13:01", events.MemberAdmitted{Key: cy.Key, Invite: spareKey()})
	require.Empty(t, oddities(s.Now(), e))
	require.Equal(t, projection.Quarantined, member(t, s.Now(), eve).Standing)
}

func TestKindsOfConflict(t *testing.T) {
	identity := []projection.ConflictKind{
		projection.PairedTwice, projection.SerialTwice, projection.TwoSerials, projection.ForkedFeed,
		projection.PastRevocation, projection.InviteTwice, projection.ClockStepped,
	}
	judged := []projection.ConflictKind{projection.ChannelChanged, projection.PushedEarly, projection.PairedUnready, projection.PushedUnmerged}
	for _, k := range identity {
		require.True(t, k.Identity() && !k.Judged(), k)
	}
	for _, k := range judged {
		require.True(t, k.Judged() && !k.Identity(), k)
	}
}

func TestConflictKeysGoByTheirEventsAlone(t *testing.T) {
	s := job()
	a := s.Lead.Say("09:00", fitted("1-1", "S1"))
	b := s.Lead.Say("09:01", fitted("1-2", "S1"))
	one := projection.NewConflict(projection.SerialTwice, "S1", nil, a, b)
	other := projection.NewConflict(projection.SerialTwice, "S1", nil, b, a)
	require.Equal(t, one.Key, other.Key)
	require.NotEqual(t, one.Key, projection.NewConflict(projection.SerialTwice, "S1", nil, a).Key)
}
