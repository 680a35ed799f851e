package projection_test

import (
	"crypto/ed25519"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
)

// spare is the secret of an invite that several people get hold of.
var spare = ed25519.NewKeyFromSeed(slices.Repeat([]byte{7}, 32))

func spareKey() events.Key { return events.KeyOf(spare.Public().(ed25519.PublicKey)) }

func TestWhatEachRoleMaySay(t *testing.T) {
	tests := map[events.Role]struct{ work, settings, decide bool }{
		events.Lead:      {true, true, true},
		events.Tech:      {true, false, false},
		events.Viewer:    {false, false, false},
		events.RelayRole: {false, false, false},
	}
	for role, may := range tests {
		t.Run(string(role), func(t *testing.T) {
			s := job()
			who := s.Join("who", role)
			other, invite := s.JoinPending("other", events.Tech)
			work := who.Say("09:00", paired("1-1", "H1"))
			note := who.Say("09:01", events.NoteAdded{Of: events.Site(), Text: "hello"})
			set := who.Say("09:02", settings("settle_minutes", "25"))
			admit := who.Say("09:03", events.MemberAdmitted{Key: other.Key, Invite: invite})
			compare := who.Compare("09:04", s.Lead, time.Second)
			later := who.Mumble("23:00")

			site := s.Now()
			require.Equal(t, may.work, doubt(site, later) == "", "a version that reads it must come to the same")
			require.Equal(t, may.work, len(site.NotUnderstood) == 1)
			require.Equal(t, may.work, site.Moment.When.Value >= tale.T("23:00"), "nor does its time count")
			require.Equal(t, may.work, device(t, site, "1-1").Paired != nil)
			require.Equal(t, may.work, doubt(site, work) == "")
			require.Equal(t, may.work, doubt(site, note) == "")
			require.Equal(t, may.settings, site.Settings.Value(events.SettleMinutes) == "25")
			require.Equal(t, may.settings, doubt(site, set) == "")
			require.Equal(t, may.decide, member(t, site, other).Standing == projection.Admitted)
			require.Equal(t, may.decide, doubt(site, admit) == "")
			require.Empty(t, doubt(site, compare), "everybody may compare clocks")
			if !may.work {
				require.Equal(t, "a "+string(role)+" may not say device.paired", doubt(site, work))
			}
		})
	}
}

func TestAProvisionalMemberFoldsAndIsShownToBeSo(t *testing.T) {
	s := job()
	cy, invite := s.JoinPending("cy", events.Tech)
	cy.Say("09:00", paired("1-1", "H1"))

	site := s.Now()
	require.Equal(t, projection.Provisional, member(t, site, cy).Standing)
	d := device(t, site, "1-1")
	require.NotNil(t, d.Paired)
	require.True(t, d.Has(projection.FlagProvisional))

	admitted := s.Lead.Say("10:00", events.MemberAdmitted{Key: cy.Key, Invite: invite})
	site = s.Now()
	require.Equal(t, projection.Admitted, member(t, site, cy).Standing)
	requireCause(t, admitted, &member(t, site, cy).Decided)
	require.False(t, device(t, site, "1-1").Has(projection.FlagProvisional))
}

func TestStrangersAreQuarantined(t *testing.T) {
	s := job()
	gus := s.Stranger("gus")
	e := gus.Say("09:00", paired("1-1", "H1"))
	site := s.Now()
	require.Equal(t, "its author has not joined the site", doubt(site, e))
	require.Nil(t, device(t, site, "1-1").Paired)
	require.Len(t, hub(t, site, "H1").Pairings, 1, "but a settle wait must count it")
	require.NotEmpty(t, hub(t, site, "H1").Pairings[0].Quarantined)
	require.Equal(t, gus.Head(), site.Heads[gus.Feed], "and it keeps its place")
}

func TestJoinsThatDoNotHold(t *testing.T) {
	other := tale.NewAt("07:00")
	s := job()
	s.Lead.Say("08:30", events.NoteAdded{Of: events.Site(), Text: "x"})
	cy := s.Stranger("cy")
	join := joinOf(t, other) // the same names on the same root make the same keys; spoil the proof
	join.Key, join.Name = cy.Key, "cy"
	e := cy.Say("09:00", join)
	require.Contains(t, doubt(s.Now(), e), "join does not hold: ")
	_, joined := s.Now().Member(cy.Key)
	require.False(t, joined)
}

