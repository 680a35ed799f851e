package walk

import (
	"slices"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// yard is a site as the planner sees it: its hubs with what is left to do on each.
type yard struct {
	site *projection.Site
	pace pace
	hubs []*job

	emergency, held, dark, never, islands []events.Tag
	blind, count                          int // of the devices to pair: those of which no link is known
}

// job is what is left to do on one hub.
type job struct {
	hub     *projection.Hub
	spot    spot
	unready bool
	tasks   []*task        // in the order of Order
	settled events.Instant // the pairings there are have settled by then
	push    bool           // something there waits for a push already
	checks  int            // devices to be seen to answer, once pushed
	keepers []events.Key   // members assigned to it
	solo    []*task        // the mesh ones in the order for one person
}

// task is a device to pair.
type task struct {
	d      *projection.Device
	job    *job
	rank   int // in Order
	star   bool
	router bool
	late   bool // refused or skipped before
	spot   spot
	hears  bool       // a sure link to the hub
	near   []tie      // sure links to routers that are to be paired too
	rafts  []berth    // sure links to routers that are paired and have no path yet
	home   bool       // a sure link to a router that is paired and has a path
	blind  bool       // nothing is known of its links
	via    events.Tag // the best of hub and paired routers that it has a sure link to
	margin int64      // of that link, centi-dB

	at     int            // its place in the order for one person
	done   events.Instant // when it is paired in the tour; 0 not yet
	rooted bool           // it had a path home then
}

// tie is a sure link to a router.
type tie struct {
	to   *task
	mean int64 // margin, centi-dB
}

// survey takes stock of what is left to do.
func survey(s *projection.Site, g *mesh.Ground) *yard {
	y := &yard{site: s, pace: paceOf(s)}
	levels := levelsOf(s)
	byTag := map[events.Tag]*task{}
	for i := range s.Hubs {
		h := &s.Hubs[i]
		if h.Struck != nil {
			continue
		}
		j := &job{hub: h, spot: spotOf(levels, h.Floor, h.Room, h.Place)}
		for k := range h.Assigned {
			j.keepers = append(j.keepers, k)
		}
		slices.Sort(j.keepers)
		y.stock(j, levels, byTag)
		if len(j.tasks) > 0 || j.push || j.checks > 0 {
			y.hubs = append(y.hubs, j)
		}
	}
	if g != nil {
		now, planned := g.Net(s, mesh.What{}), g.Net(s, mesh.What{Planned: true})
		for _, j := range y.hubs {
			j.link(s, g, now, byTag)
			for _, t := range j.tasks {
				r, _ := planned.Reach(t.d.Device)
				t.blind = r.Answer != mesh.No && r.Path == nil
				if t.blind {
					y.blind++
				}
			}
		}
	}
	if g == nil {
		y.blind = y.count
	}
	for _, j := range y.hubs {
		y.order(j)
	}
	return y
}

// stock lists what a hub's devices want.
func (y *yard) stock(j *job, levels map[events.FloorID]int, byTag map[events.Tag]*task) {
	s := y.site
	for i := range s.Devices {
		d := &s.Devices[i]
		if d.Hub == j.hub.Hub && d.Struck == nil && d.Row != nil && !d.Is.Pairs() {
			y.never = append(y.never, d.Device)
		}
		if d.Paired == nil || d.Paired.Hub != j.hub.Hub || d.Struck != nil {
			continue
		}
		if d.Radio != events.Star {
			j.settled = max(j.settled, d.Paired.At.Add(y.pace.settle), d.Settles)
		}
		j.push = j.push || d.Wants(projection.NeedPush)
		if d.Wants(projection.NeedPush) || d.Wants(projection.NeedCheck) {
			j.checks++
		}
	}
	for rank, tag := range Order(s, j.hub.Hub) {
		d, _ := s.Device(tag)
		switch {
		case !d.Wants(projection.NeedPair) || d.Wants(projection.NeedResolve):
		case d.Emergency:
			y.emergency = append(y.emergency, tag)
		case d.Has(projection.FlagHold):
			y.held = append(y.held, tag)
		case d.Has(projection.FlagDark):
			y.dark = append(y.dark, tag)
		default:
			t := &task{
				d: d, job: j, rank: rank, star: d.Radio == events.Star, router: d.IsRouter(), late: d.Refused != nil || d.Skipped != nil,
				spot: spotOf(levels, floorOf(s, d), d.Room, d.Place), blind: true,
			}
			byTag[tag] = t
			j.tasks = append(j.tasks, t)
			j.unready = j.unready || !j.hub.Holding(tag)
		}
	}
	j.unready = len(j.tasks) > 0 && (j.unready || j.hub.Ready == nil)
	y.count += len(j.tasks)
}

func spotOf(levels map[events.FloorID]int, floor events.FloorID, room events.RoomID, at events.Maybe[events.Point]) spot {
	x := spot{floor: floor, room: room, at: at}
	x.level, x.leveled = levelOf(levels, floor)
	return x
}

// link notes which tasks have sure links, to what.
func (j *job) link(s *projection.Site, g *mesh.Ground, net *mesh.Net, byTag map[events.Tag]*task) {
	rafts := j.adrift(s, g, net)
	for _, t := range j.tasks {
		for l := range g.Links(t.d.Device) {
			if !l.Sure {
				continue
			}
			other := far(l, t.d.Device)
			peer, open := byTag[other]
			raft := rafts[other]
			switch {
			case events.HubID(other) == j.hub.Hub:
				t.hears = true
			case t.star:
				continue
			case open && peer.job == j && peer.router:
				t.near = append(t.near, tie{peer, l.Mean})
				continue
			case raft != nil && !raft.landed:
				t.moor(raft, other, l.Mean)
				continue
			case raft != nil || j.carries(s, net, other):
				t.home = true
			default:
				continue
			}
			if t.via == "" || l.Mean > t.margin {
				t.via, t.margin = other, l.Mean
			}
		}
	}
}

// free says whether a device needs nobody else: star ones, and those of which no
// link is known, since nobody can tell.
func (t *task) free() bool { return t.star || t.blind || t.hears || t.home }

// joins says whether a device has a path home at a time.
func (t *task) joins(at events.Instant) bool {
	return t.free() ||
		slices.ContainsFunc(t.near, func(x tie) bool { return x.to.rooted && x.to.done <= at }) ||
		slices.ContainsFunc(t.rafts, func(x berth) bool { return x.to.by(at) })
}

// through is what a device joins through at a time: the hub or a router, by the
// widest margin; "" where nothing tells.
func (t *task) through(at events.Instant) events.Tag {
	via, best := t.via, t.margin
	for _, x := range t.near {
		if x.to.rooted && x.to.done <= at && (via == "" || x.mean > best) {
			via, best = x.to.d.Device, x.mean
		}
	}
	for _, x := range t.rafts {
		if x.to.by(at) && (via == "" || x.mean > best) {
			via, best = x.via, x.mean
		}
	}
	return via
}

// work is how long a hub keeps somebody, walking left out.
func (y *yard) work(j *job) time.Duration {
	var sum time.Duration
	if j.unready {
		sum += y.pace.ready
	}
	for _, t := range j.tasks {
		sum += y.pace.toPair(t.d)
	}
	if j.push || len(j.tasks) > 0 {
		sum += y.pace.push
	}
	return sum + time.Duration(j.checks+len(j.tasks))*y.pace.check
}
