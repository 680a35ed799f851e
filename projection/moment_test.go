package projection_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
)

// Paired 14:00; logged at 15:00, unpaired at 13:30; the truth at 16:00 is paired.
func TestLateUnpairThatHappenedEarlier(t *testing.T) {
	s := job()
	pairing := s.Lead.Say("14:00", paired("1-1", "H1"))
	s.Lead.Say("15:00", events.DeviceUnpaired{Device: "1-1", Why: "wrong hub"}, tale.When("13:30", "13:30"))

	d := device(t, at(s, "16:00"), "1-1")
	require.NotNil(t, d.Paired)
	requireCause(t, pairing, &d.Paired.Cause)
	require.Nil(t, device(t, at(s, "13:45"), "1-1").Paired, "and at 13:45 it was not yet paired")
}

func TestVoidChangesWhatWeNowHoldTrueOfThePast(t *testing.T) {
	s := job()
	pairing := s.Lead.Say("14:00", paired("1-1", "H1"))
	s.Lead.Say("16:00", events.EventVoided{Event: pairing.Ref(), Why: events.DidNotHappen})
	h := s.History()
	three := events.Some(tale.T("15:00"))

	now := h.At(projection.Moment{When: three})
	require.Nil(t, device(t, now, "1-1").Paired, "of 15:00, as we know it now")

	then := h.At(projection.Moment{When: three, Known: projection.Known{Member: s.Lead.Key, At: three}})
	require.NotNil(t, device(t, then, "1-1").Paired, "of 15:00, as known at 15:00")
}

func TestVoidsCountWhateverTheirRank(t *testing.T) {
	t.Run("by a lead with a slow clock who never saw the target's feed", func(t *testing.T) {
		s, bo := duo()
		pairing := bo.Say("14:00", paired("1-1", "H1"))
		s.Lead.Skew = -3 * time.Hour
		void := s.Lead.Say("14:05", events.EventVoided{Event: pairing.Ref(), Why: events.WrongDetail})

		h := s.History()
		require.Less(t, rankIn(h, void), rankIn(h, pairing), "the void ranks first")
		d := device(t, h.At(projection.Moment{}), "1-1")
		require.Nil(t, d.Paired)
	})
	t.Run("heard before their target", func(t *testing.T) {
		s, bo := duo()
		pairing := bo.Say("14:00", paired("1-1", "H1"))
		s.Lead.Skew = -3 * time.Hour
		void := s.Lead.Say("14:05", events.EventVoided{Event: pairing.Ref(), Why: events.DidNotHappen})
		h := &projection.History{Site: s.Site}
		for _, e := range s.Events() {
			if e.Hash != pairing.Hash {
				h.Add(e)
			}
		}
		before := h.At(projection.Moment{})
		require.Equal(t, []string{"the site withdraws an entry that is not known here"}, oddities(before, void))

		h.Add(*pairing)
		after := h.At(projection.Moment{})
		require.Nil(t, device(t, after, "1-1").Paired)
		require.Empty(t, oddities(after, void))
	})
	t.Run("in their author's own slow feed", func(t *testing.T) {
		s, bo := duo()
		pairing := bo.Say("14:00", paired("1-1", "H1"))
		bo.Skew = -5 * time.Hour
		bo.Say("14:05", events.EventVoided{Event: pairing.Ref(), Why: events.DidNotHappen})
		require.Nil(t, device(t, s.Now(), "1-1").Paired)
	})
}

func rankIn(h *projection.History, e *events.Event) int {
	for i, x := range h.Ordered() {
		if x.Ref() == e.Ref() {
			return i
		}
	}
	return -1
}

func TestAWithdrawnPairingStaysOnItsHub(t *testing.T) {
	s, bo := duo()
	own := bo.Say("14:00", paired("1-1", "H1"))
	theirs := bo.Say("14:01", paired("1-2", "H1"))
	bo.Say("14:02", events.EventVoided{Event: own.Ref(), Why: events.DidNotHappen})
	meet(s.Lead, bo)
	void := s.Lead.Say("14:10", events.EventVoided{Event: theirs.Ref(), Why: events.WrongDetail, Note: "other room"})

	pairings := hub(t, s.Now(), "H1").Pairings
	require.Len(t, pairings, 2)
	require.True(t, pairings[0].Void.Own)
	require.Equal(t, events.DidNotHappen, pairings[0].Void.Why)
	require.False(t, pairings[1].Void.Own)
	requireCause(t, void, &pairings[1].Void.Cause)
	require.Equal(t, tale.T("14:10"), pairings[1].Void.At)
	require.False(t, pairings[1].Stands())
}

