package member_test

import (
	"flag"
	"fmt"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd/member"
	"pairwalk/testdata/beside"
	"pairwalk/testdata/invent"
	"pairwalk/testdata/lodged"
)

var most = flag.Int("most", 100_000, "how many events growth is measured up to; a million takes minutes, and some GiB")

// sized is a job to measure growth by: one thing of it is larger than in another.
type sized struct{ events, members, devices int }

func (x sized) String() string {
	return fmt.Sprintf("%d events, %d members, %d devices", x.events, x.members, x.devices)
}

func (x sized) lodged() lodged.Job {
	return lodged.Of(invent.Job{Seed: 1, Members: x.members, Count: x.events, Size: invent.Size{Seed: 1, Devices: x.devices}})
}

// opened is the same job as a member has it open.
func (x sized) opened(tb testing.TB) *member.Member {
	home, err := x.lodged().In(tb.TempDir(), "Ann")
	require.NoError(tb, err)
	m, err := home.Open("")
	require.NoError(tb, err)
	tb.Cleanup(func() { require.NoError(tb, m.Close()) })
	return m
}

// growth is every size that growth is measured at: by entries, by members, by
// devices.
var growth = []sized{
	{1_000, 10, 500}, {10_000, 10, 500}, {100_000, 10, 500}, {1_000_000, 10, 500},
	{100_000, 2, 500}, {100_000, 200, 500}, {100_000, 10, 5_000},
}

// held is the heap in use, without rubbish.
func held() int64 {
	runtime.GC()
	runtime.GC() // what a finalizer let go of
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int64(m.HeapAlloc)
}

// BenchmarkGrowthOpen opens sites of all sizes for work and folds all of them. It
// tells the time and memory an event.
func BenchmarkGrowthOpen(b *testing.B) {
	for _, x := range growth {
		if x.events > *most {
			continue
		}
		b.Run(x.String(), func(b *testing.B) {
			home, err := x.lodged().In(b.TempDir(), "Ann")
			require.NoError(b, err)
			for b.Loop() {
				before := held()
				began, idle := time.Now(), beside.Spent()
				m, err := home.Open("")
				require.NoError(b, err)
				s := m.Now()
				took, busy := time.Since(began), beside.Spent()-idle
				size := held() - before
				require.Equal(b, x.events+2, s.Entries)
				require.NoError(b, m.Close())
				b.ReportMetric(float64(took.Nanoseconds())/float64(x.events), "ns/event")
				b.ReportMetric(float64(busy.Nanoseconds())/float64(x.events), "cpu-ns/event")
				b.ReportMetric(float64(size)/float64(x.events), "B/event")
				b.ReportMetric(float64(took.Milliseconds()), "ms")
			}
			b.ReportMetric(0, "ns/op")
		})
	}
}

// linear says that what something allocates for four times as much is some four
// times as much, and no more than six; or is hardly anything.
func linear(t *testing.T, cost func(times int) float64) {
	t.Helper()
	small, large := cost(1), cost(4)
	require.LessOrEqual(t, large, 6*small+200)
}

func TestOpeningGrowsWithTheLog(t *testing.T) {
	linear(t, func(times int) float64 {
		home, err := sized{1_000 * times, 4, 24}.lodged().In(t.TempDir(), "Ann")
		require.NoError(t, err)
		return testing.AllocsPerRun(1, func() {
			m, err := home.Open("")
			require.NoError(t, err)
			require.Greater(t, m.Now().Entries, 1_000*times)
			require.NoError(t, m.Close())
		})
	})
}

// A newcomer fetches all of a log from a colleague who has it open.
func TestFetchingGrowsWithTheLog(t *testing.T) {
	linear(t, func(times int) float64 {
		job := sized{1_000 * times, 4, 24}.lodged()
		home, err := job.In(t.TempDir(), "Ann")
		require.NoError(t, err)
		ann, err := home.Open("")
		require.NoError(t, err)
		defer func() { require.NoError(t, ann.Close()) }()
		return testing.AllocsPerRun(1, func() {
			_, bo, err := job.Join(t.TempDir(), "Bo")
			require.NoError(t, err)
			bo.Hear("ann", ann.Have(), bo.Stamp())
			for asks := bo.Asks(); len(asks) > 0; asks = bo.Asks() {
				for _, ask := range asks {
					_, err := bo.Answered(t.Context(), ask, ann.Answer(ask.Pull.Encode()))
					require.NoError(t, err)
				}
			}
			require.Equal(t, ann.Now().Entries+2, bo.Now().Entries)
			require.NoError(t, bo.Close())
		})
	})
}

// What is asked all day costs no more than what it looks at: the log, or the
// schedule.
func TestAnswersGrowWithTheSite(t *testing.T) {
	answers := []struct {
		what string
		ask  func(m *member.Member) any
	}{
		{"status", func(m *member.Member) any { return member.StatusOf(m.Now()) }},
		{"conflicts", func(m *member.Member) any { return member.ConflictsOf(m.Now()) }},
		{"members", func(m *member.Member) any { return m.Members() }},
		{"history", func(m *member.Member) any {
			return member.HistoryOf(m.Now(), m.History(projection.Moment{}, events.Site()))
		}},
		{"show", func(m *member.Member) any {
			return m.Show(projection.Moment{}, events.Device(m.Now().Devices[0].Device))
		}},
		{"settle", func(m *member.Member) any {
			js, err := m.Settle()
			require.NoError(t, err)
			return js
		}},
		{"next", func(m *member.Member) any { return m.Next() }},
		{"reach", func(m *member.Member) any {
			a, err := m.Reach(projection.Moment{}, member.Supposed{})
			require.NoError(t, err)
			return a
		}},
		{"faults", func(m *member.Member) any {
			return m.Faults(projection.Moment{}, nil)
		}},
		{"course", func(m *member.Member) any { return m.Course(projection.Known{}) }},
	}
	log := map[int]*member.Member{1: sized{1_500, 4, 48}.opened(t), 4: sized{6_000, 4, 48}.opened(t)}
	plan := map[int]*member.Member{1: sized{2_500, 4, 100}.opened(t), 4: sized{2_500, 4, 400}.opened(t)}
	for _, tt := range answers {
		t.Run(tt.what, func(t *testing.T) {
			for _, by := range []map[int]*member.Member{log, plan} {
				linear(t, func(times int) float64 {
					return testing.AllocsPerRun(1, func() { require.NotNil(t, tt.ask(by[times])) })
				})
			}
		})
	}
}
