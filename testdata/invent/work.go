package invent

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"pairwalk/events"
)

// step is one entry on a person's mind: how long it takes, and what it will say
// when the time has come. Saying nil says nothing after all.
type step struct {
	takes time.Duration
	say   func() events.Payload
	then  func(events.Ref) // is told the entry's reference; may be nil
}

// says is a step that is known beforehand.
func says(takes time.Duration, p events.Payload) step {
	return step{takes: takes, say: func() events.Payload { return p }}
}

// hub is how a hub and its devices really are.
type hub struct {
	id      events.HubID
	devices []*device // from the near ones to the far ones
	stage   stage
	next    int // the next device to pair
	again   []*device
	program int
	exports int
}

// stage is how far the work on a hub has come.
type stage int

const (
	toReady stage = iota
	toPair
	toRetry
	toPush
	inUse
)

// device is how a position really is.
type device struct {
	events.DeviceListed
	serial events.Serial
	paired bool
}

// hubsOf sorts a site's devices by hub, the near ones first.
func hubsOf(site []events.Payload) []*hub {
	var hubs []*hub
	at := map[events.HubID]events.Point{}
	byID := map[events.HubID]*hub{}
	for _, p := range site {
		switch p := p.(type) {
		case events.HubListed:
			h := &hub{id: p.Hub}
			hubs, byID[p.Hub], at[p.Hub] = append(hubs, h), h, p.Place.Value
		case events.DeviceListed:
			h := byID[p.Hub]
			h.devices = append(h.devices, &device{DeviceListed: p})
		}
	}
	for _, h := range hubs {
		slices.SortStableFunc(h.devices, func(a, b *device) int {
			return cmp.Compare(apart(a.Place.Value, at[h.id]), apart(b.Place.Value, at[h.id]))
		})
	}
	return hubs
}

// apart is how far a walk between two places is, about.
func apart(a, b events.Point) int64 {
	abs := func(n int64) int64 { return max(n, -n) }
	return abs(a.X-b.X) + abs(a.Y-b.Y) + 3*abs(a.Z-b.Z)
}

// act lets a person do the next thing on its mind.
func (w *world) act(p *person) {
	if w.dice.IntN(12) == 0 {
		w.meet(p, w.people[w.dice.IntN(len(w.people))])
	}
	if len(p.todo) == 0 {
		w.plan(p)
	}
	s := p.todo[0]
	p.todo = p.todo[1:]
	if payload := s.say(); payload != nil {
		ref := w.say(p, payload)
		if s.then != nil {
			s.then(ref)
		}
	}
	p.freeAt = w.now + s.takes.Milliseconds()*(70+w.dice.Int64N(60))/100
	w.goHome(p)
}

// goHome ends a day's work after ten hours. Some switch their device off.
func (w *world) goHome(p *person) {
	const day, hours = 24 * 3_600_000, 10 * 3_600_000
	if (p.freeAt-start)%day < hours {
		return
	}
	p.freeAt += day - (p.freeAt-start)%day + w.dice.Int64N(900_000)
	if w.dice.IntN(3) == 0 {
		p.booted = p.freeAt - 60_000
		p.boot = fmt.Sprintf("boot-%s-%d", keyOf(p.key).Short(), p.freeAt/day)
	}
}

// plan puts a person's next act on its mind.
func (w *world) plan(p *person) {
	for _, h := range p.hubs {
		if h.stage != inUse {
			w.commission(p, h)
			return
		}
	}
	w.upkeep(p)
}