func TestWhoMayWithdraw(t *testing.T) {
	s, bo := duo()
	mine := s.Lead.Say("09:00", paired("1-1", "H1"))
	bo.Hear(s.Lead)
	void := bo.Say("09:01", events.EventVoided{Event: mine.Ref(), Why: events.DidNotHappen})
	setting := s.Lead.Say("09:02", events.SettingsChanged{Set: map[events.SettingKey]string{events.SettleMinutes: "20"}})
	taken := s.Lead.Say("09:03", events.EventVoided{Event: setting.Ref(), Why: events.WrongDetail})
	twice := s.Lead.Say("09:04", events.EventVoided{Event: taken.Ref(), Why: events.WrongDetail})

	site := s.Now()
	require.NotNil(t, device(t, site, "1-1").Paired)
	require.Equal(t, "only its author or a lead may withdraw an entry", doubt(site, void))
	require.Equal(t, "10", site.Settings.Value(events.SettleMinutes), "a setting can be withdrawn")
	require.Equal(t, []string{"the site a event.voided entry can't be withdrawn"}, oddities(site, twice))
	for kind, ok := range map[events.Kind]bool{
		"site.opened": false, "member.joined": false, "member.admitted": false, "member.revoked": false,
		"feed.started": false, "event.voided": false, "device.paired": true, "settings.changed": true, "conflict.resolved": true,
	} {
		require.Equal(t, ok, projection.Voidable(kind), kind)
	}
}

func TestRecordsApplyWholeWhateverWhenSays(t *testing.T) {
	s := job()
	s.Lead.Say("15:00", events.SettingsChanged{Set: map[events.SettingKey]string{events.SettleMinutes: "25"}})
	late := s.Join("bo", events.Tech)
	late.Say("16:00", events.HubReady{Hub: "H1"})

	site := at(s, "09:00")
	require.Equal(t, "25", site.Settings.Value(events.SettleMinutes))
	require.Equal(t, projection.Admitted, member(t, site, late).Standing)
}

func TestKnownToOneMemberAtOneTime(t *testing.T) {
	s, bo := duo()
	s.Lead.Say("09:00", paired("1-1", "H1"))
	bo.Hear(s.Lead)
	bo.Say("09:30", events.NoteAdded{Of: events.Site(), Text: "here"})
	missed := s.Lead.Say("09:40", paired("1-2", "H1"))
	bo.Hear(s.Lead)
	bo.Say("10:30", events.NoteAdded{Of: events.Site(), Text: "still here"})
	s.Lead.Say("11:00", paired("1-3", "H1"))
	h := s.History()

	ten := projection.Known{Member: bo.Key, At: events.Some(tale.T("10:00"))}
	site := h.At(projection.Moment{Known: ten})
	require.NotNil(t, device(t, site, "1-1").Paired)
	require.Nil(t, device(t, site, "1-2").Paired, "not in what bo had surely heard")

	least, most := h.KnownTo(ten)
	require.Less(t, least[s.Lead.Feed].Seq, missed.Seq)
	require.Equal(t, missed.Seq, most[s.Lead.Feed].Seq, "but bo may have heard it: the next entry had seen it")

	last := h.At(projection.Moment{Known: projection.Known{Member: bo.Key}})
	require.NotNil(t, device(t, last, "1-2").Paired)
	require.Nil(t, device(t, last, "1-3").Paired)

	noon := projection.Known{Member: bo.Key, At: events.Some(tale.T("12:00"))}
	least, most = h.KnownTo(noon)
	require.Equal(t, missed.Seq, least[s.Lead.Feed].Seq)
	require.Equal(t, s.Lead.Head().Seq, most[s.Lead.Feed].Seq, "after their last word, they may have heard everything")
}

