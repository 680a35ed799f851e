package member_test

import (
	"bytes"
	"flag"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd"
	"pairwalk/syncd/member"
	"pairwalk/testdata/beside"
	"pairwalk/testdata/invent"
	"pairwalk/testdata/lodged"
)

var most = flag.Int("most", 100_000, "how many events growth is measured up to; a million takes minutes, and some GiB")

// opened is a job as a member has it open.
func opened(tb testing.TB, x invent.Sized) *member.Member {
	home, err := lodged.Of(x.Job()).In(tb.TempDir(), "Ann")
	require.NoError(tb, err)
	m, err := home.Open("")
	require.NoError(tb, err)
	tb.Cleanup(func() { require.NoError(tb, m.Close()) })
	return m
}

// BenchmarkGrowthOpen opens sites of all sizes for work and folds all of them. It
// tells the time and memory an event.
func BenchmarkGrowthOpen(b *testing.B) {
	for _, x := range invent.Growth {
		if x.Events > *most {
			continue
		}
		b.Run(x.String(), func(b *testing.B) {
			home, err := lodged.Of(x.Job()).In(b.TempDir(), "Ann")
			require.NoError(b, err)
			for b.Loop() {
				before := beside.Heap()
				began, idle := time.Now(), beside.Spent()
				m, err := home.Open("")
				require.NoError(b, err)
				s := m.Now()
				took, busy := time.Since(began), beside.Spent()-idle
				size := beside.Heap() - before
				require.Equal(b, x.Events+2, s.Entries)
				require.NoError(b, m.Close())
				b.ReportMetric(float64(took.Nanoseconds())/float64(x.Events), "ns/event")
				b.ReportMetric(float64(busy.Nanoseconds())/float64(x.Events), "cpu-ns/event")
				b.ReportMetric(float64(size)/float64(x.Events), "B/event")
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
		home, err := lodged.Of(invent.Sized{Events: 1_000 * times, Members: 4, Devices: 24}.Job()).In(t.TempDir(), "Ann")
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
		job := lodged.Of(invent.Sized{Events: 1_000 * times, Members: 4, Devices: 24}.Job())
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
					_, err := bo.Answered(t.Context(), ask, ann.Answer(ask.Pull.Encode(), nil))
					require.NoError(t, err)
				}
			}
			require.Equal(t, ann.Now().Entries+2, bo.Now().Entries)
			require.NoError(t, bo.Close())
		})
	})
}

// What a reply holds is copied to nowhere but the disk on its way, and what it says is
// read once: for each byte that comes only so many are allocated, and the colleague who
// has room for replies allocates next to none.
func TestAReplyIsTakenInWithoutCopies(t *testing.T) {
	if raced {
		t.Skip("the race detector allocates as well, and drops what is kept to be used again")
	}
	job := lodged.Of(invent.Sized{Events: 8_000, Members: 2, Devices: 24}.Job())
	home, err := job.In(t.TempDir(), "Ann")
	require.NoError(t, err)
	ann, err := home.Open("")
	require.NoError(t, err)
	defer func() { require.NoError(t, ann.Close()) }()
	_, bo, err := job.Join(t.TempDir(), "Bo")
	require.NoError(t, err)
	defer func() { require.NoError(t, bo.Close()) }()
	bo.Hear("ann", ann.Have(), bo.Stamp())
	var told, took, came uint64
	room := make([]byte, 0, 2*syncd.MaxReply)
	for asks := bo.Asks(); len(asks) > 0; asks = bo.Asks() {
		for _, ask := range asks {
			pull := ask.Pull.Encode()
			var reply []byte
			told += allocated(func() { reply = ann.Answer(pull, room) })
			came += uint64(len(reply))
			reply = bytes.Clone(reply)
			took += allocated(func() {
				_, err := bo.Answered(t.Context(), ask, reply)
				require.NoError(t, err)
			})
		}
	}
	require.Greater(t, came, uint64(job.Bytes()))
	require.Less(t, float64(told)/float64(came), 0.3)
	require.Less(t, float64(took)/float64(came), 2.3)
}

// allocated is how many bytes something allocates.
func allocated(do func()) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	do()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
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
	log := map[int]*member.Member{1: opened(t, invent.Sized{Events: 1_500, Members: 4, Devices: 48}), 4: opened(t, invent.Sized{Events: 6_000, Members: 4, Devices: 48})}
	plan := map[int]*member.Member{1: opened(t, invent.Sized{Events: 2_500, Members: 4, Devices: 100}), 4: opened(t, invent.Sized{Events: 2_500, Members: 4, Devices: 400})}
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
