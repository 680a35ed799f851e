package web_test

import (
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// lived is the works after some days of work, in which nearly everything happened
// that a page draws.
func lived(t *testing.T) (d, ben *device) {
	livedOnce.Do(func() {
		d, ben := live(t, 400)
		require.NoError(t, d.Close())
		require.NoError(t, ben.Close())
		livedUntil, livedDisks = d.time.Load(), []*journal.MemFS{d.fs.(*journal.MemFS).Clone(), ben.fs.(*journal.MemFS).Clone()}
	})
	require.Len(t, livedDisks, 2)
	out := make([]*device, 2)
	for i, disk := range livedDisks {
		out[i] = newDevice(t, disk.Clone(), byte(30+i))
		out[i].time.Store(livedUntil + 60_000)
		m, err := out[i].home().Open("")
		require.NoError(t, err)
		out[i].Member = m
	}
	return out[0], out[1]
}

var (
	livedOnce  sync.Once
	livedUntil int64
	livedDisks []*journal.MemFS
)

func live(t *testing.T, steps int) (*device, *device) {
	d := works(t)
	ben := d.joins("ben", events.Tech, 11)
	ben.takes(d.bundle())
	d.takes(ben.bundle())
	r := rand.New(rand.NewPCG(1, 2))
	var tags []events.Tag
	hubOf := map[events.Tag]events.HubID{}
	for _, x := range d.Now().Devices {
		tags = append(tags, x.Device)
		hubOf[x.Device] = x.Hub
	}
	tags = tags[:60]
	var last events.Ref
	for _, h := range d.Now().Hubs {
		d.log(events.HubLoaded{Hub: h.Hub, Program: "r1", All: true}, events.HubReady{Hub: h.Hub})
	}
	for range steps {
		d.pass(time.Duration(r.IntN(300)) * time.Second)
		ben.time.Store(d.time.Load() + int64(r.IntN(2000)))
		tag := tags[r.IntN(len(tags))]
		who := []*device{d, d, ben}[r.IntN(3)]
		x := member.Entry{Payload: happening(r, tag, hubOf[tag], last)}
		if x.Payload == nil {
			continue
		}
		if r.IntN(6) == 0 {
			at := d.stamp().Wall.At.Add(-time.Duration(r.IntN(7200)) * time.Second)
			x.When = events.Some(events.Interval{From: at, To: at.Add(time.Minute)})
		}
		evs, err := who.Record(t.Context(), x)
		require.NoError(t, err)
		if who == d {
			last = evs[0].Ref()
		}
		if r.IntN(25) == 0 {
			d.takes(ben.bundle())
			ben.takes(d.bundle())
		}
	}
	d.takes(ben.bundle())
	return d, ben
}

// happening is something that may happen to a device.
func happening(r *rand.Rand, tag events.Tag, hub events.HubID, last events.Ref) events.Payload {
	circuit := events.Circuit(events.CircuitID(fmt.Sprint("C1-", 1+r.IntN(6))))
	switch r.IntN(19) {
	case 0, 1, 2, 3, 4:
		return events.DevicePaired{Device: tag, Hub: hub, Serial: events.Serial("S" + string(tag))}
	case 5:
		return events.DeviceFitted{Device: tag, Serial: events.Serial("S" + string(tag))}
	case 6:
		return events.DeviceRefused{Device: tag, Why: events.RefusedWhys[r.IntN(len(events.RefusedWhys))]}
	case 7:
		return events.DeviceSkipped{Device: tag, Why: events.SkippedWhys[r.IntN(len(events.SkippedWhys))]}
	case 8:
		return events.DeviceUnpaired{Device: tag, Why: "reset"}
	case 9:
		return events.PowerOff{Of: circuit}
	case 10:
		return events.PowerOn{Of: circuit}
	case 11:
		return events.HoldPlaced{Of: events.Device(tag), Why: "ceiling open"}
	case 12:
		return events.HoldLifted{Of: events.Device(tag)}
	case 13:
		return events.FaultFound{Of: events.Device(tag), Symptom: "hums", Severity: events.Minor}
	case 14:
		return events.PushDone{Hub: hub, Program: "r1", Missed: []events.Tag{tag}}
	case 15:
		return events.HubLost{Hub: hub, Why: "no answer"}
	case 16:
		return events.HubReady{Hub: hub}
	case 17:
		return events.DeviceStruck{Device: tag, Why: "drawn twice"}
	}
	if last.IsZero() {
		return nil
	}
	return events.EventVoided{Event: last, Why: events.DidNotHappen}
}

// TestTheCourseIsTheFactsOfEveryMoment: a page that scrubs draws what the process
// would say of that moment.
func TestTheCourseIsTheFactsOfEveryMoment(t *testing.T) {
	d, ben := lived(t)
	x := d.serve()
	for query, known := range map[string]projection.Known{"": {}, "?known_by=ben": {Member: ben.Key()}} {
		a := x.get("/api/course" + query)
		got := told[struct {
			Known    string
			From, To events.Instant
			Devices  []string
			Turns    [][5]any
			Marks    []struct {
				At       events.Instant
				Kind     string
				Subjects []string
			}
		}](t, a)
		require.Greater(t, len(got.Turns), 400)
		require.NotEmpty(t, got.Marks)
		r := rand.New(rand.NewPCG(3, 4))
		for range 50 {
			at := got.From - 5 + events.Instant(r.Int64N(int64(got.To-got.From)+10))
			if r.IntN(2) == 0 {
				at = events.Instant(got.Turns[r.IntN(len(got.Turns))][0].(float64)) + events.Instant(r.IntN(3)-1)
			}
			drawn := map[string]string{}
			for _, turn := range got.Turns {
				if when := events.Instant(turn[0].(float64)); when <= at {
					state, settles := int(turn[2].(float64)), events.Instant(turn[3].(float64))
					if state == 2 && settles != 0 && at >= settles {
						state = 3
					}
					drawn[got.Devices[int(turn[1].(float64))]] = fmt.Sprint(states[state], " ", turn[4])
				}
			}
			s := d.At(projection.Moment{When: events.Some(at), Known: known})
			want := map[string]string{}
			for i := range s.Devices {
				want[string(s.Devices[i].Device)] = lookOf(&s.Devices[i])
			}
			require.Equal(t, want, drawn, "at %s", at)
		}
		for _, m := range got.Marks {
			require.True(t, m.At >= got.From && m.At <= got.To)
			require.NotEmpty(t, m.Subjects)
			require.NotContains(t, []string{"device.paired", "note.added", "hold.lifted"}, m.Kind)
		}
	}
}

var states = []projection.State{projection.Listed, projection.Fitted, projection.Paired, projection.Settled, projection.Pushed}

func lookOf(d *projection.Device) string {
	signs := ""
	for _, x := range []struct {
		on     bool
		letter string
	}{
		{d.Struck != nil, "s"}, {d.Has(projection.FlagDark), "d"}, {d.Has(projection.FlagHold), "h"}, {d.Has(projection.FlagSkipped), "k"},
		{d.Has(projection.FlagRefused), "r"}, {d.Has(projection.FlagMissed), "m"}, {d.Has(projection.FlagFault), "f"},
	} {
		if x.on {
			signs += x.letter
		}
	}
	return fmt.Sprint(d.State, " ", signs)
}
