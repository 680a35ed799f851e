package mesh_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
	"pairwalk/projection/tale"
	"pairwalk/projection/tale/chance"
	"pairwalk/testdata/invent"
)

const day = 24 * 3_600_000

// sameNet holds all that a net answers against another.
func sameNet(t require.TestingT, s *projection.Site, want, got *mesh.Net) {
	require.Equal(t, want.Reaches(), got.Reaches())
	require.Equal(t, want.Islands(), got.Islands())
	require.Equal(t, want.SinglePoints(), got.SinglePoints())
	for i := range s.Devices {
		require.Equal(t, want.Legs(s.Devices[i].Device), got.Legs(s.Devices[i].Device))
	}
}

// A net that is mended from moment to moment is at each just as if it had been made
// there, on whichever day one asks.
func TestAMendedNetIsAsMadeAnew(t *testing.T) {
	job := invent.Job{Seed: 3, Members: 4, Count: 6_000, Size: invent.Size{Seed: 3, Devices: 90, Hubs: 3, Floors: 3}}
	h := &projection.History{Site: job.Site()}
	h.Adopt(slices.Collect(job.Events()))
	now := h.At(projection.Moment{})
	last := now.Moment.When.Value
	first := last
	for _, e := range h.Ordered() {
		first = min(first, e.Wall.At)
	}
	r := rand.New(rand.NewPCG(5, 6))
	at, asked := first, first
	var g *mesh.Ground
	var n *mesh.Net
	shared := 0
	for range 160 {
		switch r.IntN(8) {
		case 0:
			at = first + events.Instant(r.Int64N(int64(last-first)))
		case 1:
			at = max(first, at-events.Instant(r.Int64N(day)))
		case 2, 3:
			at = h.Ordered()[r.IntN(h.Len())].Wall.At - 1 // and then just after an entry
		default:
			at = min(last, at+events.Instant(r.Int64N(1_000)))
		}
		if asked = max(asked, at); r.IntN(20) == 0 {
			asked += day / 2
		}
		s := h.At(projection.At(at))
		before := n
		if n == nil {
			g = mesh.Survey(s)
			n = g.Net(s, mesh.What{Now: asked})
			continue
		}
		g = g.Mend(s)
		n = n.Mend(g, s, asked)
		sameNet(t, s, mesh.Survey(s).Net(s, mesh.What{Now: asked}), n)
		_, devices := n.Inherits(before)
		shared += devices
	}
	require.Greater(t, shared, 1_000)
}

// Where paths are what they were, and something was learnt of what a circuit feeds, the
// mended net asks anew who hangs on it.
func TestAMendedNetKnowsWhatACircuitFeeds(t *testing.T) {
	j := newJob(t)
	j.hub("H1", m(0, 0, 0))
	j.paired("1-1", m(15, 0, 0), onCircuit("C2"))
	j.paired("1-2", m(15, 1, 0))
	j.paired("1-3", m(30, 0, 0))
	before := j.now()
	require.Empty(t, before.SinglePoints())
	j.say("09:10", events.PowerOff{Of: events.Circuit("C2"), Dark: tags("1-1", "1-2")}, events.PowerOn{Of: events.Circuit("C2")})
	s := j.Now()
	after := before.Mend(before.Ground().Mend(s), s, 0)
	hubs, _ := after.Inherits(before)
	require.Equal(t, 1, hubs, "paths are what they were")
	sameNet(t, s, netOf(s), after)
	require.Len(t, after.SinglePoints(), 1)
}

// merged loads hubs and has the records of all that is paired merged, so that devices
// take a push.
func (j *job) merged(hubs ...events.HubID) {
	for _, h := range hubs {
		j.say("09:10", events.HubLoaded{Hub: h, Program: "r1", All: true})
	}
	head := map[events.FeedID]events.Head{j.Lead.Feed: j.Lead.Head()}
	j.say("09:20", events.RecordsExported{Export: "x1", Heads: head}, events.RecordsMerged{Export: "x1"})
}

// happens is something that bears on who reaches whom.
func happens(r *rand.Rand, tags []events.Tag) events.Payload {
	tag, hub := tags[r.IntN(len(tags))], events.HubID(fmt.Sprint("H", 1+r.IntN(2)))
	circuit := events.Circuit(events.CircuitID(fmt.Sprint("C", 1+r.IntN(3))))
	switch r.IntN(13) {
	case 0:
		return events.DeviceHeard{Device: tag, Hub: hub}
	case 1:
		return events.DeviceHeard{Device: tag, Hub: hub, RSSI: events.Some(-60)}
	case 2:
		return events.DevicePaired{Device: tag, Hub: hub}
	case 3:
		return events.DeviceUnpaired{Device: tag, Why: "taken down"}
	case 4:
		return events.PowerOff{Of: circuit}
	case 5:
		return events.PowerOn{Of: circuit}
	case 6:
		return events.PowerOff{Of: events.Device(tag)}
	case 7:
		return events.HubChannel{Hub: hub, Radio: events.Mesh, Channel: 11 + r.IntN(3)}
	case 8:
		return events.PushDone{Hub: hub, Program: "r1"}
	case 9:
		return events.PushDone{Hub: hub, Program: "r1", Missed: []events.Tag{tag}}
	case 10:
		return events.HubLost{Hub: hub, Why: "no answer"}
	case 11:
		return events.LinkMeasured{A: tags[0], B: tags[2], RSSI: events.Some(-70)}
	}
	return events.DeviceStruck{Device: tag, Why: "not built"}
}

