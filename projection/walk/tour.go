package walk

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"pairwalk/events"
)

// tour plays a job through: whoever is free first takes their next useful act.
type tour struct {
	y      *yard
	from   events.Instant
	people []*hand
	jobs   []*run
}

// hand is somebody at work.
type hand struct {
	Part
	free events.Instant
	spot spot
	mm   int64  // on foot
	runs []*run // the hubs they see to, in order
	done bool
}

// run is a hub while the tour is played.
type run struct {
	*job
	crew   int
	open   []*task // mesh ones to be paired, in the order for one person
	stars  []*task
	ready  events.Instant // when it may be paired to; 0 not begun
	last   events.Instant // when the last device so far is paired
	rests  events.Instant // when the mesh has settled
	mesh   bool
	pushed events.Instant // when the push is over; 0 not begun
	proved events.Instant
}

func newTour(y *yard, people []Person, from events.Instant) *tour {
	t := &tour{y: y, from: from}
	for _, p := range people {
		t.people = append(t.people, &hand{Part: Part{Person: p}, free: from})
	}
	for _, j := range y.hubs {
		r := &run{job: j, open: slices.Clone(j.solo), rests: j.settled}
		for _, x := range j.tasks {
			if x.done, x.rooted = 0, false; x.star {
				r.stars = append(r.stars, x)
			}
			for _, b := range x.rafts {
				b.to.home = 0
			}
		}
		if !j.unready {
			r.ready = from
		}
		t.jobs = append(t.jobs, r)
	}
	t.share()
	return t
}

// share gives out the hubs: members keep those they are assigned to, and the rest
// goes, the longest first, to whoever has least to do.
func (t *tour) share() {
	load := make([]time.Duration, len(t.people))
	give := func(r *run, i int) {
		t.people[i].runs = append(t.people[i].runs, r)
		r.crew++
	}
	var rest []*run
	for _, r := range t.jobs {
		for i, p := range t.people {
			if p.Person.Key != "" && slices.Contains(r.keepers, p.Person.Key) {
				give(r, i)
			}
		}
		for i, p := range t.people {
			if slices.Contains(p.runs, r) {
				load[i] += t.y.work(r.job) / time.Duration(r.crew)
			}
		}
		if r.crew == 0 {
			rest = append(rest, r)
		}
	}
	slices.SortStableFunc(rest, func(a, b *run) int { return cmp.Compare(t.y.work(b.job), t.y.work(a.job)) })
	for _, r := range rest {
		least := 0
		for i := range load {
			if load[i] < load[least] {
				least = i
			}
		}
		give(r, least)
		load[least] += t.y.work(r.job)
	}
}

// play runs the tour to its end.
func (t *tour) play() Outline {
	for {
		var p *hand
		for _, x := range t.people {
			if !x.done && (p == nil || x.free < p.free) {
				p = x
			}
		}
		if p == nil {
			break
		}
		p.done = !t.act(p)
	}
	o := Outline{From: t.from, Finish: t.from}
	for _, p := range t.people {
		if n := len(p.Stops); n > 0 && p.Stops[n-1].Act == Wait {
			p.Stops, p.free = p.Stops[:n-1], p.Stops[n-1].At // somebody else went on
		}
		p.Ends, p.Metres = p.free, (p.mm+500)/1000
		o.People = append(o.People, p.Part)
		o.Finish = max(o.Finish, p.free)
	}
	for _, r := range t.jobs {
		m := HubMoments{Hub: r.hub.Hub, Paired: r.last, Pushed: r.pushed, Proved: r.proved}
		if r.unready {
			m.Ready = r.ready
		}
		if r.mesh {
			m.Settled = r.rests
		}
		o.Hubs = append(o.Hubs, m)
	}
	return o
}

// act gives somebody their next useful act; false if there is none left for them.
func (t *tour) act(p *hand) bool {
	for _, r := range p.runs {
		if r.duePush(p.free) {
			t.push(p, r)
			return true
		}
	}
	for _, r := range p.runs {
		if t.pair(p, r) {
			return true
		}
	}
	for _, r := range p.runs {
		if r.dueCheck(p.free) {
			t.prove(p, r)
			return true
		}
	}
	if t.wait(p) {
		return true
	}
	return t.help(p)
}

// left is how many devices are still to be paired.
func (r *run) left() int { return len(r.open) + len(r.stars) }

// wantsPush says whether a push is still to come: something waits for it, or was
// paired in the tour.
func (r *run) wantsPush() bool { return r.pushed == 0 && (r.job.push || r.last > 0) }

func (r *run) duePush(at events.Instant) bool {
	return r.wantsPush() && r.left() == 0 && r.last <= at && r.rests <= at
}

// toCheck is how many devices are to be seen to answer.
func (r *run) toCheck() int { return r.checks + len(r.tasks) }

func (r *run) dueCheck(at events.Instant) bool {
	return r.proved == 0 && r.toCheck() > 0 && r.left() == 0 && !r.wantsPush() && r.pushed <= at
}

// stop notes a stop that takes some time, after the walk there.
func (t *tour) stop(p *hand, to spot, x Stop, takes time.Duration) *Stop {
	if to != (spot{}) {
		d, mm := t.y.pace.walk(p.spot, to)
		p.free, p.mm, p.spot = p.free.Add(d), p.mm+mm, to
	}
	x.At, x.Until = p.free, p.free.Add(takes)
	p.free = x.Until
	p.Stops = append(p.Stops, x)
	return &p.Stops[len(p.Stops)-1]
}