// joinOf is the lead's own join.
func joinOf(t *testing.T, s *tale.Story) events.MemberJoined {
	t.Helper()
	for _, e := range s.Events() {
		if p, ok := e.Payload.(events.MemberJoined); ok {
			return p
		}
	}
	require.Fail(t, "nobody joined")
	return events.MemberJoined{}
}

func TestQuarantineLiftsWhenTheJoinArrives(t *testing.T) {
	s, bo := duo()
	pairing := bo.Say("09:00", paired("1-1", "H1"))
	var late events.Event
	h := &projection.History{Site: s.Site}
	for _, e := range s.Events() {
		if e.Feed == bo.Feed && e.Kind() == "member.joined" {
			late = e
			continue
		}
		h.Add(e)
	}
	require.NotEmpty(t, doubt(h.At(projection.Moment{}), pairing))
	h.Add(late)
	site := h.At(projection.Moment{})
	require.Empty(t, doubt(site, pairing))
	require.NotNil(t, device(t, site, "1-1").Paired)
}

func TestNothingCountsBeforeAnybodyIsKnown(t *testing.T) {
	s := job()
	h := &projection.History{Site: s.Site}
	said := s.Events()
	h.Add(said[5]) // a row of the schedule
	site := h.At(projection.Moment{})
	require.Len(t, site.Quarantined, 1)
	require.Contains(t, site.Quarantined[0].Why, "nobody is known yet")
	require.Empty(t, site.Devices)
	h.Add(said...)
	require.Empty(t, h.At(projection.Moment{}).Quarantined)
}

func TestAnInviteUsedTwiceQuarantinesBothUntilALeadAdmitsOne(t *testing.T) {
	s := job()
	cy := s.JoinBy(spare, "cy", events.Tech)
	require.Equal(t, projection.Provisional, member(t, s.Now(), cy).Standing)
	eve := s.JoinBy(spare, "eve", events.Tech)
	one := cy.Say("09:00", paired("1-1", "H1"))
	two := eve.Say("09:00", paired("1-2", "H1"))

	site := s.Now()
	for _, e := range []*events.Event{one, two} {
		require.Equal(t, "invite used by more than one", doubt(site, e))
	}
	c := conflict(t, site, projection.InviteTwice)
	require.Equal(t, "one invite was used by cy and eve", sortedNames(c.Why))
	require.Len(t, c.Subjects, 2)

	s.Lead.Say("10:00", events.MemberAdmitted{Key: cy.Key, Invite: spareKey()})
	site = s.Now()
	require.NotNil(t, device(t, site, "1-1").Paired)
	require.Nil(t, device(t, site, "1-2").Paired)
	require.NotEmpty(t, doubt(site, two), "the other one stays out")
	require.Empty(t, conflicts(site, projection.InviteTwice))
}

// sortedNames puts the two names of a sentence in order: keys decide which comes
// first, and mean nothing to a reader.
func sortedNames(why string) string {
	if why == "one invite was used by eve and cy" {
		return "one invite was used by cy and eve"
	}
	return why
}

func TestARevocationCutsWhateverTheClockSays(t *testing.T) {
	s, bo := duo()
	good := bo.Say("09:00", paired("1-1", "H1"))
	cut := tale.Cut(bo)
	bo.Skew = -2 * time.Hour
	back := bo.Say("09:10", paired("1-2", "H1"), tale.When("08:30", "08:40"))
	revoked := s.Lead.Say("12:00", events.MemberRevoked{Key: bo.Key, Heads: cut, Why: "lost phone"})
	late := bo.Say("13:00", paired("1-3", "H1"))

	site := s.Now()
	m := member(t, site, bo)
	require.Equal(t, projection.Revoked, m.Standing)
	require.Equal(t, "lost phone", m.Why)
	requireCause(t, revoked, &m.Decided)
	require.Empty(t, doubt(site, good))
	require.NotNil(t, device(t, site, "1-1").Paired, "what was accepted stands")
	for _, e := range []*events.Event{back, late} {
		require.Equal(t, "said after its author was revoked", doubt(site, e))
	}
	c := conflict(t, site, projection.PastRevocation)
	require.Equal(t, []events.Ref{back.Ref(), revoked.Ref()}, c.Events)

	s.Lead.Say("14:00", events.MemberRevoked{Key: bo.Key, Heads: map[events.FeedID]events.Head{bo.Feed: {Seq: back.Seq, Hash: back.Hash}}, Why: "was still ours"})
	site = s.Now()
	require.Empty(t, doubt(site, back), "a later one raises the cut")
	require.NotNil(t, device(t, site, "1-2").Paired)
	require.NotEmpty(t, doubt(site, late))

	s.Lead.Say("15:00", events.MemberRevoked{Key: bo.Key, Heads: cut, Why: "said again"})
	require.Empty(t, doubt(s.Now(), back), "and none lowers it again")
}

