package mesh_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
	"pairwalk/projection/tale/chance"
	"pairwalk/testdata/invent"
)

// relaid is a change to the ground: something is listed, moved, walled in, measured or
// set anew.
func relaid(r *rand.Rand, s *projection.Site) events.Payload {
	at := events.Point{X: int64(r.IntN(120)) * 1000, Y: int64(r.IntN(40)) * 1000, Z: int64(r.IntN(4)) * 2500}
	listed := events.DeviceListed{Device: events.Tag(fmt.Sprint("2-", r.IntN(6))), Is: events.Dimmer, Radio: events.Mesh, Power: events.Mains, Hub: "H1", Place: events.Some(at)}
	if len(s.Devices) == 0 {
		return listed
	}
	d, o := &s.Devices[r.IntN(len(s.Devices))], &s.Devices[r.IntN(len(s.Devices))]
	switch r.IntN(10) {
	case 0:
		return listed
	case 7:
		radio := []events.Radio{"", events.Mesh, events.Star}[r.IntN(3)]
		place := events.Some(at)
		if h, there := s.Hub("H1"); there && r.IntN(2) == 0 {
			place = h.Place
		}
		return events.HubListed{Hub: "H1", Radio: radio, Place: place}
	case 8:
		return events.SettingsChanged{Set: map[events.SettingKey]string{events.FadeMargin: fmt.Sprint(r.IntN(15) * 100)}}
	case 9:
		return events.SettingsChanged{Set: map[events.SettingKey]string{events.NoiseFigure: fmt.Sprint(r.IntN(12) * 100)}}
	case 1, 2:
		return events.DevicePlaced{Device: d.Device, Place: at}
	case 3:
		if to := events.Tag(fmt.Sprint("0-", r.IntN(50))); to != d.Device {
			return events.DeviceRenamed{From: d.Device, To: to}
		}
	case 4:
		return events.DeviceStruck{Device: d.Device, Why: "not built"}
	case 5:
		return events.WallListed{Wall: "w9", Floor: "0", Material: "concrete", Thickness: 200, Line: []events.XY{{X: at.X}, {X: at.X, Y: 40_000}}}
	case 6:
		if d != o {
			return events.LinkMeasured{A: d.Device, B: o.Device, RSSI: events.Some(-60 - r.IntN(40))}
		}
	}
	return randomSettings(r)
}

// A ground that is mended from moment to moment is at each just as if it had been
// surveyed there, whichever way one goes.
func TestMendedIsAsSurveyed(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 3))
		j := randomJob(t, r.Uint64())
		clock := j.Now().Moment.When.Value
		begun := clock
		var sites []*projection.Site
		for range 10 {
			clock += events.Instant(1 + r.IntN(20_000_000))
			j.Lead.SayAt(clock, relaid(r, j.Now()))
			sites = append(sites, j.Now()) // settings of a history are the same at all its moments
		}
		h := j.History()
		for range 6 {
			sites = append(sites, h.At(projection.At(clock-events.Instant(r.Int64N(int64(clock-begun)+3_600_000)))))
		}
		if r.IntN(2) == 0 {
			r.Shuffle(len(sites), func(a, b int) { sites[a], sites[b] = sites[b], sites[a] })
		}
		g := mesh.Survey(sites[0])
		one := g.Of("H1")
		for _, s := range sites {
			g, one = g.Mend(s), one.Mend(s)
			whole := mesh.Survey(s)
			require.Equal(rt, whole.Drawn(), g.Drawn())
			reaches := whole.Net(s, mesh.What{}).Reaches()
			require.Equal(rt, reaches, g.Net(s, mesh.What{}).Reaches())
			ofOne := func(r mesh.Reach) bool { return r.Hub == "H1" }
			require.Equal(rt, kept(reaches, ofOne), kept(one.Net(s, mesh.What{}).Reaches(), ofOne), "by the ground of one hub")
		}
	})
}

// kept is those of some answers that fit.
func kept(all []mesh.Reach, fits func(mesh.Reach) bool) (out []mesh.Reach) {
	for _, r := range all {
		if fits(r) {
			out = append(out, r)
		}
	}
	return out
}

// The same along the stories of several people, of sites without places.
func TestMendedIsAsSurveyedInAnyStory(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := chance.Story(t).History()
		now := h.At(projection.Moment{})
		g := mesh.Survey(now)
		for range 4 {
			s := h.At(chance.Moment(t, now))
			g = g.Mend(s)
			require.Equal(t, mesh.Survey(s).Drawn(), g.Drawn())
		}
	})
}

// Where nothing about radio changed all links are shared, and where one device was
// moved all but those of its hub.
func TestMendingSharesWhatHolds(t *testing.T) {
	j := randomJob(t, 1)
	size := invent.Size{Seed: 1, Devices: 400, Hubs: 4, Floors: 4}
	for _, p := range invent.Site(size) {
		j.say("23:00", p)
	}
	g := mesh.Survey(j.Now())
	hubs := len(j.Now().Hubs)
	j.say("23:10", events.PowerOff{Of: events.Circuit(j.Now().Circuits[0].ID)})
	g2 := g.Mend(j.Now())
	require.Equal(t, hubs, g2.Shares(g), "a breaker moves nobody")
	d := j.Now().Devices[200]
	require.True(t, d.Place.Known)
	j.say("23:20", events.DevicePlaced{Device: d.Device, Place: events.Point{X: d.Place.Value.X + 1500, Y: d.Place.Value.Y, Z: d.Place.Value.Z}})
	g3 := g2.Mend(j.Now())
	require.Equal(t, hubs-1, g3.Shares(g2))
	require.Equal(t, mesh.Survey(j.Now()).Drawn(), g3.Drawn())
}
