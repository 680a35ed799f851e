package projection_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
	"pairwalk/projection/tale/chance"
	"pairwalk/testdata/invent"
)

// invented is a made-up job of four people.
func invented(tb testing.TB, count int) (events.SiteID, []events.Event) {
	tb.Helper()
	job := invent.History(1, 4, count)
	pub, err := job.Root().Public()
	require.NoError(tb, err)
	return events.SiteOf(pub), slices.Collect(job.Events())
}

func BenchmarkFold(b *testing.B) {
	for _, count := range []int{10_000, 100_000} {
		site, said := invented(b, count)
		b.Run(fmt.Sprintf("%d from nothing", count), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				h := &projection.History{Site: site}
				h.Add(said...)
				h.At(projection.Moment{})
			}
		})
		h := &projection.History{Site: site}
		h.Add(said...)
		all := h.Ordered()
		b.Run(fmt.Sprintf("%d at any moment", count), func(b *testing.B) {
			b.ReportAllocs()
			dice := rand.New(rand.NewPCG(1, 2))
			for b.Loop() {
				h.At(projection.At(all[dice.IntN(count)].Wall.At))
			}
		})
	}
}

// What a fold does grows with its events, not with their square: what it
// allocates for four times the events is some four times as much.
func TestFoldingGrowsWithTheHistory(t *testing.T) {
	cost := func(count int) float64 {
		site, said := invented(t, count)
		return testing.AllocsPerRun(1, func() { freshly(site, said, projection.Moment{}) })
	}
	small, large := cost(2_000), cost(8_000)
	require.Less(t, large, 6*small)
}

// The same for stories that lean on one thing each.
func TestNoStoryIsQuadratic(t *testing.T) {
	lean := map[string]func(s *tale.Story, bo *tale.Teller, i int){
		"comparisons": func(s *tale.Story, bo *tale.Teller, i int) {
			bo.SayAt(minute(i), chance.Compared(bo, s.Lead, minute(i), 100))
		},
		"comparisons of a creeping clock": func(s *tale.Story, bo *tale.Teller, i int) {
			bo.Skew += 60_000_000
			bo.SayAt(minute(i), chance.Compared(bo, s.Lead, minute(i), 100))
		},
		"site time set again and again": func(s *tale.Story, bo *tale.Teller, i int) {
			s.Lead.Skew += 1_000_000_000
			s.Lead.SayAt(minute(i), events.HubReady{Hub: "H1"})
		},
		"meetings": func(s *tale.Story, bo *tale.Teller, i int) {
			meet(s.Lead, bo)
			bo.SayAt(minute(i), events.HubReady{Hub: "H1"})
			s.Lead.SayAt(minute(i), paired("1-1", "H1"))
		},
		"faults": func(s *tale.Story, bo *tale.Teller, i int) {
			bo.SayAt(minute(i), events.FaultFound{Of: events.Device("1-1"), Symptom: "dark", Severity: events.Minor})
		},
		"entries past a cut": func(s *tale.Story, bo *tale.Teller, i int) {
			if i == 0 {
				s.Lead.SayAt(minute(i), events.MemberRevoked{Key: bo.Key, Heads: tale.Cut(bo), Why: "lost"})
			}
			bo.SayAt(minute(i), events.HubReady{Hub: "H1"})
		},
		"renames": func(s *tale.Story, bo *tale.Teller, i int) {
			s.Lead.SayAt(minute(i), events.DeviceRenamed{From: name(i), To: name(i + 1)})
		},
	}
	for what, step := range lean {
		t.Run(what, func(t *testing.T) {
			cost := func(count int) float64 {
				s, bo := duo()
				for i := range count {
					step(s, bo, i)
				}
				said := s.Events()
				return testing.AllocsPerRun(1, func() { freshly(s.Site, said, projection.Moment{}) })
			}
			small, large := cost(200), cost(800)
			require.Less(t, large, 7*small)
		})
	}
}

func minute(i int) events.Instant { return tale.T("09:00") + events.Instant(i)*60_000 }

func name(i int) events.Tag {
	if i == 0 {
		return "1-1"
	}
	return events.Tag(fmt.Sprintf("n-%d", i))
}
