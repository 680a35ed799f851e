package between_test

import (
	"bytes"
	"maps"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/projection"
	"pairwalk/projection/between"
	"pairwalk/projection/tale"
	"pairwalk/testdata"
)

// worksJob is the demo's site of 480 devices as it is told by one hand.
type worksJob struct {
	*tale.Story
	now  events.Instant
	list intake.Listing
	pair []events.Payload
}

func (j *worksJob) say(p events.Payload) {
	j.now = j.now.Add(time.Second)
	j.Lead.SayAt(j.now, p)
}

// take lists what a sheet lists.
func (j *worksJob) take(tb testing.TB, file []byte) {
	sheet, err := intake.Read(bytes.NewReader(file), intake.Options{Site: j.list, Region: "EU", Now: j.now.Time(), Tolerance: time.Minute})
	require.NoError(tb, err)
	for _, p := range sheet.Diff(j.list).Payloads(intake.Accept{}) {
		j.say(p)
		switch p := p.(type) {
		case events.FloorListed:
			j.list.Floors[p.Floor] = p
		case events.HubListed:
			j.list.Hubs[p.Hub] = p
		case events.DeviceListed:
			j.list.Devices[p.Device] = p
			if p.Is.Pairs() {
				j.pair = append(j.pair, events.DevicePaired{Device: p.Device, Hub: p.Hub})
			}
		}
	}
}

// works is that site with all of it paired, a device every 30 s from 09:00 on, and
// pushed; and then a callback, after the circuit that the wing of floor 3 hangs on
// went off and on 50 times.
func works(tb testing.TB) (h *projection.History, done, end events.Instant) {
	tb.Helper()
	j := &worksJob{Story: tale.New(), now: tale.T("08:10")}
	j.list = intake.Listing{Hubs: map[events.HubID]events.HubListed{}, Devices: map[events.Tag]events.DeviceListed{}, Floors: map[events.FloorID]events.FloorListed{}}
	for _, file := range [][]byte{testdata.WorksFloors, testdata.WorksSchedule, testdata.WorksWalls} {
		j.take(tb, file)
	}
	hubs := slices.Sorted(maps.Keys(j.list.Hubs))
	for _, hub := range hubs {
		j.say(events.HubLoaded{Hub: hub, Program: "r1", All: true})
		j.say(events.HubReady{Hub: hub})
	}
	j.now = tale.T("09:00")
	for _, p := range j.pair {
		j.now = j.now.Add(29 * time.Second)
		j.say(p)
	}
	j.say(events.RecordsExported{Export: "x", Heads: tale.Cut(j.Lead)})
	j.say(events.RecordsMerged{Export: "x"})
	j.now = j.now.Add(time.Hour)
	for _, hub := range hubs {
		j.say(events.PushDone{Hub: hub, Program: "r1"})
	}
	done = j.now
	for range 50 {
		j.now = j.now.Add(time.Hour)
		j.say(events.NoteAdded{Of: events.Site(), Text: "a day's work elsewhere"})
		j.say(events.PowerOff{Of: events.Circuit("C4-7")})
		j.say(events.PowerOn{Of: events.Circuit("C4-7")})
	}
	j.say(events.PowerOff{Of: events.Circuit("C4-7")})
	j.say(events.HubLost{Hub: "H1", Why: "no answer"})
	return j.History(), done, j.now
}

func BenchmarkChangesAtTheWorks(b *testing.B) {
	h, done, end := works(b)
	h.At(projection.Moment{})
	ask := func(name string, from, to projection.Moment, about between.About) {
		b.Run(name, func(b *testing.B) {
			n := 0
			for b.Loop() {
				n = len(between.Changes(h, from, to, about))
			}
			require.NotZero(b, n)
			b.ReportMetric(float64(n), "changes")
		})
	}
	ask("since the handover", projection.At(done), projection.At(end), between.About{})
	ask("since the handover, a floor", projection.At(done), projection.At(end), between.About(events.Floor("3")))
	ask("an afternoon of pairing", projection.At(tale.T("11:00")), projection.At(tale.T("12:00")), between.About{})
	ask("the whole job", projection.At(tale.T("08:00")), projection.At(end), between.About{})
	b.Run("what came and went since the handover", func(b *testing.B) {
		for b.Loop() {
			between.Passing(h, projection.At(done), projection.At(end), between.About{})
		}
	})
}
