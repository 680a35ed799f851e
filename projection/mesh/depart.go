package mesh

import (
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
)

// departure is a router that a hub's network had, and has no more: what was
// observed before it went may have gone through it.
type departure struct {
	tag  events.Tag
	node int32             // its place in the network, 0 where it has none
	by   *projection.Cause // nil where it is supposed
	why  string
}

// after says whether a router went after something was observed.
func (x departure) after(seen *projection.Cause) bool { return x.by == nil || x.by.After(*seen) }

// depart lists the routers that went, the latest first.
func (f *field) depart(n *Net) {
	f.gone = nil
	for v, d := range f.devices {
		if d == nil || f.up[v] || !d.IsRouter() {
			continue
		}
		why, by := n.whyDark(d)
		f.gone = append(f.gone, departure{d.Device, int32(v), by, string(d.Device) + whichHas(why)})
	}
	told := map[events.Tag]bool{}
	for i := range f.hub.Pairings {
		p := &f.hub.Pairings[i]
		d, ok := n.s.Device(p.Device)
		if !p.Stands() || !ok || told[p.Device] || !d.IsRouter() {
			continue
		}
		if by, why := n.left(d, f.hub.Hub); by != nil {
			told[p.Device] = true
			f.gone = append(f.gone, departure{d.Device, 0, by, string(d.Device) + ", which " + why + " " + n.clock.at(by.At)})
		}
	}
	slices.SortStableFunc(f.gone, func(a, b departure) int {
		switch {
		case a.by == nil || b.by == nil:
			return boolInt(b.by == nil) - boolInt(a.by == nil)
		case a.by.After(*b.by):
			return -1
		case b.by.After(*a.by):
			return 1
		}
		return 0
	})
}

// whichHas words why a router has no power.
func whichHas(why string) string {
	if strings.HasPrefix(why, "without ") {
		return ", which is supposed away"
	}
	return ", which has " + why
}

// left is how a device that was once paired to a hub came off it, or nil where it
// is still on it.
func (n *Net) left(d *projection.Device, hub events.HubID) (by *projection.Cause, why string) {
	switch {
	case d.Struck != nil && (d.Paired == nil || d.Paired.Hub == hub):
		return d.Struck, "was struck"
	case d.Paired != nil && d.Paired.Hub != hub:
		return &d.Paired.Cause, "was paired to " + string(d.Paired.Hub)
	case d.Paired == nil:
		return d.Unpaired, "was unpaired"
	}
	return nil, ""
}

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}

// The ways a device is observed, in words.
const (
	heard     = "heard"
	tookAPush = "took a push"
)

// observation is when a device was last seen to have a path, and how.
func observation(d *projection.Device) (*projection.Cause, string) {
	seen, how := d.Heard, heard
	if d.Pushed != nil && (seen == nil || d.Pushed.After(*seen)) {
		seen, how = &d.Pushed.Cause, tookAPush
	}
	return seen, how
}

// doubt is why an observation shows nothing any more, "" where it still counts.
func (n *Net) doubt(f *field, v int32, d *projection.Device, seen *projection.Cause) string {
	if n.tooOld(seen) {
		return "too long ago to count"
	}
	if missed(d, seen) {
		return "" // told by itself
	}
	radio := events.Mesh
	if d.Radio == events.Star {
		radio = events.Star
	}
	if c := f.hub.Channels[radio].Changed; c != nil && c.After(*seen) {
		return "but " + string(f.hub.Hub) + " changed its channel " + n.clock.at(c.At) + ", with no push since"
	}
	if radio == events.Star {
		return ""
	}
	for _, x := range f.gone {
		if !x.after(seen) {
			break
		}
		if f.mayHaveCarried(n.g, x, v, seen) {
			return "but it may have gone through " + x.why
		}
	}
	return ""
}

// tooOld says whether an observation is too long ago to count.
func (n *Net) tooOld(seen *projection.Cause) bool {
	days := n.s.Settings.Int(events.ObservedDays)
	return n.clock.now-seen.At > events.Instant(days*24*3600*1000)
}

// missed says whether a device missed a push after it was last observed.
func missed(d *projection.Device, seen *projection.Cause) bool {
	return d.Missed != nil && (seen == nil || d.Missed.After(*seen))
}

// mayHaveCarried says whether a router that went may have carried a device's words
// when they were observed. It surely did not where all routers that were there have
// places, and the two are in parts of the building that no possible link joins but
// by the hub.
func (f *field) mayHaveCarried(g *Ground, x departure, v int32, seen *projection.Cause) bool {
	if x.node == 0 || v == 0 || f.unknown > 0 || !f.w.node(g, v).placed {
		return true
	}
	for _, y := range f.gone {
		if !y.after(seen) {
			break
		}
		if y.node == 0 || !f.w.node(g, y.node).placed {
			return true
		}
	}
	f.carriers()
	if f.relays[v] {
		return f.islands[v] == f.islands[x.node]
	}
	for _, h := range f.w.any.Halves(v) {
		if f.islands[h.To] == f.islands[x.node] && f.relays[h.To] && h.To != 0 {
			return true
		}
	}
	return false
}

// carriers groups the routers, here and gone, by the links between them; the hub
// joins none.
func (f *field) carriers() {
	if f.islands != nil {
		return
	}
	f.islands = make([]int32, f.w.len())
	for v := range f.islands {
		f.islands[v] = int32(v)
	}
	top := func(v int32) int32 {
		for f.islands[v] != v {
			f.islands[v] = f.islands[f.islands[v]]
			v = f.islands[v]
		}
		return v
	}
	for i := range f.w.edges {
		if e := &f.w.edges[i]; e.A != 0 && f.relays[e.A] && f.relays[e.B] {
			a, b := top(e.A), top(e.B)
			f.islands[max(a, b)] = min(a, b)
		}
	}
	for v := range f.islands {
		f.islands[v] = top(int32(v))
	}
}
