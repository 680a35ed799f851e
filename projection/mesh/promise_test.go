package mesh_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// A relay put where it is said to help most gives a sure path to just those it was
// said to, and frees those it was said to.
func TestAdviceComesTrue(t *testing.T) {
	gained, freed := 0, 0
	for seed := range uint64(seeds) {
		s := randomJob(t, seed).Now()
		before := netOf(s)
		a, ok := before.BestRelay()
		if !ok {
			continue
		}
		after := netOf(s, mesh.What{Relays: []mesh.Relay{{Place: a.Place, Hub: a.Hub}}})
		var gains []events.Tag
		for _, r := range after.Reaches() {
			if was := reach(t, before, r.Device); r.Answer == mesh.Yes && was.Answer != mesh.Yes {
				gains = append(gains, r.Device)
			}
		}
		require.Equal(t, gains, a.Gains, "seed %d: %s", seed, a.Why)
		hung, still := strandedByDevice(before), strandedByDevice(after)
		for _, tag := range a.Frees {
			require.True(t, hung[tag] && !still[tag], "seed %d: %s", seed, tag)
		}
		gained, freed = gained+len(a.Gains), freed+len(a.Frees)
	}
	require.Greater(t, gained, seeds/10)
	require.Greater(t, freed, seeds/100)
}

// What a device is said to join its hub through is what it does, once it is
// paired.
func TestJoinsComesTrue(t *testing.T) {
	seen := 0
	for seed := range uint64(seeds) {
		j := randomJob(t, seed)
		s := j.Now()
		before := netOf(s)
		for i := range s.Devices {
			d := &s.Devices[i]
			if _, on := before.Reach(d.Device); on || d.Struck != nil || d.Dark != nil {
				continue
			}
			via, l, ok := before.Joins(d.Device)
			after := netOf(withPaired(s, i, d.Hub))
			r := reach(t, after, d.Device)
			if !ok {
				require.Nil(t, r.Path, "seed %d %s", seed, d.Device)
				continue
			}
			require.Equal(t, d.Device, l.A)
			require.Equal(t, via, l.B)
			if path, known := before.Reach(via); l.Sure && (!known || path.Path != nil && path.Answer == mesh.Yes && path.Basis != mesh.Observed) {
				require.Equal(t, via, r.Path[1], "seed %d %s: %v", seed, d.Device, r.Path)
				seen++
			}
			break
		}
	}
	require.Greater(t, seen, seeds/10)
}

// withPaired is a site on which one more device is paired, and nothing else is
// different.
func withPaired(s *projection.Site, i int, hub events.HubID) *projection.Site {
	out := *s
	out.Devices = append([]projection.Device(nil), s.Devices...)
	out.Devices[i].Paired = &projection.Pairing{Hub: hub, Device: out.Devices[i].Device}
	return &out
}
