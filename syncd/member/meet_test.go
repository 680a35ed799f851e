package member_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/events/journal"
	"pairwalk/projection"
	"pairwalk/projection/settle"
	"pairwalk/syncd"
	"pairwalk/syncd/member"
)

// bus is the key a device is known by to its peers.
func (d *device) bus() events.Key {
	m, ok := d.Now().Member(d.Key())
	require.True(d.team.t, ok)
	return m.Bus
}

// hears takes in what another has, as a carrier would bring it.
func (d *device) hears(from *device) {
	asked := d.Stamp()
	have, err := syncd.DecodeHave(from.Have().Encode())
	require.NoError(d.team.t, err)
	d.Hear(from.bus(), have, asked)
}

// fetches asks another for what is wanted until nothing is, and counts the
// requests and entries.
func (d *device) fetches(from *device) (requests, fresh int) {
	for asks := d.Asks(); len(asks) > 0; asks = d.Asks() {
		for _, ask := range asks {
			require.Equal(d.team.t, from.bus(), ask.Peer)
			got, err := d.Answered(d.team.t.Context(), ask, from.Answer(ask.Pull.Encode(), nil))
			require.NoError(d.team.t, err)
			requests, fresh = requests+1, fresh+got.Fresh
		}
	}
	return requests, fresh
}

// meets lets two devices exchange until both hold the same.
func (d *device) meets(other *device) (got, gave int) {
	for range 4 {
		d.hears(other)
		_, n := d.fetches(other)
		other.hears(d)
		_, m := other.fetches(d)
		got, gave = got+n, gave+m
	}
	require.True(d.team.t, d.Have().Same(other.Have()))
	return got, gave
}

// joinsNow lets a device join by a token and meet nobody.
func (x *team) joinsNow(name string, role events.Role) *device {
	token, err := x.lead.Invite(role, 48*time.Hour, "")
	require.NoError(x.t, err)
	d := x.device(name)
	d.Member, err = d.home().Join(x.t.Context(), token, name, "")
	require.NoError(x.t, err)
	return d
}

func TestMeetingMakesTheLogsOne(t *testing.T) {
	x, ada, ben, moments := apart(t)
	got, gave := ada.meets(ben)
	require.Greater(t, got, 900)
	require.Greater(t, gave, 900)
	got, gave = ada.meets(ben)
	require.Zero(t, got+gave, "a second time brings nothing")
	require.Equal(t, ada.status(projection.Moment{}), ben.status(projection.Moment{}))
	for _, at := range moments {
		require.Equal(t, ada.status(projection.At(at)), ben.status(projection.At(at)))
	}
	require.Zero(t, ada.Unsent())
	ada.meets(ben) // she hears what he holds now
	for _, x := range ada.Members().Members {
		if x.Key == ben.Key() {
			require.Equal(t, ada.entries(), x.Heard["ada"], "he has said no word since, and holds it all")
		} else {
			require.Equal(t, ben.entries(), x.Heard["ben"], "nor has she, and holds it all")
		}
	}

	cleo := x.joinsNow("cleo", events.Tech)
	cleo.meets(ben)
	require.Empty(t, ada.Have().Since(cleo.Have()).Tips, "cleo has what ada has, whom she never met")
	require.Equal(t, projection.Provisional, cleo.standing())
	cleo.log(events.NoteAdded{Of: events.Hub("H1"), Text: "seen"})
	ben.meets(cleo)
	ada.meets(ben)
	require.Equal(t, ada.Have(), ben.Have(), "and ada hears of cleo through ben")
	ben.meets(cleo)
	require.Equal(t, projection.Admitted, cleo.standing(), "the lead admitted her by itself")
}

// entries is how many this device's member has made.
func (d *device) entries() int {
	for _, x := range d.Members().Members {
		if x.You {
			return x.Entries
		}
	}
	return 0
}

func (d *device) standing() projection.Standing {
	m, ok := d.Now().Member(d.Key())
	require.True(d.team.t, ok)
	return m.Standing
}

func TestMeetingSaysHowFreshAPeerIs(t *testing.T) {
	x, ada, ben := pairOf(t)
	ada.log(events.HubAssigned{Hub: "H1", Member: ben.Key()}, events.DevicePaired{Device: "1-001", Hub: "H1", Serial: "SN-1"})
	ben.log(events.DevicePaired{Device: "1-002", Hub: "H1", Serial: "SN-2"})
	x.pass(20 * time.Minute)
	require.Equal(t, settle.Ask, ada.verdict("H1"))
	ada.hears(ben)
	require.Equal(t, settle.Ask, ada.verdict("H1"), "what ben holds is known, and not all of it is here")
	ada.fetches(ben)
	require.NotEqual(t, settle.Ask, ada.verdict("H1"), "all that ben had said is here now")
	x.pass(20 * time.Minute)
	require.Equal(t, settle.Ask, ada.verdict("H1"), "and that ages")

	ada.skew = -time.Hour // somebody set her clock back
	ada.hears(ben)
	require.NotEqual(t, settle.Ask, ada.verdict("H1"), "her forward-running clock says that this is later")
}