func TestAFeedNotListedInARevocationIsOutWhole(t *testing.T) {
	s, bo := duo()
	accepted := bo.Say("09:00", paired("1-1", "H1"))
	cut := tale.Cut(bo)
	bo.NewFeed("09:30", events.Restored)
	other := bo.Say("09:31", paired("1-2", "H1"))
	s.Lead.Say("12:00", events.MemberRevoked{Key: bo.Key, Heads: cut, Why: "lost"})
	site := s.Now()
	require.Empty(t, doubt(site, accepted))
	require.NotEmpty(t, doubt(site, other))
	require.Len(t, member(t, site, bo).Feeds, 2)
}

// Whoever found the phone holds its key, and can write a second line at an old
// place: below the cut, but not on the branch that was accepted.
func TestABranchThatLeavesTheAcceptedLineIsOut(t *testing.T) {
	s, bo := duo()
	bo.Say("09:00", paired("1-1", "H1"))
	thief := bo.Branch()
	ours := bo.Say("09:10", paired("1-2", "H1"))
	bo.Say("09:11", paired("1-3", "H1"))
	s.Lead.Say("12:00", events.MemberRevoked{Key: bo.Key, Heads: tale.Cut(bo), Why: "lost phone"})
	theirs := thief.Say("09:05", events.DeviceUnpaired{Device: "1-1", Why: "reset"})

	site := s.Now()
	require.Empty(t, doubt(site, ours))
	require.Equal(t, "said after its author was revoked", doubt(site, theirs))
	require.NotNil(t, device(t, site, "1-1").Paired)
	require.NotNil(t, device(t, site, "1-3").Paired)
	conflict(t, site, projection.ForkedFeed)
}

func TestOnlyTheRootMakesAndRevokesLeads(t *testing.T) {
	s := job()
	dee := s.Join("dee", events.Lead)
	bad := s.Lead.Say("09:00", events.MemberRevoked{Key: dee.Key, Heads: tale.Cut(dee), Why: "quarrel"})
	after := dee.Say("09:10", settings("settle_minutes", "30"))

	site := s.Now()
	require.Equal(t, []string{"the site only the root's signature revokes a lead"}, oddities(site, bad))
	require.Equal(t, projection.Admitted, member(t, site, dee).Standing)
	require.Empty(t, doubt(site, after))

	bo := s.Join("bo", events.Tech)
	cut := tale.Cut(dee)
	later := dee.Say("09:20", settings("settle_minutes", "40"))
	carried := bo.Say("10:00", s.RevokedByRoot(events.MemberRevoked{Key: dee.Key, Heads: cut, Why: "left the firm"}))
	site = s.Now()
	require.Equal(t, projection.Revoked, member(t, site, dee).Standing)
	require.Empty(t, doubt(site, carried), "the root's word counts whoever carries it")
	require.Equal(t, "30", site.Settings.Value(events.SettleMinutes))
	require.NotEmpty(t, doubt(site, later))
}

func TestALeadCannotOverruleTheRoot(t *testing.T) {
	s, bo := duo()
	cut := tale.Cut(bo)
	late := bo.Say("09:00", paired("1-1", "H1"))
	s.Lead.Say("10:00", s.RevokedByRoot(events.MemberRevoked{Key: bo.Key, Heads: cut, Why: "stolen"}))
	s.Lead.Say("11:00", events.MemberRevoked{Key: bo.Key, Heads: tale.Cut(bo), Why: "no, it is fine"})
	require.NotEmpty(t, doubt(s.Now(), late))
	require.Equal(t, "stolen", member(t, s.Now(), bo).Why)
}

