package projection_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
)

// Corners of taking in one entry more without starting over, which chance seldom
// turns.

// An old entry waits for a line that is missing. When it comes, the old entry
// moves up behind it, past another of the same rank.
func TestALateLineMovesWhatFollowsItToTheEnd(t *testing.T) {
	s, bo := duo()
	cy := s.Join("cy", events.Tech)
	first, second := bo, cy
	if second.Feed < first.Feed {
		first, second = second, first
	}
	late := first.Say("10:00", paired("1-1", "H1"))
	s.Lead.Hear(first)
	s.Lead.Skew = -time.Hour
	s.Lead.Say("10:00", events.DeviceUnpaired{Device: "1-1", Why: "reset"})
	second.Say("10:00", paired("1-2", "H1"))
	requireCatchesUp(t, s, late)
}

// Somebody claims to have seen a line that never was. Once the line before that
// place comes in, having seen the claim itself, it can't be what they had seen.
func TestASeenLineThatNeverWas(t *testing.T) {
	s, bo := duo()
	bo.Skew = 30 * time.Minute
	fast := bo.Say("10:00", paired("1-1", "H1"))
	s.Lead.Skew = time.Hour // so that the claim ranks after bo's entry in any case
	s.Lead.Say("10:00", events.HubReady{Hub: "H1"}, tale.When("09:59", "09:59"))
	s.Lead.Skew = 0
	s.Lead.Say("10:01", paired("1-2", "H1"), func(e *events.Event) {
		e.Seen = []events.Ref{{Feed: bo.Feed, Seq: fast.Seq + 2, Hash: events.HashOf([]byte("nothing")).Short()}}
	})
	bo.Hear(s.Lead)
	requireCatchesUp(t, s, bo.Say("10:02", paired("1-3", "H1")))
}

// Feeds whose first line is missing come in one by one, the last by name first;
// an answer given in between keeps the list it had.
func TestAnswersKeepTheirLists(t *testing.T) {
	s, bo := duo()
	for _, clock := range []string{"09:50", "09:40", "09:30", "09:20", "09:10", "09:00"} {
		bo.NewFeed(clock, events.Restored)
		bo.Say(clock, events.HubReady{Hub: "H1"}, func(e *events.Event) { e.HLC = events.HLC{L: e.Wall.At} })
	}
	h := &projection.History{Site: s.Site}
	var feeds []events.Event
	for _, e := range s.Events() {
		if e.Feed.Key() == bo.Key && e.Kind() == "hub.ready" {
			feeds = append([]events.Event{e}, feeds...)
		} else if e.Kind() != "feed.started" || e.Feed.Key() != bo.Key {
			h.Add(e)
		}
	}
	for _, e := range feeds {
		site := h.At(projection.Moment{})
		kept := append([]events.FeedID(nil), member(t, site, bo).Feeds...)
		h.Add(e)
		h.At(projection.Moment{})
		require.Equal(t, kept, member(t, site, bo).Feeds)
	}
}

// What one knew goes by when they said things; a mad entry that was withdrawn
// does not put off all they said after it by a year.
func TestAWithdrawnMadEntryDoesNotHideWhatFollowed(t *testing.T) {
	s, bo := duo()
	bo.Skew = 365 * 24 * time.Hour
	mad := bo.Say("09:00", paired("1-1", "H1"))
	bo.Skew = 0
	sane := bo.Say("09:10", paired("1-2", "H1"))
	then := projection.Moment{Known: projection.Known{Member: bo.Key, At: events.Some(tale.T("09:30"))}}
	require.NotEqual(t, sane.Seq, s.History().At(then).Heads[bo.Feed].Seq)

	bo.Say("10:00", events.EventVoided{Event: mad.Ref(), Why: events.WrongDetail})
	require.Equal(t, sane.Seq, s.History().At(then).Heads[bo.Feed].Seq)
}

// Entries given as a slice stay the caller's, to be used again.
func TestAddKeepsCopies(t *testing.T) {
	s := job()
	said := s.Events()
	h := &projection.History{Site: s.Site}
	h.Add(said...)
	h.Add(said...)
	require.Equal(t, len(said), h.Len())
	clear(said)
	requireSame(t, s.Now(), h.At(projection.Moment{}), "after the slice was cleared")
}