// pair makes a hub ready, or pairs the next device of it; false if there is none
// that can be paired now.
func (t *tour) pair(p *hand, r *run) bool {
	switch {
	case r.left() == 0:
		return false
	case r.ready == 0:
		t.stop(p, r.spot, Stop{
			Act: Ready, Subject: events.Hub(r.hub.Hub), Hub: r.hub.Hub,
			Why: "on its channel, with a program that lists every device, before anything is paired to it",
		}, t.y.pace.ready)
		r.ready = p.free
		return true
	case r.ready > p.free:
		return false
	}
	if i := t.nextMesh(p, r); i >= 0 {
		x := r.open[i]
		r.open = slices.Delete(r.open, i, i+1)
		t.device(p, r, x)
		return true
	}
	if i := t.y.nearest(r.stars, p.spot, func(int) bool { return true }); i >= 0 {
		x := r.stars[i]
		r.stars = slices.Delete(r.stars, i, i+1)
		t.device(p, r, x)
		return true
	}
	return false
}

// nextMesh is the mesh device to pair next: the next in the order where one person
// sees to the hub; where several do the nearest that has a path by then, and one
// without only once nobody is at work on what might give it one.
func (t *tour) nextMesh(p *hand, r *run) int {
	if len(r.open) == 0 {
		return -1
	}
	if r.crew == 1 {
		return 0
	}
	i := t.y.nearest(r.open, p.spot, func(i int) bool { return !r.open[i].late && r.open[i].joins(p.free) })
	if i < 0 {
		i = t.y.nearest(r.open, p.spot, func(i int) bool { return r.open[i].joins(p.free) })
	}
	if i < 0 && r.last <= p.free {
		i = 0
	}
	return i
}

// device pairs one.
func (t *tour) device(p *hand, r *run, x *task) {
	tag := x.d.Device
	s := t.stop(p, x.spot, Stop{Act: Pair, Subject: events.Device(tag), Hub: r.hub.Hub}, t.y.pace.toPair(x.d))
	x.rooted = x.joins(s.At)
	x.done = s.Until
	s.Via = x.through(s.At)
	x.tow()
	switch {
	case !x.rooted:
		s.Why = "no path home yet: it may stay an island"
	case x.star && r.mesh:
		s.Why = fmt.Sprintf("star radio: it fills the wait of %s", r.hub.Hub)
	case x.late:
		s.Why = "once more: it did not work before"
	}
	r.last = max(r.last, s.Until)
	if !x.star {
		r.mesh = true
		r.rests = max(r.rests, s.Until.Add(t.y.pace.settle))
	}
}

// push brings the records home and pushes.
func (t *tour) push(p *hand, r *run) {
	at := events.Hub(r.hub.Hub)
	t.stop(p, spot{}, Stop{Act: Export, Subject: at, Hub: r.hub.Hub, Why: "the records to the office, and merged, before the push"}, 0)
	t.stop(p, spot{}, Stop{Act: Push, Subject: at, Hub: r.hub.Hub, Cautions: []string{CautionPush}}, t.y.pace.push)
	r.pushed = p.free
}

// prove sees that every device of a hub answers.
func (t *tour) prove(p *hand, r *run) {
	n := r.toCheck()
	t.stop(p, spot{}, Stop{
		Act: Check, Subject: events.Hub(r.hub.Hub), Hub: r.hub.Hub, Cautions: []string{CautionPush},
		Why: fmt.Sprintf("see that each of %d devices answers: paired is not reachable", n),
	}, time.Duration(n)*t.y.pace.check)
	r.proved = p.free
}

// wait passes the time until something of theirs can go on.
func (t *tour) wait(p *hand) bool {
	until, whose := events.Instant(0), (*run)(nil)
	for _, r := range p.runs {
		for _, at := range []events.Instant{r.ready, r.last, r.rests, r.pushed} {
			if busy := r.left() > 0 || r.wantsPush() || r.proved == 0 && r.toCheck() > 0; busy && at > p.free && (whose == nil || at < until) {
				until, whose = at, r
			}
		}
	}
	if whose == nil {
		return false
	}
	why := "for " + string(whose.hub.Hub)
	if until == whose.rests {
		why = string(whose.hub.Hub) + " settles"
	}
	if n := len(p.Stops); n > 0 && p.Stops[n-1].Act == Wait && p.Stops[n-1].Hub == whose.hub.Hub && p.Stops[n-1].Until == p.free {
		p.Stops[n-1].Until, p.free = until, until
		p.Stops[n-1].Why = why
		return true
	}
	t.stop(p, spot{}, Stop{Act: Wait, Subject: events.Hub(whose.hub.Hub), Hub: whose.hub.Hub, Why: why}, time.Duration(until-p.free)*time.Millisecond)
	return true
}

// help lends a hand on the hub where most is left to pair, once somebody is through
// with their own.
func (t *tour) help(p *hand) bool {
	var most *run
	for _, r := range t.jobs {
		if !slices.Contains(p.runs, r) && r.left() > r.crew && r.ready > 0 && (most == nil || r.left() > most.left()) {
			most = r
		}
	}
	if most == nil {
		return false
	}
	most.crew++
	p.runs = append(p.runs, most)
	return true
}
