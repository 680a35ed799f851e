package member_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/events/journal"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// sheetSite is a site whose recovery sheet is at hand: its lead, and a member who
// holds the same log.
func sheetSite(t *testing.T) (x *team, ada, ben *device, sheet string) {
	x = newTeam(t)
	require.NoError(t, x.lead.Close())
	x.lead.Member = nil
	ada = x.device("ada")
	m, root, err := ada.home().Init(t.Context(), member.Opening{Name: "Kiln Lane Works", Person: "ada", Zone: "Europe/Vienna", Practice: true})
	require.NoError(t, err)
	ada.Member, x.lead = m, ada
	ada.schedule(3)
	ben = x.joins("ben", events.Tech)
	ada.takes(ben.bundle())
	ben.takes(ada.bundle())
	return x, ada, ben, root.Sheet()
}

// recovers makes a lead of a new device, from somebody's bundle.
func (x *team) recovers(from *device, sheet string) *device {
	root, err := invite.RootFromSheet(sheet)
	require.NoError(x.t, err)
	d := x.device("ada again")
	m, _, err := d.home().RecoverFrom(x.t.Context(), root, "ada", "", bytes.NewReader(from.bundle()))
	require.NoError(x.t, err)
	d.Member = m
	return d
}

// ends revokes a member by key.
func (d *device) ends(key events.Key, r member.Revoking) {
	who, err := d.Person(string(key))
	require.NoError(d.team.t, err)
	r.Why = "stolen"
	_, err = d.Revoke(d.team.t.Context(), who, r)
	require.NoError(d.team.t, err)
}

// counts are the notes that count at a device.
func (d *device) counts() []string {
	var out []string
	s := d.Now()
	for i := range s.Notes {
		out = append(out, s.Notes[i].Text)
	}
	slices.Sort(out)
	return out
}

func TestALeadIsRecoveredFromABundle(t *testing.T) {
	x, ada, ben, sheet := sheetSite(t)
	fresh := x.recovers(ben, sheet)
	s := fresh.Now()
	require.Equal(t, []string{"Kiln Lane Works", "Europe/Vienna"}, []string{fresh.Info().Name, s.Zone}, "the log says what the site is called")
	require.True(t, fresh.Info().Practice)
	me, _ := s.Member(fresh.Key())
	require.Equal(t, projection.Admitted, me.Standing)
	require.Equal(t, events.Lead, me.Role)
	others := fresh.OtherLeads()
	require.Len(t, others, 1)
	require.Equal(t, ada.Key(), others[0].Key)

	// Nothing is begun by a sheet of another site, by a damaged file, or twice.
	other := x.device("other")
	wrong, err := invite.NewRoot(x.rand)
	require.NoError(t, err)
	_, _, err = other.home().RecoverFrom(t.Context(), wrong, "eve", "", bytes.NewReader(ben.bundle()))
	require.ErrorIs(t, err, invite.ErrOtherRoot)
	root, err := invite.RootFromSheet(sheet)
	require.NoError(t, err)
	_, _, err = other.home().RecoverFrom(t.Context(), root, "eve", "", bytes.NewReader(ben.bundle()[:900]))
	require.Error(t, err)
	require.Empty(t, other.fs.Files())
	_, _, err = fresh.home().RecoverFrom(t.Context(), root, "eve", "", bytes.NewReader(ben.bundle()))
	require.ErrorContains(t, err, "on that site already")
}

// The thief of a lead's device can make invites until they die: they open no bus
// once the lead is known to be revoked, and neither do those from before.
func TestALostLeadsInvitesOpenNothing(t *testing.T) {
	x, ada, ben, sheet := sheetSite(t)
	before := x.joinsNow("before", events.Tech)
	fresh := x.recovers(ben, sheet)
	require.NoError(t, fresh.Admits(before.bus(), before.Joined()), "nobody is revoked yet")
	fresh.ends(ada.Key(), member.Revoking{Sheet: sheet})
	after := x.joinsNow("after", events.Tech)
	ben.takes(fresh.bundle())
	for _, d := range []*device{fresh, ben} {
		for _, late := range []*device{before, after} {
			require.ErrorIs(t, d.Admits(late.bus(), late.Joined()), member.ErrLostInvite)
		}
		require.ErrorIs(t, d.Admits(ada.bus(), ada.Joined()), member.ErrRevoked)
	}

	// Whoever came in good faith is let in by hand, and the accomplice is not.
	fresh.takes(before.bundle())
	got := fresh.takes(after.bundle())
	require.Empty(t, got.Admitted)
	require.Equal(t, projection.Quarantined, standingOf(fresh, before))
	who, err := fresh.Person(string(before.Key()))
	require.NoError(t, err)
	_, err = fresh.Admit(t.Context(), who)
	require.NoError(t, err)
	require.NoError(t, fresh.Admits(before.bus(), nil))
	require.ErrorIs(t, fresh.Admits(after.bus(), after.Joined()), member.ErrQuarantined)
}

