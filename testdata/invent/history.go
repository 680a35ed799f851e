package invent

import (
	"cmp"
	"container/heap"
	"encoding/binary"
	"fmt"
	"iter"
	"math/rand/v2"
	"slices"
	"time"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// start is when every job begins: 2026-03-02 07:30 in Vienna, in ms.
const start = 1_772_433_000_000

// Job is the log of a team on one site.
type Job struct {
	Seed    uint64
	Members int
	Count   int  // events in all, of all feeds
	Size    Size // of the site; chosen to fit where zero
}

// History is a job of so many members and events, on a site with a device for
// every 20 events, but 24 at least and 5,000 at most.
func History(seed uint64, members, count int) Job {
	return Job{Seed: seed, Members: members, Count: count, Size: Size{Seed: seed, Devices: min(max(count/20, 24), 5_000)}}
}

// Lines yields the job's signed lines. A million take about half a minute.
func (j Job) Lines() iter.Seq[seal.Verified] {
	return func(yield func(seal.Verified) bool) {
		w := newWorld(j)
		w.emit = func(p *person, e *events.Event) bool {
			v, err := seal.Seal(p.key, e)
			if err != nil {
				panic(fmt.Sprintf("invent: %v", err)) // an entry that no program may write
			}
			e.Hash = v.Hash()
			return yield(v)
		}
		w.run()
	}
}

// Events yields the same job unsigned: each event's hash is made up, and its
// prev and seen heads fit the made-up hashes.
func (j Job) Events() iter.Seq[events.Event] {
	return func(yield func(events.Event) bool) {
		w := newWorld(j)
		w.emit = func(p *person, e *events.Event) bool {
			e.Hash = fakeHash(e.Feed, e.Seq)
			return yield(*e)
		}
		w.run()
	}
}

// fakeHash spreads a place in a feed over a hash.
func fakeHash(feed events.FeedID, seq events.Seq) events.Hash {
	h := uint64(seq)
	for _, c := range []byte(feed[:16]) {
		h = (h ^ uint64(c)) * 0x100000001b3
	}
	var out events.Hash
	mix := rand.NewPCG(h, uint64(seq))
	for i := 0; i < len(out); i += 8 {
		binary.BigEndian.PutUint64(out[i:], mix.Uint64())
	}
	return out
}

// world is a job on its way.
type world struct {
	Job
	site   events.SiteID
	dice   *rand.Rand
	emit   func(*person, *events.Event) bool
	people []*person
	hubs   []*hub
	left   int
	serial int
	now    int64 // true ms
	ended  bool

	voucher events.Voucher // the lead's, for those it invites
}

func newWorld(j Job) *world {
	j.Members = max(j.Members, 1)
	return &world{Job: j, site: j.Site(), dice: dice(j.Seed, 2), left: j.Count, now: start}
}

func (w *world) run() {
	for n := range w.Members {
		w.people = append(w.people, w.newPerson(n))
	}
	w.hubs = hubsOf(Site(w.Size))
	w.begin()
	next := queue(slices.Clone(w.people))
	heap.Init(&next)
	for !w.ended {
		p := next[0]
		w.now = max(w.now, p.freeAt)
		w.act(p)
		heap.Fix(&next, 0)
	}
}

// queue has first who can act first, of those the one who came first.
type queue []*person

func (q queue) Len() int { return len(q) }
func (q queue) Less(i, j int) bool {
	return cmp.Or(cmp.Compare(q[i].freeAt, q[j].freeAt), cmp.Compare(q[i].nth, q[j].nth)) < 0
}
func (q queue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *queue) Push(p any)   { *q = append(*q, p.(*person)) }
func (q *queue) Pop() any {
	p := (*q)[len(*q)-1]
	*q = (*q)[:len(*q)-1]
	return p
}

// begin opens the site, lists the schedule, lets everybody in and shares out the
// hubs.
func (w *world) begin() {
	lead := w.people[0]
	for _, payload := range w.opening(lead) {
		w.now += 20
		w.say(lead, payload)
	}
	for _, p := range w.people[1:] {
		w.meet(p, lead)
		joins, admits := w.joining(p, lead)
		for _, payload := range joins {
			w.now += 2_000
			w.say(p, payload)
		}
		w.meet(p, lead)
		w.say(lead, admits)
		w.meet(p, lead)
	}
	for i, h := range w.hubs {
		p := w.people[i%len(w.people)]
		p.hubs = append(p.hubs, h)
		w.say(lead, events.HubAssigned{Hub: h.id, Member: keyOf(p.key)})
	}
	for _, p := range w.people {
		w.meet(p, lead)
		p.freeAt = w.now + w.dice.Int64N(600_000)
	}
}

// say records one entry now, and is told its reference.
func (w *world) say(p *person, payload events.Payload) events.Ref {
	if w.ended {
		return events.Ref{}
	}
	e := w.envelope(p, payload)
	if !w.emit(p, &e) {
		w.ended = true
	}
	if w.left--; w.left <= 0 {
		w.ended = true
	}
	p.head = events.Head{Seq: e.Seq, Hash: e.Hash}
	clear(p.fresh)
	return e.Ref()
}

func (w *world) envelope(p *person, payload events.Payload) events.Event {
	wall := p.clock(w.now)
	p.hlc = p.hlc.Tick(wall)
	e := events.Event{
		Header:  events.NextHeader(w.site, p.feed, p.head),
		HLC:     p.hlc,
		Wall:    events.Wall{At: wall, Offset: 60},
		Mono:    events.Mono{Boot: p.boot, Ms: w.now - p.booted},
		Payload: payload,
	}
	if writtenLater(payload) && w.dice.IntN(10) == 0 {
		e.Told = events.NewTold(events.Some(events.Around(wall.Add(-20*time.Minute), 5*time.Minute)), "")
	}
	tells := p.fresh
	if e.Seq%256 == 0 {
		tells = p.known
	}
	for feed := range tells {
		head := p.heard[feed]
		e.Seen = append(e.Seen, events.Ref{Feed: feed, Seq: head.Seq, Hash: head.Hash.Short()})
	}
	slices.SortFunc(e.Seen, events.Ref.Compare)
	entropy := fakeHash(p.feed, e.Seq)
	copy(e.ID[6:], entropy[8:18])
	_ = e.ID.SetTime(uint64(wall)) // fails only past the year 10889
	return e
}

// writtenLater says whether an entry may be made some time after the act, without
// coming before another that it hangs on.
func writtenLater(p events.Payload) bool {
	switch p.(type) {
	case events.DeviceHeard, events.LinkMeasured, events.NoteAdded:
		return true
	}
	return false
}

// clock is what a person's device shows at a true time.
func (p *person) clock(now int64) events.Instant {
	return events.Instant(now + p.skew + (now-start)*p.drift/1_000_000)
}

// meet lets two people hear all that the other knows.
func (w *world) meet(a, b *person) {
	a.hear(b, a.clock(w.now))
	b.hear(a, b.clock(w.now))
}

func (p *person) hear(o *person, pt events.Instant) {
	for feed, head := range o.heard {
		p.learn(feed, head)
	}
	if o.head.Seq > 0 {
		p.learn(o.feed, o.head)
	}
	p.hlc = p.hlc.Hear(o.hlc, pt)
}

func (p *person) learn(feed events.FeedID, head events.Head) {
	if feed != p.feed && head.Seq > p.heard[feed].Seq {
		p.heard[feed], p.fresh[feed], p.known[feed] = head, true, true
	}
}