func TestAVoidOfWhatTheyDidNotKnowIsStrangeToThem(t *testing.T) {
	s, bo := duo()
	pairing := bo.Say("09:00", paired("1-1", "H1"))
	void := s.Lead.Say("09:05", events.EventVoided{Event: pairing.Ref(), Why: events.DidNotHappen})
	site := s.History().At(projection.Moment{Known: projection.Known{Member: s.Lead.Key}})
	require.Equal(t, []string{"the site withdraws an entry that is not known here"}, oddities(site, void))
}

func TestTheZeroMomentIsTheLastEntry(t *testing.T) {
	s := job()
	s.Lead.Say("14:00", paired("1-1", "H1"))
	require.Equal(t, tale.T("14:00"), s.Now().Moment.When.Value)
	s.Lead.Say("14:01", events.NoteAdded{Of: events.Site(), Text: "tomorrow"}, tale.When("18:00", "18:20"))
	require.Equal(t, tale.T("18:10"), s.Now().Moment.When.Value)

	empty := (&projection.History{Site: s.Site}).At(projection.Moment{})
	require.Empty(t, empty.Devices)
	require.Zero(t, empty.Entries)
}

func TestNotUnderstoodEntriesKeepTheirPlace(t *testing.T) {
	s, bo := duo()
	kind := bo.Mumble("09:00")
	version := bo.MumbleWhole("09:01")
	after := bo.Say("09:02", paired("1-1", "H1"))

	site := s.Now()
	require.Len(t, site.NotUnderstood, 2)
	require.Equal(t, kind.Ref(), site.NotUnderstood[0].Ref())
	require.Equal(t, version.Ref(), site.NotUnderstood[1].Ref())
	require.Equal(t, bo.Head(), site.Heads[bo.Feed])
	require.Empty(t, oddities(site, kind))
	requireCause(t, after, &device(t, site, "1-1").Paired.Cause)
	require.Empty(t, conflicts(site, projection.ForkedFeed))

	stranger := s.Stranger("gus")
	hush := stranger.Mumble("09:00")
	require.NotEmpty(t, doubt(s.Now(), hush), "of somebody unknown it is quarantined like anything else")
}

func TestAClockSetAcrossAnEntryNotUnderstoodIsSeen(t *testing.T) {
	s, bo := duo()
	bo.Say("09:00", events.HubReady{Hub: "H1"})
	bo.Skew = time.Hour
	bo.MumbleWhole("09:01")
	bo.Say("09:02", events.HubReady{Hub: "H1"})
	conflict(t, s.Now(), projection.ClockStepped)
}

func TestWhoHadHeardOfAnEntryAndSinceWhen(t *testing.T) {
	s, bo := duo()
	e := s.Lead.Say("09:00", paired("1-1", "H1"))
	bo.Say("09:10", events.NoteAdded{Of: events.Site(), Text: "in the basement"})
	h := s.History()
	hearers := func() map[events.Key]events.Instant {
		out := map[events.Key]events.Instant{}
		for _, x := range h.HeardOf(e.Ref()) {
			out[x.Member] = x.Said
		}
		return out
	}
	require.Equal(t, map[events.Key]events.Instant{s.Lead.Key: tale.T("09:00")}, hearers())
	bo.Hear(s.Lead)
	bo.Say("09:30", events.NoteAdded{Of: events.Site(), Text: "back in the light"})
	bo.Say("09:40", events.NoteAdded{Of: events.Site(), Text: "again"})
	h = s.History()
	require.Equal(t, map[events.Key]events.Instant{s.Lead.Key: tale.T("09:00"), bo.Key: tale.T("09:30")}, hearers())
}

func TestLocalIsNoZone(t *testing.T) {
	require.Equal(t, time.UTC, (&projection.Site{Zone: "Local"}).Location(), "it would be another on every machine")
	require.Equal(t, time.UTC, (&projection.Site{Zone: "Nowhere/At all"}).Location())
	require.Equal(t, "Europe/Vienna", (&projection.Site{Zone: "Europe/Vienna"}).Location().String())
}