// Of a log that comes in bit by bit, a newcomer may hear that a lead was revoked before
// that lead's word for those who are called at: who the invite named stays called.
func TestANewcomerKeepsCallingWhomTheInviteNamed(t *testing.T) {
	x, ada, ben, sheet := sheetSite(t)
	cy, dee := x.joinsNow("cy", events.Tech), x.joinsNow("dee", events.Tech) // whom ada has not heard of
	token, err := ada.Invite(events.Tech, time.Hour, "", cy.meeting("192.0.2.7:24517"))
	require.NoError(t, err)
	eve := x.device("eve")
	eve.Member, err = eve.home().Join(t.Context(), token, "eve", "")
	require.NoError(t, err)
	fresh := x.recovers(ben, sheet)
	fresh.ends(ada.Key(), member.Revoking{Sheet: sheet})
	fresh.takes(cy.bundle())
	fresh.takes(dee.bundle())
	eve.takes(fresh.bundle())
	for _, d := range []*device{cy, dee} {
		require.Equal(t, projection.Quarantined, standingOf(eve, d))
	}
	require.True(t, eve.Trusts(cy.bus()), "her invite named them")
	require.False(t, eve.Trusts(dee.bus()), "it did not")
	require.False(t, eve.Trusts(ada.bus()), "it did, and she was revoked")
	require.False(t, fresh.Trusts(cy.bus()))

	fresh.ends(cy.Key(), member.Revoking{})
	eve.takes(fresh.bundle())
	require.False(t, eve.Trusts(cy.bus()))
}

func standingOf(at, of *device) projection.Standing {
	who, ok := at.Now().Member(of.Key())
	require.True(at.team.t, ok)
	return who.Standing
}

// A thief who used the device before anybody knew is cut off where the owner left it,
// with what they did in the owner's name: whatever their clock says, and in any feed.
func TestTheCutIsWhereTheOwnerLeftIt(t *testing.T) {
	t.Run("the last entry does not tell of the first feed's end", func(t *testing.T) { cutOff(t, false) })
	t.Run("it does", func(t *testing.T) { cutOff(t, true) })
}

func cutOff(t *testing.T, told bool) {
	x, ada, ben, sheet := sheetSite(t)
	first, last := ada.worksInTwoFeeds(ben, told)
	bens := ben.log(events.NoteAdded{Of: events.Site(), Text: "ben"})[0]
	ada.takes(ben.bundle())
	ada.isUsedByAThief(ben, bens)
	require.NotContains(t, ben.counts(), "ben", "the thief's word counts, while nobody knows")

	fresh := x.recovers(ben, sheet)
	who, err := fresh.Person(string(ada.Key()))
	require.NoError(t, err)
	_, err = fresh.Revoke(t.Context(), who, member.Revoking{Why: "stolen", Sheet: sheet, Last: fresh.entry(bens)})
	require.ErrorContains(t, err, "another member's")
	fresh.ends(ada.Key(), member.Revoking{Sheet: sheet, Last: fresh.entry(last)})
	require.Equal(t, told, slices.Contains(fresh.counts(), "owner 1"), "of an older feed, what the last entry knew of")
	require.Subset(t, fresh.counts(), []string{"ben", "owner 2"})
	fresh.ends(ada.Key(), member.Revoking{Sheet: sheet, Last: fresh.entry(first)})
	require.Contains(t, fresh.counts(), "owner 1", "said again, it can only count more")

	ada.log(events.NoteAdded{Of: events.Site(), Text: "thief, late"})
	ben.takes(ada.bundle())
	ben.takes(fresh.bundle())
	fresh.takes(ben.bundle())
	for _, d := range []*device{fresh, ben} {
		require.Subset(t, d.counts(), []string{"ben", "owner 1", "owner 2"})
		require.NotContains(t, strings.Join(d.counts(), ", "), "thief")
		for _, q := range d.Now().Quarantined {
			require.Equal(t, ada.Key(), q.Event.Member())
		}
		require.GreaterOrEqual(t, len(d.Now().Quarantined), 4, "what the thief said is kept, and shown")
	}
	require.Equal(t, fresh.status(projection.Moment{}), ben.status(projection.Moment{}))
}

// worksInTwoFeeds has the owner of a device write, put a backup back and write on,
// and a colleague hear of all of it. Told says whether the second feed tells how far
// the first had come.
func (d *device) worksInTwoFeeds(colleague *device, told bool) (first, last events.Event) {
	backup := d.fs.Clone()
	first = d.log(events.NoteAdded{Of: events.Site(), Text: "owner 1"})[0]
	colleague.takes(d.bundle())
	d.restoredTo(backup)
	d.takes(colleague.bundle()) // goes on in a new feed
	if told {
		d.log(events.NoteAdded{Of: events.Hub("H1"), Text: "owner 1.5"})
		d.reopen()
	}
	last = d.log(events.NoteAdded{Of: events.Site(), Text: "owner 2"})[0]
	colleague.takes(d.bundle())
	return first, last
}

// isUsedByAThief has somebody set the clock back, withdraw what a colleague said, and
// write in the feed there is and, from a copy, in another; the colleague takes it all.
func (d *device) isUsedByAThief(colleague *device, theirs events.Event) {
	stolen := d.fs.Clone()
	d.skew = -3 * time.Hour
	d.log(events.NoteAdded{Of: events.Site(), Text: "thief, early"})
	_, err := d.Void(d.team.t.Context(), theirs.Ref(), "did-not-happen", "")
	require.NoError(d.team.t, err)
	colleague.takes(d.bundle())
	d.restoredTo(stolen)
	d.takes(colleague.bundle())
	d.log(events.NoteAdded{Of: events.Site(), Text: "thief, in a third feed"})
	colleague.takes(d.bundle())
}

// entry is an entry as a device holds it.
func (d *device) entry(e events.Event) *events.Event {
	held, err := d.Entry(e.Ref().String())
	require.NoError(d.team.t, err)
	return held
}

// restoredTo puts an older state of a device's files in the place of the newer.
func (d *device) restoredTo(state *journal.MemFS) {
	require.NoError(d.team.t, d.Close())
	d.fs = state.Clone()
	m, err := d.home().Open("")
	require.NoError(d.team.t, err)
	d.Member = m
}