func (d *device) verdict(hub events.HubID) settle.Verdict {
	js, err := d.Settle(hub)
	require.NoError(d.team.t, err)
	require.Len(d.team.t, js, 1)
	for _, r := range js[0].Reasons {
		d.team.t.Log(d.name, js[0].Verdict, r.Kind)
	}
	if len(js[0].Ask) > 0 {
		return settle.Ask
	}
	return js[0].Verdict
}

func TestWhoMayComeOntoTheBus(t *testing.T) {
	x, ada, ben := pairOf(t)
	cleo := x.joinsNow("cleo", events.Tech)
	require.NoError(t, ada.Admits(ben.bus(), nil), "the log knows ben")
	require.ErrorIs(t, ada.Admits(cleo.bus(), nil), member.ErrStranger)
	require.NoError(t, ada.Admits(cleo.bus(), cleo.Joined()), "cleo shows her join")
	require.ErrorIs(t, ada.Admits(ben.bus()+"x", cleo.Joined()), member.ErrStranger, "another's join")
	require.ErrorIs(t, ada.Admits(cleo.bus(), ben.Joined()), member.ErrStranger)
	require.ErrorIs(t, ada.Admits("", []byte("garbage")), member.ErrStranger)

	other := x.device("lead of another site")
	m, _, err := other.home().Init(t.Context(), member.Opening{Name: "Lime Works", Person: "eve", Zone: "UTC", Practice: true})
	require.NoError(t, err)
	other.Member = m
	require.ErrorIs(t, other.Admits(cleo.bus(), cleo.Joined()), member.ErrStranger, "of another site")
	require.False(t, ada.Trusts(other.bus()))
	require.True(t, cleo.Trusts(ada.bus()), "her invite names the lead")
	require.False(t, cleo.Trusts(ben.bus()), "whom she never heard of")

	x.pass(49 * time.Hour)
	require.ErrorIs(t, ada.Admits(cleo.bus(), cleo.Joined()), member.ErrLateInvite)
	who, err := ada.Person("ben")
	require.NoError(t, err)
	_, err = ada.Revoke(t.Context(), who, member.Revoking{Why: "left the team"})
	require.NoError(t, err)
	require.ErrorIs(t, ada.Admits(ben.bus(), ben.Joined()), member.ErrRevoked, "whatever he shows")
	require.False(t, ada.Trusts(ben.bus()))
}

func TestAnInviteOpensTheBusToOne(t *testing.T) {
	x, ada, _ := pairOf(t)
	token, err := x.lead.Invite(events.Tech, 48*time.Hour, "")
	require.NoError(t, err)
	first, second := x.device("cy"), x.device("dee")
	for _, d := range []*device{first, second} {
		d.Member, err = d.home().Join(t.Context(), token, d.name, "")
		require.NoError(t, err)
	}
	ada.meets(first)
	require.NoError(t, ada.Admits(first.bus(), nil))
	require.ErrorIs(t, ada.Admits(second.bus(), second.Joined()), member.ErrUsedInvite)
}

// Whoever is revoked again, with no entry named, is no better off: what came after
// the cut does not begin to count.
func TestRevokedAgainNothingMoreCounts(t *testing.T) {
	_, ada, ben := pairOf(t)
	last := ben.log(events.NoteAdded{Of: events.Site(), Text: "ben"})[0]
	later := ben.log(events.NoteAdded{Of: events.Site(), Text: "the thief"})[0]
	ada.takes(ben.bundle())
	ada.ends(ben.Key(), member.Revoking{Last: ada.entry(last)})
	require.Equal(t, []string{"ben"}, ada.counts())
	ada.ends(ben.Key(), member.Revoking{})
	require.Equal(t, []string{"ben"}, ada.counts())
	ada.ends(ben.Key(), member.Revoking{Last: ada.entry(later)})
	require.Equal(t, []string{"ben", "the thief"}, ada.counts(), "unless it is said so")
}

// Whoever came by an invite that somebody else had used never counted, and being
// revoked does not make what they said count.
func TestRevokingWhoNeverCountedLetsNothingCount(t *testing.T) {
	x, ada, _ := pairOf(t)
	token, err := x.lead.Invite(events.Tech, 48*time.Hour, "")
	require.NoError(t, err)
	first, thief := x.device("cy"), x.device("dee")
	for _, d := range []*device{first, thief} {
		d.Member, err = d.home().Join(t.Context(), token, d.name, "")
		require.NoError(t, err)
	}
	ada.takes(first.bundle())
	said := thief.log(events.NoteAdded{Of: events.Site(), Text: "all is well"})[0]
	ada.takes(thief.bundle())
	who, err := ada.Person("dee")
	require.NoError(t, err)
	require.Equal(t, projection.Quarantined, who.Standing)
	require.Empty(t, ada.Now().Notes)

	_, err = ada.Revoke(t.Context(), who, member.Revoking{Why: "not ours"})
	require.NoError(t, err)
	require.Empty(t, ada.Now().Notes)
	require.True(t, slices.ContainsFunc(ada.Now().Quarantined, func(d projection.Doubt) bool { return d.Ref() == said.Ref() }))
}

