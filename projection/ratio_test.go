package projection_test

import (
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/testdata/beside"
	"pairwalk/testdata/invent"
)

// visited looks at every device of a site once, as a plan on a screen does, and
// counts what it saw.
func visited(s *projection.Site) (paired, needs int) {
	for i := range s.Devices {
		d := &s.Devices[i]
		if d.Paired != nil && d.Dark == nil && d.State != projection.Listed {
			paired++
		}
		needs += len(d.Needs) + len(d.Flags)
	}
	return paired, needs
}

// tower is a site of 5,000 devices and 100,000 entries of ten people, and
// everything said on it. It has been asked for its present, as at any work.
func tower(b *testing.B) (*projection.History, []*events.Event) {
	h := towers()
	s := h.At(projection.Moment{})
	require.Len(b, s.Devices, 5_000)
	paired, _ := visited(s)
	require.Greater(b, paired, 4_000)
	return h, h.Ordered()
}

var towers = sync.OnceValue(func() *projection.History {
	job := invent.History(1, 10, 100_000)
	h := &projection.History{Site: job.Site()}
	h.Add(slices.Collect(job.Events())...)
	return h
})

// BenchmarkRatioAsOf sets the whole of a big site at a random past moment beside
// one pass over the same site as it is held now.
func BenchmarkRatioAsOf(b *testing.B) {
	h, said := tower(b)
	now := h.At(projection.Moment{})
	dice := rand.New(rand.NewPCG(1, 2))
	saw := 0
	limit := beside.Timed(func() { _, n := visited(now); saw += n })
	ours := func() time.Duration {
		at := projection.At(said[dice.IntN(len(said))].Wall.At)
		return beside.Timed(func() { _, n := visited(h.At(at)); saw += n })()
	}
	beside.Limit{Rounds: 21, Limit: limit, Ours: ours}.Report(b)
	require.Positive(b, saw)
}

// BenchmarkOneDevice is one device of that site at a random past moment, as it stands
// for the middle of 2,001, and for all but one of a hundred.
func BenchmarkOneDevice(b *testing.B) {
	h, said := tower(b)
	devices := h.At(projection.Moment{}).Devices
	dice := rand.New(rand.NewPCG(1, 2))
	for b.Loop() {
		var took []time.Duration
		for range 2001 {
			at, tag := projection.At(said[dice.IntN(len(said))].Wall.At), devices[dice.IntN(len(devices))].Device
			began := time.Now()
			h.Device(at, tag)
			took = append(took, time.Since(began))
		}
		slices.Sort(took)
		b.ReportMetric(float64(took[1000].Nanoseconds())/1000, "p50-µs")
		b.ReportMetric(float64(took[1980].Nanoseconds())/1000, "p99-µs")
	}
}

// BenchmarkRatioLate sets an entry that comes a month late, until every view is
// right again (the site now, and on the evening of that day), beside two passes over
// the site.
func BenchmarkRatioLate(b *testing.B) {
	h, said := tower(b)
	now := h.At(projection.Moment{})
	last := said[len(said)-1]
	const month, day = 30 * 24 * 3_600_000, 24 * 3_600_000
	late := newcomer(b, h, last.Wall.At-month, func(d *projection.Device) events.Payload {
		return events.DeviceHeard{Device: d.Device, Hub: d.Paired.Hub}
	})
	saw := 0
	limit := beside.Timed(func() {
		for range 2 {
			_, n := visited(now)
			saw += n
		}
	})
	ours := func() time.Duration {
		e := late()
		return beside.Timed(func() {
			h.Add(e)
			_, n := visited(h.At(projection.Moment{}))
			_, m := visited(h.At(projection.At(e.Wall.At + day)))
			saw += n + m
		})()
	}
	beside.Limit{Rounds: 3, Limit: limit, Ours: ours}.Report(b)
	require.Positive(b, saw)
}

// newcomer is a colleague whose entries were made at a time and come only now, each
// about another device: the beginning of a feed, and then what they say.
func newcomer(tb testing.TB, h *projection.History, at events.Instant, says func(*projection.Device) events.Payload) func() events.Event {
	tb.Helper()
	var before *events.Event
	site := h.At(projection.Moment{})
	for _, e := range h.Ordered() {
		if e.Member() != site.Opened.Member() && e.Wall.At <= at && (before == nil || e.Wall.At >= before.Wall.At) {
			before = e
		}
	}
	require.NotNil(tb, before)
	devices := slices.DeleteFunc(slices.Clone(site.Devices), func(d projection.Device) bool { return d.Paired == nil })
	feed := events.NewFeedID(before.Feed.Key(), [8]byte{1})
	head, hlc := events.Head{}, before.HLC
	return func() events.Event {
		hlc = hlc.Tick(at)
		wall := at + events.Instant(head.Seq+1)
		e := events.Event{
			Header: events.NextHeader(h.Site, feed, head),
			HLC:    hlc, Wall: events.Wall{At: wall, Offset: 60},
			Mono:    events.Mono{Boot: before.Mono.Boot, Ms: before.Mono.Ms + int64(wall-before.Wall.At)},
			Seen:    []events.Ref{before.Ref()},
			Payload: events.FeedStarted{Why: events.NewFeed},
		}
		e.Hash = events.Hash{1, byte(e.Seq), byte(e.Seq >> 8)}
		if e.Seq > 1 {
			e.Payload = says(&devices[int(e.Seq)*7%len(devices)])
		}
		head = events.Head{Seq: e.Seq, Hash: e.Hash}
		return e
	}
}