func (w *world) commission(p *person, h *hub) {
	switch h.stage {
	case toReady:
		h.program++
		p.todo = []step{
			says(2*time.Minute, events.HubChannel{Hub: h.id, Radio: events.Mesh, Channel: 11 + w.dice.IntN(16)}),
			says(3*time.Minute, events.HubLoaded{Hub: h.id, Program: h.revision(), All: true}),
			says(time.Minute, events.HubReady{Hub: h.id}),
		}
		h.stage = toPair
	case toPair:
		p.todo = w.pairing(h, h.devices[h.next])
		if h.next++; h.next == len(h.devices) {
			h.stage = toRetry
		}
	case toRetry:
		for _, d := range h.again {
			p.todo = append(p.todo, w.joins(d)...)
		}
		h.again, h.stage = nil, toPush
		p.todo = append(p.todo, says(12*time.Minute, events.NoteAdded{Of: events.Hub(h.id), Text: "all tried; waiting to settle"}))
	default:
		p.todo = append(w.push(p, h), w.prove(h)...)
		h.stage = inUse
	}
}

func (h *hub) revision() events.Program { return events.Program(fmt.Sprintf("r%d", h.program)) }

// pairing is the first try at a device: most join, some refuse or are skipped.
func (w *world) pairing(h *hub, d *device) []step {
	if !d.Is.Pairs() {
		return []step{says(time.Minute, events.NoteAdded{Of: events.Device(d.Device), Text: "wired and in place; never pairs"})}
	}
	switch roll := w.dice.IntN(100); {
	case roll < 4:
		h.again = append(h.again, d)
		return []step{says(3*time.Minute, events.DeviceRefused{Device: d.Device, Why: pick(w.dice, events.NoAnswer, events.OutOfReach, events.AlreadyPaired)})}
	case roll < 7:
		h.again = append(h.again, d)
		return []step{says(time.Minute, events.DeviceSkipped{Device: d.Device, Why: pick(w.dice, events.NoAccess, events.NoPower, events.NotFitted)})}
	}
	return w.joins(d)
}

// joins pairs a device. Now and then the label was written down before.
func (w *world) joins(d *device) []step {
	if d.serial == "" {
		w.serial++
		d.serial = serialOf(w.Seed, w.serial)
	}
	paired := says(2*time.Minute, events.DevicePaired{Device: d.Device, Hub: d.Hub, Serial: d.serial, How: d.Is.How()})
	d.paired = true
	if w.dice.IntN(10) == 0 {
		return []step{says(time.Minute, events.DeviceFitted{Device: d.Device, Serial: d.serial, Source: events.Scanned}), paired}
	}
	return []step{paired}
}

// push brings the records home and sends the program out, twice where some
// missed it.
func (w *world) push(p *person, h *hub) []step {
	h.exports++
	h.program++
	export := fmt.Sprintf("%s-%d", h.id, h.exports)
	var missed []events.Tag
	for _, d := range h.devices {
		if d.paired && w.dice.IntN(25) == 0 {
			missed = append(missed, d.Device)
		}
	}
	steps := []step{
		{2 * time.Minute, nil, nil}, // exported, below
		says(10*time.Minute, events.RecordsMerged{Export: export, Hub: h.id}),
		says(2*time.Minute, events.HubLoaded{Hub: h.id, Program: h.revision(), All: true}),
		says(5*time.Minute, events.PushDone{Hub: h.id, Program: h.revision(), Missed: missed}),
	}
	steps[0].say = func() events.Payload { return events.RecordsExported{Export: export, Heads: p.heads()} }
	if len(missed) > 0 {
		steps = append(steps, says(5*time.Minute, events.PushDone{Hub: h.id, Program: h.revision(), Tried: missed}))
	}
	return steps
}

// prove hears every fourth device and checks every room of a hub.
func (w *world) prove(h *hub) []step {
	var steps []step
	rooms := map[events.RoomID]bool{}
	for i, d := range h.devices {
		if i%4 == 0 && d.paired {
			steps = append(steps, says(20*time.Second, w.heardAt(d)))
		}
		if !rooms[d.Room] {
			rooms[d.Room] = true
			steps = append(steps, says(4*time.Minute, w.check(d)))
		}
	}
	return steps
}

func pick[T any](dice *rand.Rand, from ...T) T { return from[dice.IntN(len(from))] }
