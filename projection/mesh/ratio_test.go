package mesh_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
	"pairwalk/testdata/beside"
	"pairwalk/testdata/invent"
)

// adjacency is the sure links of a site as flat slices, and nothing else: what a
// search in width needs and no more.
type adjacency struct {
	first  []int32 // of each node: where its neighbours begin; one more at the end
	to     []int32
	relays []bool
	roots  []int32
}

// adjacencyOf lays out what a ground has of a site on which everything is paired to
// the hub that it is scheduled on.
func adjacencyOf(s *projection.Site, g *mesh.Ground) adjacency {
	place := map[events.Tag]int32{}
	var tags []events.Tag
	add := func(t events.Tag) {
		place[t] = int32(len(tags))
		tags = append(tags, t)
	}
	var a adjacency
	for i := range s.Hubs {
		a.roots, a.relays = append(a.roots, int32(i)), append(a.relays, true)
		add(events.Tag(s.Hubs[i].Hub))
	}
	for i := range s.Devices {
		if d := &s.Devices[i]; d.Paired != nil {
			a.relays = append(a.relays, d.IsRouter())
			add(d.Device)
		}
	}
	for _, t := range tags {
		a.first = append(a.first, int32(len(a.to)))
		for l := range g.Links(t) {
			if v, paired := place[l.B]; paired && l.Sure {
				a.to = append(a.to, v)
			}
		}
	}
	a.first = append(a.first, int32(len(a.to)))
	return a
}

// search is a bare search in width from all hubs: who is reached, in how many hops.
func (a *adjacency) search(hops, queue []int32) (reached int) {
	for i := range hops {
		hops[i] = -1
	}
	queue = queue[:0]
	for _, r := range a.roots {
		hops[r] = 0
		queue = append(queue, r)
	}
	for head := 0; head < len(queue); head++ {
		u := queue[head]
		if !a.relays[u] {
			continue
		}
		for _, v := range a.to[a.first[u]:a.first[u+1]] {
			if hops[v] < 0 {
				hops[v] = hops[u] + 1
				queue = append(queue, v)
			}
		}
	}
	return len(queue) - len(a.roots)
}

// BenchmarkRatioReach holds reach, which tells margins, second paths, what rests on
// what and why in words, against a bare search in width over the same links. The
// ratio is the one's speed over the other's.
func BenchmarkRatioReach(b *testing.B) {
	for _, size := range []struct {
		name string
		invent.Size
	}{
		{"500 devices", invent.Size{Seed: 1, Devices: 500, Hubs: 4, Floors: 6}},
		{"5000 devices", invent.Size{Seed: 1, Devices: 5_000, Hubs: 20, Floors: 22}},
	} {
		s := bigSite(size.Size, "-300")
		g := mesh.Survey(s)
		a := adjacencyOf(s, g)
		hops, queue := make([]int32, len(a.relays)), make([]int32, 0, len(a.relays))
		yes := 0
		for _, r := range g.Net(s, mesh.What{}).Reaches() {
			if r.Answer == mesh.Yes {
				yes++
			}
		}
		require.Equal(b, yes, a.search(hops, queue), "both reach the same")
		b.Run(size.name, func(b *testing.B) {
			beside.Limit{
				Limit: beside.Timed(func() { a.search(hops, queue) }),
				Ours:  beside.Timed(func() { g.Net(s, mesh.What{}).Reaches() }),
			}.Report(b)
		})
	}
}
