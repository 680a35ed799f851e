package walk

import (
	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// raft is routers of one hub that are paired and powered, linked surely among
// themselves, and have no path home when the plan begins. All of it comes home with
// the first router beside it that does.
type raft struct {
	landed bool    // it has a path as soon as its hub is there
	beside []*task // those with a sure link to one of it

	woken bool           // in the order for one person it has come home
	home  events.Instant // when it has a path in the tour; 0 not yet
}

// berth is a sure link to a raft: the best of those to its routers.
type berth struct {
	to   *raft
	via  events.Tag
	mean int64 // margin, centi-dB
}

// fleet is the rafts of a hub, by the routers on them.
type fleet map[events.Tag]*raft

// adrift finds the rafts of a hub.
func (j *job) adrift(s *projection.Site, g *mesh.Ground, net *mesh.Net) fleet {
	f := fleet{}
	for i := range s.Devices {
		if tag := s.Devices[i].Device; f[tag] == nil && j.stranded(s, net, tag) {
			f.gather(tag, j, s, g, net)
		}
	}
	return f
}

// gather takes a stranded router and all that it is linked to on a new raft.
func (f fleet) gather(first events.Tag, j *job, s *projection.Site, g *mesh.Ground, net *mesh.Net) {
	r := &raft{}
	f[first] = r
	for todo := []events.Tag{first}; len(todo) > 0; {
		tag := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		for l := range g.Links(tag) {
			other := far(l, tag)
			switch {
			case !l.Sure || f[other] == r:
			case events.HubID(other) == j.hub.Hub || j.carries(s, net, other):
				r.landed = true
			case j.stranded(s, net, other):
				f[other] = r
				todo = append(todo, other)
			}
		}
	}
}

// relays says whether something is paired to this hub and may carry others. What is
// struck has no links.
func (j *job) relays(s *projection.Site, t events.Tag) bool {
	d, ok := s.Device(t)
	return ok && d.Paired != nil && d.Paired.Hub == j.hub.Hub && d.Dark == nil && d.IsRouter()
}

// carries says whether it has a path now, too.
func (j *job) carries(s *projection.Site, net *mesh.Net, t events.Tag) bool {
	return j.relays(s, t) && hasPath(net, t)
}

func (j *job) stranded(s *projection.Site, net *mesh.Net, t events.Tag) bool {
	return j.relays(s, t) && !hasPath(net, t)
}

// hasPath says whether something paired has a path.
func hasPath(net *mesh.Net, t events.Tag) bool {
	r, ok := net.Reach(t)
	return ok && r.Answer == mesh.Yes
}

// far is the other end of a link.
func far(l mesh.Link, t events.Tag) events.Tag {
	if l.B == t {
		return l.A
	}
	return l.B
}

// moor notes a sure link of a device to a raft.
func (t *task) moor(r *raft, via events.Tag, mean int64) {
	for i := range t.rafts {
		if x := &t.rafts[i]; x.to == r {
			if mean > x.mean {
				x.via, x.mean = via, mean
			}
			return
		}
	}
	t.rafts = append(t.rafts, berth{r, via, mean})
	r.beside = append(r.beside, t)
}

// tow brings the rafts beside a router home with it.
func (t *task) tow() {
	if !t.router || !t.rooted {
		return
	}
	for _, x := range t.rafts {
		if x.to.home == 0 || t.done < x.to.home {
			x.to.home = t.done
		}
	}
}

// by says whether the raft has a path at a time.
func (r *raft) by(at events.Instant) bool { return r.home > 0 && r.home <= at }

// wake marks those that have a path once the rafts beside a router come home with
// it. A raft wakes its own but once.
func (t *task) wake(ready []bool) {
	for _, x := range t.rafts {
		if !t.router || x.to.woken {
			continue
		}
		x.to.woken = true
		for _, b := range x.to.beside {
			ready[b.at] = true
		}
	}
}