// An entry changes what it changes, whatever it is, and no more is taken over.
func TestAMendedNetAfterEveryEntry(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 4))
		j := newJob(t)
		j.set(events.ObservedDays, "2")
		j.hub("H1", m(0, 0, 0))
		j.hub("H2", m(0, 40, 0))
		var tags []events.Tag
		for i := range 14 {
			tag := events.Tag(fmt.Sprint("1-", i+1))
			tags = append(tags, tag)
			changes := []change{onHub(events.HubID(fmt.Sprint("H", 1+i%2))), onCircuit(events.CircuitID(fmt.Sprint("C", 1+i%3)))}
			at := m(float64(9*(i/2)+9), float64(40*(i%2)), 0)
			switch r.IntN(8) {
			case 0:
				changes = append(changes, asLeaf)
			case 1:
				changes = append(changes, asStar)
			case 2:
				at = nowhere
			}
			j.paired(tag, at, changes...)
		}
		j.merged("H1", "H2")
		h := j.History()
		clock := tale.T("10:00")
		s := h.At(projection.Moment{})
		g := mesh.Survey(s)
		n := g.Net(s, mesh.What{})
		ask := clock.Add(30 * 24 * time.Hour) // one day for all of it
		for range 24 {
			clock += events.Instant(1 + r.IntN(20))
			if r.IntN(12) == 0 {
				clock += events.Instant(r.IntN(3 * day))
			}
			h.Add(*j.Lead.SayAt(clock, happens(r, tags)))
			s = h.At(projection.Moment{})
			g = g.Mend(s)
			if r.IntN(3) == 0 {
				ask = clock
			}
			n = n.Mend(g, s, ask)
			sameNet(rt, s, mesh.Survey(s).Net(s, mesh.What{Now: ask}), n)
		}
	})
}

// What says the same again at another time is told of at that time.
func TestAMendedNetTellsOfTheNewestEntry(t *testing.T) {
	j := newJob(t)
	j.row(15, "1-1", "1-2", "1-3")
	j.merged("H1")
	h := j.History()
	clock := tale.T("10:00")
	s := h.At(projection.Moment{})
	g := mesh.Survey(s)
	n := g.Net(s, mesh.What{Now: clock})
	measured := events.LinkMeasured{A: "1-1", B: "1-2", RSSI: events.Some(-84)}
	pushed := events.PushDone{Hub: "H1", Program: "r1"}
	for _, p := range []events.Payload{measured, measured, pushed, pushed, events.DeviceHeard{Device: "1-3", Hub: "H1"}} {
		clock++
		h.Add(*j.Lead.SayAt(clock, p))
		s = h.At(projection.Moment{})
		g = g.Mend(s)
		n = n.Mend(g, s, clock)
		sameNet(t, s, mesh.Survey(s).Net(s, mesh.What{Now: clock}), n)
	}
	require.Equal(t, mesh.Observed, reach(t, n, "1-1").Basis)
}

// The same along the stories of several people, and of jobs where anything may change.
func TestAMendedNetInAnyStory(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var h *projection.History
		if rapid.Bool().Draw(rt, "placed") {
			r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 3))
			j := randomJob(t, r.Uint64())
			clock := j.Now().Moment.When.Value
			for range 8 {
				clock += events.Instant(1 + r.IntN(20_000_000))
				j.Lead.SayAt(clock, relaid(r, j.Now()))
			}
			h = j.History()
		} else {
			h = chance.Story(rt).History()
		}
		now := h.At(projection.Moment{})
		g := mesh.Survey(now)
		n := g.Net(now, mesh.What{})
		for range 5 {
			m := chance.Moment(rt, now)
			s := h.At(m)
			asked := s.Moment.When.Value + events.Instant(rapid.IntRange(0, 3).Draw(rt, "later")*day)
			g = g.Mend(s)
			n = n.Mend(g, s, asked)
			sameNet(rt, s, mesh.Survey(s).Net(s, mesh.What{Now: asked}), n)
		}
	})
}

// An entry about one device has that device answered for anew, and no path looked for.
func TestAMendedNetSharesWhatHolds(t *testing.T) {
	j := randomJob(t, 1)
	for _, p := range invent.Site(invent.Size{Seed: 1, Devices: 400, Hubs: 4, Floors: 4}) {
		j.say("23:00", p)
	}
	for i, d := range j.Now().Devices {
		if d.Is.Pairs() && d.Place.Known && i%3 > 0 {
			j.say("23:10", events.DevicePaired{Device: d.Device, Hub: d.Hub})
		}
	}
	h := j.History()
	s := h.At(projection.Moment{})
	g := mesh.Survey(s)
	n := g.Net(s, mesh.What{})
	allHubs, all := n.Inherits(n)
	require.Greater(t, all, 100)
	i := slices.IndexFunc(n.Reaches(), func(r mesh.Reach) bool { return len(r.Path) > 0 && r.Basis == mesh.Predicted })
	x := n.Reaches()[i]
	j.say("23:30", events.DeviceHeard{Device: x.Device, Hub: x.Hub})
	h.Add(j.Events()[len(j.Events())-1])
	s = h.At(projection.Moment{})
	g = g.Mend(s)
	hubs, devices := n.Mend(g, s, 0).Inherits(n)
	require.Equal(t, []int{allHubs, all - 1}, []int{hubs, devices})

	supposed := g.Net(s, mesh.What{Planned: true})
	sameNet(t, s, g.Net(s, mesh.What{}), supposed.Mend(g, s, 0))
}
