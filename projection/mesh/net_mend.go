package mesh

import (
	"slices"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
)

// Mend is the net of the same site at another moment, as things stand there, just as
// Ground.Net would have it. Paths are taken over of each hub that has the links of this
// one and the same devices on the air, and an answer where all it is told from is the
// same as well.
func (n *Net) Mend(g *Ground, s *projection.Site, now events.Instant) *Net {
	if n.supposes() {
		return g.Net(s, What{Now: now})
	}
	return g.net(s, What{Now: now}, n)
}

func (n *Net) supposes() bool {
	return n.what.Planned || len(n.what.Without) > 0 || len(n.what.Relays) > 0
}

// heir is what a net takes over from an older one.
type heir struct {
	old    *Net
	fields map[*field]*field // which older one has the same paths
	told   map[*field]bool   // of those, where answers hang on the device alone
}

// inherit finds out what holds of an older net, nil for none.
func (n *Net) inherit(old *Net) heir {
	x := heir{old: old, fields: map[*field]*field{}, told: map[*field]bool{}}
	if old == nil {
		return x
	}
	sameDay := n.clock.zone == old.clock.zone && n.clock.day() == old.clock.day()
	for _, f := range n.fields {
		o := old.byHub[f.hub.Hub]
		if o == nil || f.w.any != o.w.any || (f.down == nil) != (o.down == nil) || !slices.Equal(f.up, o.up) || !slices.Equal(f.relays, o.relays) || !n.g.measuredIn(f.w, old.g, o.w) {
			continue
		}
		x.fields[f] = o
		x.told[f] = sameDay && slices.Equal(f.gone, o.gone) &&
			(f.down == nil || *f.down == *o.down) && f.sameChannels(o)
	}
	return x
}

// measuredIn says whether the measurements in a network are those of an older ground,
// where their nodes are.
func (g *Ground) measuredIn(w *network, old *Ground, before *network) bool {
	if g.measuredAs(old) {
		return true
	}
	same := func(a, b *projection.Link) bool { return a == b || a != nil && b != nil && *a == *b }
	return slices.Equal(w.known, before.known) && !slices.ContainsFunc(w.known, func(p pair) bool {
		a, b := g.measured[pairOf(w.nodes[p.a], w.nodes[p.b])], old.measured[pairOf(before.nodes[p.a], before.nodes[p.b])]
		return !same(a.ways[0], b.ways[0]) || !same(a.ways[1], b.ways[1]) || !same(a.lqi, b.lqi)
	})
}

// day is the day on which it is asked, in the site's zone.
func (c clock) day() string { return c.asked.Time().In(c.zone).Format(time.DateOnly) }

// sameChannels says whether the same changes of channel wait for a push.
func (f *field) sameChannels(o *field) bool {
	return !slices.ContainsFunc(events.Radios, func(r events.Radio) bool {
		return f.hub.Channels[r].Changed != o.hub.Channels[r].Changed
	})
}

// paths takes over the paths of a hub, and says whether there are any to take.
func (x heir) paths(f *field) bool {
	o := x.fields[f]
	if o == nil {
		return false
	}
	f.sure, f.any, f.disjoint, f.idom, f.islands = o.sure, o.any, o.disjoint, o.idom, o.islands
	f.sure.links, f.any.links = slices.Clone(o.sure.links), slices.Clone(o.any.links) // they are told as they are asked for
	f.stranded.Store(o.stranded.Load())
	return true
}

// answer is what was told of a device, if all of that holds.
func (x heir) answer(n *Net, i int) (*Reach, bool) {
	f, d := n.spots[i].field, &n.s.Devices[i]
	if !x.told[f] || i >= len(x.old.at) || x.old.at[i] < 0 || x.old.spots[i] != (spot{x.fields[f], n.spots[i].node}) {
		return nil, false
	}
	o := &x.old.s.Devices[i]
	if d.Device != o.Device || d.Radio != o.Radio || d.Heard != o.Heard || d.Pushed != o.Pushed || d.Missed != o.Missed || d.Dark != o.Dark {
		return nil, false
	}
	if seen, _ := observation(d); seen != nil && n.tooOld(seen) != x.old.tooOld(seen) {
		return nil, false
	}
	return &x.old.reaches[x.old.at[i]], true
}
