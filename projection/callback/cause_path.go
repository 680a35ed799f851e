package callback

import (
	"cmp"
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// mostLooked is how many entries of a sort are looked at, the newest: each takes
// the log to be folded again.
const mostLooked = 12

// departure is a supply or router that went, and all the entries that say so.
type departure struct {
	subject events.Subject
	circuit bool
	main    projection.Cause
	refs    []events.Ref
	routers []events.Tag
	how     string

	before, after *view // when it went
	alone, rest   *view // with it alone put back; with all the others put back
	whole         *view // with all put back
	lessened      map[events.Tag]bool
}

// level orders what is known of a way home: sure, possible, none. A push that was
// missed says nothing of the links.
func level(n *mesh.Net, t events.Tag) int {
	switch r, ok := n.Reach(t); {
	case ok && (r.Answer == mesh.Yes || r.Path != nil && r.Weakest.Sure):
		return 2
	case ok && r.Path != nil:
		return 1
	}
	return 0
}

// pathLevel is level where the way is known, and not only that there was one.
func pathLevel(n *mesh.Net, t events.Tag) int {
	if r, ok := n.Reach(t); !ok || r.Path == nil {
		return 0
	}
	return level(n, t)
}

// paths finds what went on the way home of a device.
func paths(x *inquiry, d *projection.Device) []finding {
	if d.Paired == nil || d.Radio == events.Star {
		return nil
	}
	hub := d.Paired.Hub
	if x.gone[hub] == nil {
		x.gone[hub] = x.pathsOf(hub)
	}
	return x.gone[hub][d.Device]
}

// pathsOf looks at what went from a hub's network. First all of it is put back at
// once: whoever gains nothing by that lost nothing by it.
func (x *inquiry) pathsOf(hub events.HubID) map[events.Tag][]finding {
	out := map[events.Tag][]finding{}
	gone := x.departures(hub)
	if len(gone) == 0 {
		return out
	}
	var all []events.Ref
	for _, g := range gone {
		all = append(all, g.refs...)
	}
	whole := x.without(all...)
	lessened := poorer(whole.net, x.net)
	var hurt []*projection.Device
	for _, d := range x.devices {
		on := d.Paired != nil && d.Paired.Hub == hub && d.Dark == nil && d.Struck == nil
		if on && (pathLevel(whole.net, d.Device) > level(x.net, d.Device) || lessened[d.Device]) {
			hurt = append(hurt, d)
		}
	}
	if len(hurt) == 0 {
		return out
	}
	for _, g := range gone {
		if len(gone) == 1 {
			g.alone, g.rest = whole, x.view
		} else {
			g.alone = x.without(g.refs...)
			g.rest = x.without(slices.DeleteFunc(slices.Clone(all), func(ref events.Ref) bool { return slices.Contains(g.refs, ref) })...)
		}
		g.before, g.after, g.whole = x.at(g.main.At-1), x.at(g.main.At), whole
		g.lessened = poorer(g.before.net, g.after.net)
		for _, d := range hurt {
			if f, ok := x.departed(d, &g); ok {
				out[d.Device] = append(out[d.Device], f)
			}
		}
	}
	for t := range out {
		lastOfSeveral(x, out[t])
	}
	return out
}

// departed judges one departure for one device. It counts if the way home got worse
// when it went, is better with it put back, or is worse without it where all else is
// put back; with another path standing, if that is the poorer one.
func (x *inquiry) departed(d *projection.Device, g *departure) (finding, bool) {
	f := finding{kind: ByPathRouter, subject: g.subject, device: d, main: g.main, what: g.how}
	if g.circuit {
		f.kind = ByPathCircuit
	}
	for _, ref := range g.refs {
		if c, ok := x.said(ref); ok && ref != g.main.Ref() {
			f.more = append(f.more, c)
		}
	}
	t := d.Device
	f.tipped = pathLevel(g.before.net, t) > level(g.after.net, t)
	f.better = pathLevel(g.alone.net, t) > level(x.net, t)
	needed := level(g.rest.net, t) < pathLevel(g.whole.net, t)
	if !f.tipped && !f.better && !needed && !g.lessened[t] {
		return f, false
	}
	now, _ := x.net.Reach(t)
	then, _ := g.alone.net.Reach(t)
	switch {
	case f.better:
		f.ifNot = fmt.Sprintf("Had it not gone, %s would have a path: %s. As it is: %s.", t, then.Why, now.Why)
	case level(x.net, t) == 2:
		f.ifNot = fmt.Sprintf("As computed the path stays: %s. What was computed may be wrong.", now.Why)
	default:
		f.ifNot = fmt.Sprintf("Put back by itself it would not help: %s. Something else went too.", then.Why)
	}
	if !f.tipped {
		if r, ok := g.after.net.Reach(t); ok && level(g.after.net, t) == 2 {
			f.against = append(f.against, Evidence{fmt.Sprintf("as computed, another path stood after that: %s", r.Why), g.main.Ref(), g.main.At, ""})
		}
	}
	f.against = append(f.against, x.heardSince(d, g.main)...)
	return f, true
}

// poorer lists the devices that keep a path from one net to the next, with less
// margin or with no second one beside it.
func poorer(before, after *mesh.Net) map[events.Tag]bool {
	out := map[events.Tag]bool{}
	c := mesh.Compare(before, after)
	for _, t := range append(c.Weaker, c.Shaken...) {
		out[t] = pathLevel(before, t) > 0
	}
	return out
}

// lastOfSeveral calls that the last path which tipped a device that had lost
// another way before.
func lastOfSeveral(x *inquiry, fs []finding) {
	last, earlier := -1, -1
	for i := range fs {
		if fs[i].tipped && (last < 0 || fs[i].main.After(fs[last].main)) {
			last = i
		}
	}
	for i := range fs {
		if last >= 0 && !fs[i].tipped && fs[last].main.After(fs[i].main) && (earlier < 0 || fs[i].main.After(fs[earlier].main)) {
			earlier = i
		}
	}
	if earlier < 0 {
		return
	}
	fs[last].kind = ByLastPath
	fs[last].more = append(fs[last].more, fs[earlier].main)
	fs[last].what += fmt.Sprintf("; it was the last of several ways home of {them}, after %s at %s", fs[earlier].main.Event.Payload, x.clock(fs[earlier].main.At))
}

// departures lists what went from a hub's network and is not back, the newest
// first.
func (x *inquiry) departures(hub events.HubID) []departure {
	found := map[events.Ref]*departure{}
	for i := range x.site.Devices {
		r := &x.site.Devices[i]
		if !r.IsRouter() || !x.wasOn(hub, r) {
			continue
		}
		g := x.departureOf(hub, r)
		if g == nil {
			continue
		}
		if had := found[g.main.Ref()]; had != nil {
			had.routers = append(had.routers, r.Device)
			continue
		}
		g.routers = []events.Tag{r.Device}
		found[g.main.Ref()] = g
	}
	out := make([]departure, 0, len(found))
	for _, g := range found {
		if g.circuit {
			g.how = fmt.Sprintf("%s is off since %s, says the log; it feeds %s on the way home of {them}", g.subject.Words(), x.clock(g.main.At), someOf(g.routers))
		}
		out = append(out, *g)
	}
	slices.SortFunc(out, func(a, b departure) int {
		switch {
		case a.main.After(b.main):
			return -1
		case b.main.After(a.main):
			return 1
		}
		return cmp.Compare(a.subject.String(), b.subject.String())
	})
	return out[:min(mostLooked, len(out))]
}

// wasOn says whether a device was ever paired to a hub, as far as that stands.
func (x *inquiry) wasOn(hub events.HubID, r *projection.Device) bool {
	h, ok := x.site.Hub(hub)
	return ok && slices.ContainsFunc(h.Pairings, func(p projection.Pairing) bool { return p.Device == r.Device && p.Stands() })
}

// departureOf is how a router went from a hub's network; nil while it is on it.
func (x *inquiry) departureOf(hub events.HubID, r *projection.Device) *departure {
	g := &departure{subject: events.Device(r.Device)}
	went := func(c *projection.Cause, how string) *departure {
		g.main, g.refs = *c, []events.Ref{c.Ref()}
		g.how = fmt.Sprintf("%s, on the way home of {them}, %s at %s", r.Device, how, x.clock(c.At))
		return g
	}
	switch {
	case r.Struck != nil:
		return went(r.Struck, "was taken off the schedule")
	case r.Paired != nil && r.Paired.Hub != hub:
		return went(&r.Paired.Cause, "was paired to "+string(r.Paired.Hub))
	case r.Paired == nil && r.Unpaired != nil && r.Replaced != nil && r.Replaced.Ref() == r.Unpaired.Ref():
		return went(r.Unpaired, "was replaced and not paired since,")
	case r.Paired == nil && r.Unpaired != nil:
		return went(r.Unpaired, "was unpaired")
	case r.Dark == nil:
		return nil
	}
	went(r.Dark, "lost its power")
	if of := x.about(r.Dark.Ref()); len(of) > 0 {
		g.subject, g.circuit = of[0], of[0].Class == events.OfCircuit
		for _, c := range x.offs[of[0]] {
			if c.Ref() != g.main.Ref() {
				g.refs = append(g.refs, c.Ref())
			}
		}
	}
	return g
}
