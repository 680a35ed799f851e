package member

import (
	"context"
	"crypto/rand"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
	"pairwalk/testdata/invent"
)

// Between two entries the ground is surveyed once, and a net made a minute; an entry may change it, and the
// past has its own.
func TestTheGroundOfThePresentIsSurveyedOnce(t *testing.T) {
	now := events.Instant(1_772_438_400_000)
	world := World{Rand: rand.Reader, Now: func() events.Stamp {
		now += 1000
		return events.Stamp{Wall: events.Wall{At: now}, Mono: events.Mono{Boot: "b", Ms: int64(now) - 1_772_000_000_000}}
	}}
	m, _, err := NewHome(journal.Memory(), world).Init(t.Context(), Opening{Name: "Kiln", Person: "Ann", Zone: "UTC"})
	require.NoError(t, err)
	defer func() { require.NoError(t, m.Close()) }()
	log := func(ps ...events.Payload) {
		var all []Entry
		for _, p := range ps {
			all = append(all, Entry{Payload: p})
		}
		_, err := m.Record(context.Background(), all...)
		require.NoError(t, err)
	}
	log(invent.Site(invent.Size{Seed: 1, Devices: 24})...)
	s := m.Now()
	tag, hub := s.Devices[1].Device, s.Devices[1].Hub
	log(events.DevicePaired{Device: tag, Hub: hub})
	before := now

	first := m.ground(m.Now())
	require.Same(t, first, m.ground(m.Now()))
	_, known := first.Link(tag, s.Devices[2].Device)
	require.True(t, known)

	_, net := m.net(m.Now())
	_, again := m.net(m.Now())
	require.Same(t, net, again)
	r, paired := net.Reach(tag)
	require.True(t, paired)
	now += 24 * 3_600_000
	_, tomorrow := m.net(m.Now())
	require.NotSame(t, net, tomorrow, "what was told of yesterday is told of as yesterday")
	require.Equal(t, r.Answer, tomorrow.Reaches()[0].Answer)
	log(events.DeviceHeard{Device: tag, Hub: hub})
	_, after := m.net(m.Now())
	seen, _ := after.Reach(tag)
	require.Equal(t, mesh.Observed, seen.Basis)
	_, then := m.net(m.At(projection.At(before)))
	unseen, _ := then.Reach(tag)
	require.NotEqual(t, mesh.Observed, unseen.Basis, "the past has its own")

	log(events.DevicePlaced{Device: tag, Place: events.Point{X: 900_000}, Accuracy: 100})
	second := m.ground(m.Now())
	require.NotSame(t, first, second)
	was, _ := first.Metres(tag, events.Tag(hub))
	is, _ := second.Metres(tag, events.Tag(hub))
	require.Greater(t, is, was+500, "it was taken far away")

	past := m.ground(m.At(projection.At(before.Add(-time.Second))))
	there, _ := past.Metres(tag, events.Tag(hub))
	require.Equal(t, was, there)
	require.Same(t, second, m.ground(m.Now()), "asking of the past takes nothing from the present")
}