func TestRefusalsAreCountedAndCapped(t *testing.T) {
	_, ada, _ := pairOf(t)
	for i := range 1000 {
		ada.Refused("10.0.0.9", "no key", "")
		ada.Refused("10.0.1."+string(rune('a'+i%26))+string(rune('a'+i/26)), "no key", "k")
	}
	ada.reopen()
	rows := ada.Refusals()
	require.Len(t, rows, 101)
	counts := map[string]int{}
	for _, r := range rows {
		counts[r.From] = r.Count
	}
	require.GreaterOrEqual(t, counts["10.0.0.9"], 512, "as last written")
	require.GreaterOrEqual(t, counts["elsewhere"], 512)
}

func TestMeetingPoints(t *testing.T) {
	x, ada, ben := pairOf(t)
	token, err := ada.Invite(events.Tech, time.Hour, "", ada.meeting("10.0.0.1:1"))
	require.NoError(t, err)
	d := x.device("cy")
	d.Member, err = d.home().Join(t.Context(), token, "cy", "")
	require.NoError(t, err)
	require.Equal(t, "10.0.0.1:1", d.Meetings()[0].Addr)
	for i := range 30 {
		require.NoError(t, d.Met("10.0.0."+string(rune('a'+i)), ben.bus()))
	}
	d.reopen()
	require.Len(t, d.Meetings(), 16)
	require.Equal(t, ben.bus(), d.Meetings()[0].Key)
	require.False(t, d.Trusts(ben.bus()), "having met somebody proves nothing")
	require.True(t, d.Trusts(ada.bus()))
}

func TestClocksAreComparedOnceInAWhile(t *testing.T) {
	x, ada, ben := pairOf(t)
	ada.schedule(5)
	ben.skew = 4 * time.Minute
	compare := func(delay time.Duration) bool {
		var samples []syncd.Sample
		for range 3 {
			t1 := ada.Stamp()
			x.pass(delay)
			answer := syncd.AnswerClock(ben.Stamp)
			x.pass(delay)
			s, err := syncd.CompareClocks(t1, answer, ada.Stamp())
			require.NoError(t, err)
			samples = append(samples, s)
			delay += 5 * time.Millisecond
		}
		recorded, err := ada.Compared(t.Context(), ben.bus(), samples)
		require.NoError(t, err)
		return recorded
	}
	require.True(t, compare(20*time.Millisecond), "the first")
	require.False(t, compare(20*time.Millisecond), "nothing new")
	require.True(t, compare(0), "much closer")
	x.pass(2 * time.Hour)
	require.True(t, compare(0), "an hour later")
	ben.skew += time.Second
	require.True(t, compare(0), "somebody set a clock")
	ben.boot = "ben boot 2"
	require.True(t, compare(0), "another boot")
	last := ada.Now().Comparisons
	p := last[len(last)-1]
	require.Equal(t, int64(241_000), p.Offset)
	require.Equal(t, []member.Apart{{Name: "ben", By: 241 * time.Second}}, ada.ClocksApart())
	require.Empty(t, ben.ClocksApart(), "who has not compared")
	stranger := x.joinsNow("cy", events.Tech)
	sample := syncd.Sample{Mine: events.Reading{Mono: events.Mono{Boot: "a"}}, Theirs: events.Reading{Mono: events.Mono{Boot: "c"}}, Offset: 7}
	recorded, err := ada.Compared(t.Context(), stranger.bus(), []syncd.Sample{sample})
	require.NoError(t, err)
	require.False(t, recorded, "not in the log yet")
	ada.meets(stranger)
	last = ada.Now().Comparisons
	require.Equal(t, stranger.Key(), last[len(last)-1].Other, "logged once she is")
}

func TestAFullDiskIsNobodysFault(t *testing.T) {
	_, ada, ben := pairOf(t)
	ben.log(events.NoteAdded{Of: events.Hub("H1"), Text: "seen"})
	ada.hears(ben)
	asks := ada.Asks()
	require.Len(t, asks, 1)
	require.NoError(t, ada.Close())
	_, err := ada.Answered(t.Context(), asks[0], ben.Answer(asks[0].Pull.Encode(), nil))
	require.ErrorIs(t, err, journal.ErrClosed)
	require.Zero(t, ada.Towards(ben.bus()).Complaints)
	require.Equal(t, 1, ada.Towards(ben.bus()).Want)
}

func (d *device) meeting(addr string) invite.Meeting { return invite.Meeting{Addr: addr, Key: d.bus()} }

// A correction tells of the time of the entry that it corrects, by the clock as it
// is set now: else the wait would end too soon.
func TestACorrectionAfterTheClockWasSet(t *testing.T) {
	x, ada, _ := pairOf(t)
	ada.schedule(3)
	first := ada.log(events.DevicePaired{Device: "1-001", Hub: "H1", Serial: "SN-1"})[0]
	x.pass(time.Minute)
	ada.skew = time.Hour
	again, err := ada.Correct(t.Context(), first.Ref(), member.Correction{Serial: "SN-2"})
	require.NoError(t, err)
	last := again[len(again)-1]
	require.Equal(t, events.At(first.Wall.At.Add(time.Hour)), last.When().Value)
}
