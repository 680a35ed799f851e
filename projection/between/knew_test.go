package between_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/between"
	"pairwalk/projection/tale"
)

func entry(t *testing.T, r *between.Reading, e *events.Event) between.Entry {
	t.Helper()
	x, ok := r.Entry(e.Ref())
	require.True(t, ok)
	return x
}

func TestWhoKnewIsToldByWhatTheySaidNext(t *testing.T) {
	s := tale.New()
	ada, ben := s.Join("Ada", events.Tech), s.Join("Ben", events.Tech)
	cleo := s.Join("Cleo", events.Viewer)
	off := ben.Say("14:02", events.PowerOff{Of: events.Circuit("C1")})
	ada.Hear(ben)
	saw := ada.Say("15:10", events.NoteAdded{Of: events.Site(), Text: "lunch"})

	r := between.Read(s.History(), projection.Moment{})
	x := entry(t, r, off)
	require.Equal(t, tale.T("14:02"), x.Said)
	require.Equal(t, []between.Knew{
		{Member: ben.Key, At: tale.T("14:02"), Placed: x.Placed, Shown: off.Ref()},
		{Member: ada.Key, At: tale.T("15:10"), Placed: x.Knew[1].Placed, Shown: saw.Ref()},
	}, x.Knew)
	require.ElementsMatch(t, []events.Key{s.Lead.Key, cleo.Key}, x.NotKnown)
}

func TestWordsOfTheTwoTimes(t *testing.T) {
	s := tale.New()
	ada, ben := s.Join("Ada", events.Tech), s.Join("Ben", events.Tech)
	for _, x := range []*tale.Teller{ada, ben} {
		x.Compare("08:30", s.Lead, 10*time.Millisecond)
	}
	ben.Say("14:00", events.FeedStarted{Why: events.NewFeed})
	late := ben.Say("14:02", events.PowerOff{Of: events.Circuit("C1")}, tale.When("13:40", "13:50"), tale.By("electrician"))
	ada.Hear(ben)
	s.Lead.Hear(ada)
	ada.Say("15:10", events.NoteAdded{Of: events.Site(), Text: "lunch"})
	s.Lead.Say("15:12", events.NoteAdded{Of: events.Site(), Text: "home"})

	r := between.Read(s.History(), projection.At(tale.T("15:11")))
	require.Equal(t, "electrician did it; it happened between 2026-03-02 13:40 and 13:50; Ben logged it at 2026-03-02 14:02; "+
		"Ada is first known to have it at 2026-03-02 15:10; nothing shows that lead has it", r.Words(entry(t, r, late)))

	nextDay := between.Read(s.History(), projection.At(tale.T("15:11")+24*3_600_000))
	require.Contains(t, nextDay.Words(entry(t, nextDay, late)), "Ada is first known to have it at 2026-03-02 15:10")
}

func TestAClockThatNobodyComparedIsNamedAsSuch(t *testing.T) {
	s := tale.New()
	ben := s.Join("Ben", events.Tech)
	off := ben.Say("14:02", events.PowerOff{Of: events.Circuit("C1")})
	r := between.Read(s.History(), projection.Moment{})
	x := entry(t, r, off)
	require.False(t, x.Placed)
	require.Contains(t, r.Words(x), "Ben logged it at 2026-03-02 14:02 by their own clock, which is not known against site time")
}

// What one member knew of who else knew is no more than their own log shows.
func TestANarrowViewShowsNobodyElsesHearing(t *testing.T) {
	s := tale.New()
	ada, ben := s.Join("Ada", events.Tech), s.Join("Ben", events.Tech)
	off := ben.Say("14:02", events.PowerOff{Of: events.Circuit("C1")})
	ada.Hear(ben)
	ada.Say("15:10", events.NoteAdded{Of: events.Site(), Text: "lunch"})

	r := between.Read(s.History(), projection.Moment{Known: projection.Known{Member: ben.Key}, When: events.Some(tale.T("16:00"))})
	x := entry(t, r, off)
	require.Len(t, x.Knew, 1)
	require.Contains(t, x.NotKnown, ada.Key)

	_, held := between.Read(s.History(), projection.Moment{Known: projection.Known{Member: s.Lead.Key}}).Entry(off.Ref())
	require.False(t, held, "the lead has not heard of it")
}

func TestARelayIsNobodyWhoKnows(t *testing.T) {
	s := tale.New()
	relay := s.Join("relay", events.RelayRole)
	off := s.Lead.Say("14:02", events.PowerOff{Of: events.Circuit("C1")})
	require.NotContains(t, entry(t, between.Read(s.History(), projection.Moment{}), off).NotKnown, relay.Key)
}
