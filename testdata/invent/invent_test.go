package invent_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/seal"
	"pairwalk/testdata/invent"
)

func TestSitesHaveTheSizeAskedFor(t *testing.T) {
	for _, tt := range []struct {
		name                  string
		size                  invent.Size
		devices, hubs, floors int
	}{
		{"nothing asked", invent.Size{}, 500, 4, 6},
		{"small", invent.Size{Devices: 24, Hubs: 2, Floors: 3}, 24, 2, 3},
		{"a tower", invent.Size{Devices: 5_000}, 5_000, 20, 22},
		{"fewer rooms than hubs", invent.Size{Devices: 24, Hubs: 20, Floors: 1}, 24, 3, 1},
	} {
		t.Run(tt.name, func(t *testing.T) {
			tags, rooms, count := map[events.Tag]bool{}, map[events.RoomID]bool{}, map[events.Kind]int{}
			hubs := map[events.HubID]bool{}
			for _, p := range invent.Site(tt.size) {
				_, err := events.EncodeBody(p)
				require.NoError(t, err)
				count[p.Kind()]++
				switch p := p.(type) {
				case events.RoomListed:
					rooms[p.Room] = true
				case events.HubListed:
					require.False(t, hubs[p.Hub], "hub %s is listed twice", p.Hub)
					hubs[p.Hub] = true
				case events.DeviceListed:
					require.False(t, tags[p.Device], "tag %s is listed twice", p.Device)
					require.True(t, rooms[p.Room] && hubs[p.Hub], "%s comes after its room and hub", p.Device)
					tags[p.Device] = true
				}
			}
			require.Equal(t, []int{tt.devices, tt.hubs, tt.floors},
				[]int{count["device.listed"], count["hub.listed"], count["floor.listed"]})
		})
	}
}

func TestLinesAreWholeFeedsThatTheDoorLetsIn(t *testing.T) {
	job := invent.History(3, 4, 3_000)
	feeds := map[events.FeedID][][]byte{}
	joined := 0
	for v := range job.Lines() {
		e := v.Event()
		require.True(t, e.Understood(), "%v", e.Payload)
		require.Equal(t, job.Site(), e.Site)
		if e.Seq == 1 {
			require.Equal(t, events.Kind("feed.started"), e.Kind())
		}
		if p, ok := e.Payload.(events.MemberJoined); ok {
			joined++
			require.NoError(t, p.Proven(job.Site(), e.Feed))
		}
		feeds[v.Feed()] = append(feeds[v.Feed()], v.Line())
	}
	require.Len(t, feeds, 4)
	require.Equal(t, 4, joined)
	total := 0
	for _, lines := range feeds {
		run, err := seal.OpenRun(lines)
		require.NoError(t, err)
		require.Len(t, run, len(lines))
		total += len(run)
	}
	require.Equal(t, 3_000, total)
}

// Nobody has seen what had not been said, or unsees what it had seen.
func TestSeenHeadsAreCausal(t *testing.T) {
	said := map[events.Ref]bool{}
	knew := map[events.FeedID]map[events.FeedID]events.Seq{}
	clock := map[events.FeedID]events.HLC{}
	full := 0
	for e := range invent.History(5, 5, 8_000).Events() {
		require.True(t, clock[e.Feed].Before(e.HLC), "the hybrid clock rises within a feed")
		clock[e.Feed] = e.HLC
		if knew[e.Feed] == nil {
			knew[e.Feed] = map[events.FeedID]events.Seq{}
		}
		mine := knew[e.Feed]
		for _, ref := range e.Seen {
			require.True(t, said[ref], "%s has seen an entry that nobody has made yet", e.Feed.Short())
			require.NotEqual(t, e.Feed, ref.Feed)
			require.GreaterOrEqual(t, ref.Seq, mine[ref.Feed])
			mine[ref.Feed] = ref.Seq
		}
		if e.Seq%256 == 0 {
			full++
			require.Len(t, e.Seen, len(mine), "every 256th entry tells all heads")
		}
		said[e.Ref()] = true
	}
	require.Positive(t, full)
}

func TestOneSeedOneHistory(t *testing.T) {
	first, again, other := lines(invent.History(1, 3, 500)), lines(invent.History(1, 3, 500)), lines(invent.History(2, 3, 500))
	require.Equal(t, first, again)
	require.NotEqual(t, first, other)
}

func lines(j invent.Job) []string {
	var out []string
	for v := range j.Lines() {
		out = append(out, string(v.Line()))
	}
	return out
}

func TestUnsignedIsTheSameJob(t *testing.T) {
	job := invent.History(4, 3, 1_500)
	var signed []events.Event
	for v := range job.Lines() {
		signed = append(signed, v.Event())
	}
	n := 0
	prev := map[events.FeedID]events.Hash{}
	for e := range job.Events() {
		s := signed[n]
		require.Equal(t, []any{s.Feed, s.Seq, s.HLC, s.Wall, s.Mono, s.When(), s.ID, s.Kind()}, []any{e.Feed, e.Seq, e.HLC, e.Wall, e.Mono, e.When(), e.ID, e.Kind()})
		require.Equal(t, prev[e.Feed], e.Prev)
		prev[e.Feed] = e.Hash
		n++
	}
	require.Equal(t, len(signed), n)
}

// The field does what the rules warn of: two people pair one device, and neither
// had heard of the other.
func TestSomeArePairedTwiceByTwoWhoDidNotKnow(t *testing.T) {
	kinds := map[events.Kind]int{}
	last := map[events.Tag]events.Ref{}
	knew := map[events.FeedID]map[events.FeedID]events.Seq{}
	twice := 0
	for e := range invent.History(6, 6, 30_000).Events() {
		kinds[e.Kind()]++
		if knew[e.Feed] == nil {
			knew[e.Feed] = map[events.FeedID]events.Seq{}
		}
		for _, ref := range e.Seen {
			knew[e.Feed][ref.Feed] = ref.Seq
		}
		p, ok := e.Payload.(events.DevicePaired)
		if !ok {
			continue
		}
		if before := last[p.Device]; !before.IsZero() && before.Feed != e.Feed && knew[e.Feed][before.Feed] < before.Seq {
			twice++
		}
		last[p.Device] = e.Ref()
	}
	require.Positive(t, twice)
	for _, k := range []events.Kind{
		"hub.ready", "hub.loaded", "device.fitted", "device.paired", "device.refused", "device.skipped", "device.replaced", "power.off", "power.on",
		"records.exported", "records.merged", "push.done", "event.voided", "fault.found", "fault.cleared", "check.done", "clock.compared", "hold.placed",
	} {
		require.Positive(t, kinds[k], "no %s", k)
	}
}

func TestClocksAreWrongButNotAbsurdly(t *testing.T) {
	far := time.Duration(0)
	for e := range invent.History(8, 6, 10_000).Events() {
		if p, ok := e.Payload.(events.ClockCompared); ok {
			off := time.Duration(p.Offset) * time.Millisecond
			require.Less(t, off.Abs(), events.MaxAhead)
			far = max(far, off.Abs())
		}
	}
	require.Greater(t, far, 10*time.Second)
}

func TestAReaderMayStopEarly(t *testing.T) {
	n := 0
	for range invent.History(1, 2, 1_000_000).Lines() {
		if n++; n == 50 {
			break
		}
	}
	require.Equal(t, 50, n)
}