func TestASecondLeadLeadsOnceAdmitted(t *testing.T) {
	s, bo := duo()
	dee, invite := s.JoinPending("dee", events.Lead)
	cy, theirs := s.JoinPending("cy", events.Tech)
	pairing := bo.Say("09:00", paired("1-1", "H1"))
	meet(s.Lead, bo, dee, cy)

	set := dee.Say("09:01", settings("settle_minutes", "30"))
	admit := dee.Say("09:02", events.MemberAdmitted{Key: cy.Key, Invite: theirs})
	void := dee.Say("09:03", events.EventVoided{Event: pairing.Ref(), Why: events.DidNotHappen})
	work := dee.Say("09:04", paired("1-2", "H1"))

	site := s.Now()
	for _, e := range []*events.Event{set, admit} {
		require.Equal(t, "said as a lead, before any lead admitted its author", doubt(site, e))
	}
	require.Equal(t, "10", site.Settings.Value(events.SettleMinutes))
	require.Equal(t, projection.Provisional, member(t, site, cy).Standing)
	require.NotEmpty(t, doubt(site, void))
	require.NotNil(t, device(t, site, "1-1").Paired)
	require.Empty(t, doubt(site, work), "as a pair of hands they count already")

	self := dee.Say("09:05", events.MemberAdmitted{Key: dee.Key, Invite: invite})
	require.NotEmpty(t, doubt(s.Now(), self), "nobody admits themselves")

	s.Lead.Say("10:00", events.MemberAdmitted{Key: dee.Key, Invite: invite})
	site = s.Now()
	for _, e := range []*events.Event{set, admit, void, self} {
		require.Empty(t, doubt(site, e))
	}
	require.Equal(t, "30", site.Settings.Value(events.SettleMinutes))
	require.Equal(t, projection.Admitted, member(t, site, cy).Standing, "what they decided before counts now")
	require.Nil(t, device(t, site, "1-1").Paired)
}

func TestInvitesOfARevokedLead(t *testing.T) {
	s := job()
	dee := s.Join("dee", events.Lead)
	cy := s.JoinBy(spare, "cy", events.Tech)
	work := cy.Say("09:00", paired("1-1", "H1"))
	require.Empty(t, doubt(s.Now(), work))

	dee.Say("10:00", s.RevokedByRoot(events.MemberRevoked{Key: s.Lead.Key, Heads: tale.Cut(s.Lead), Why: "left"}))
	site := s.Now()
	require.Equal(t, projection.Quarantined, member(t, site, cy).Standing)
	require.NotEmpty(t, doubt(site, work))

	dee.Say("11:00", events.MemberAdmitted{Key: cy.Key, Invite: spareKey()})
	require.Empty(t, doubt(s.Now(), work), "another lead vouches for them")
}

func TestTheFirstJoinCounts(t *testing.T) {
	s := job()
	cy := s.JoinBy(spare, "cy", events.Tech)
	s.Lead.Hear(cy)
	s.Lead.Say("08:30", events.MemberAdmitted{Key: cy.Key, Invite: spareKey()})
	var again events.MemberJoined
	for _, e := range s.Events() {
		if p, ok := e.Payload.(events.MemberJoined); ok && p.Key == cy.Key {
			again = p
		}
	}
	again.Name = "somebody else"
	e := cy.Say("09:00", again)
	site := s.Now()
	require.Equal(t, "cy", member(t, site, cy).Name)
	require.Equal(t, projection.Admitted, member(t, site, cy).Standing)
	require.Equal(t, []string{"the site joined before"}, oddities(site, e))
}

func TestMembersWithOneNameAreToldApart(t *testing.T) {
	s := job()
	a, b := s.Join("kim", events.Tech), s.Join("lee", events.Tech)
	site := s.Now()
	require.Equal(t, "kim", site.MemberName(a.Key))
	for i := range site.Members {
		if site.Members[i].Key == b.Key {
			site.Members[i].Name = "kim"
		}
	}
	require.Equal(t, "kim~"+a.Key.Short()[:4], site.MemberName(a.Key))
	require.Equal(t, "kim~"+b.Key.Short()[:4], site.MemberName(b.Key))
	gus := s.Stranger("gus")
	require.Equal(t, gus.Key.Short(), site.MemberName(gus.Key))

	e := a.Say("09:00", paired("1-1", "H1"), tale.By("an apprentice"))
	require.Equal(t, "an apprentice", s.Now().DoneBy(e))
}
