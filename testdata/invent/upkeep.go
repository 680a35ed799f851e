package invent

import (
	"maps"
	"time"

	"pairwalk/events"
)

// upkeep is one act of the years after: on the person's own hubs as a rule, and
// now and then on another's.
func (w *world) upkeep(p *person) {
	h := w.hubs[w.dice.IntN(len(w.hubs))]
	if len(p.hubs) > 0 && w.dice.IntN(8) > 0 {
		h = p.hubs[w.dice.IntN(len(p.hubs))]
	}
	d := h.devices[w.dice.IntN(len(h.devices))]
	switch roll := w.dice.IntN(100); {
	case roll < 34:
		p.todo = []step{says(2*time.Minute, w.heardAt(d))}
	case roll < 46:
		p.todo = []step{says(3*time.Minute, w.measured(h, d))}
	case roll < 54:
		p.todo = w.remark(p, d)
	case roll < 62:
		p.todo = w.powerCut(d)
	case roll < 70:
		p.todo = w.fault(d)
	case roll < 80:
		p.todo = []step{says(5*time.Minute, w.check(d))}
	case roll < 94:
		p.todo = w.again(d, roll < 88)
	case roll < 96:
		p.todo = w.push(p, h)
	case roll < 98:
		p.todo = []step{
			says(40*time.Minute, events.HoldPlaced{Of: events.Circuit(d.Circuit), Why: "work on the circuit", Who: "electrician"}),
			says(2*time.Minute, events.HoldLifted{Of: events.Circuit(d.Circuit)}),
		}
	default:
		p.todo = []step{says(time.Minute, w.compared(p))}
	}
}

func (w *world) heardAt(d *device) events.Payload {
	if !d.paired {
		return events.NoteAdded{Of: events.Device(d.Device), Text: "not on the radio; looked at by eye"}
	}
	return events.DeviceHeard{Device: d.Device, Hub: d.Hub, RSSI: events.Some(-50 - w.dice.IntN(40))}
}

func (w *world) measured(h *hub, d *device) events.Payload {
	other := events.Tag(h.id)
	if o := h.devices[w.dice.IntN(len(h.devices))]; o != d {
		other = o.Device
	}
	return events.LinkMeasured{A: d.Device, B: other, RSSI: events.Some(-45 - w.dice.IntN(45)), PDR: events.Some(1_000_000 - w.dice.Int64N(200_000))}
}

// remark notes something, and takes back an earlier remark now and then.
func (w *world) remark(p *person, d *device) []step {
	const keeps = 8
	if len(p.notes) > keeps {
		ref := p.notes[0]
		p.notes = p.notes[1:]
		return []step{says(time.Minute, events.EventVoided{Event: ref, Why: pick(w.dice, events.VoidWhys...), Note: "wrong room"})}
	}
	s := says(2*time.Minute, events.NoteAdded{Of: events.Device(d.Device), Text: pick(w.dice, "label hard to read", "cover loose", "caretaker has the key", "flickers when dimmed low")})
	s.then = func(ref events.Ref) { p.notes = append(p.notes, ref) }
	return []step{s}
}

func (w *world) powerCut(d *device) []step {
	of := events.Circuit(d.Circuit)
	if w.dice.IntN(4) == 0 {
		of = events.Device(d.Device)
	}
	return []step{
		says(25*time.Minute, events.PowerOff{Of: of, Dark: []events.Tag{d.Device}}),
		says(2*time.Minute, events.PowerOn{Of: of}),
	}
}

// fault finds one, and clears it the same day.
func (w *world) fault(d *device) []step {
	var found events.Ref
	finds := says(30*time.Minute, events.FaultFound{
		Of: events.Device(d.Device), Symptom: pick(w.dice, "dark", "stays on", "slow to answer"), Severity: pick(w.dice, events.Major, events.Minor), Trade: "controls",
	})
	finds.then = func(ref events.Ref) { found = ref }
	clears := step{takes: 2 * time.Minute, say: func() events.Payload { return events.FaultCleared{Fault: found, Action: "tightened and tried again"} }}
	return []step{finds, clears}
}

func (w *world) check(d *device) events.Payload {
	return events.CheckDone{
		Of: events.Room(d.Room), Test: pick(w.dice, events.TestOccupancy, events.TestDaylight, events.TestManual, events.TestAnswer),
		Reading: "18 min", Limit: "20 min", Pass: w.dice.IntN(12) > 0,
	}
}

// again pairs a device anew: with another unit in its place, or after a reset.
func (w *world) again(d *device, replace bool) []step {
	if !d.Is.Pairs() {
		return []step{says(time.Minute, w.heardAt(d))}
	}
	var steps []step
	if replace && d.serial != "" {
		old := d.serial
		w.serial++
		d.serial = serialOf(w.Seed, w.serial)
		steps = append(steps, says(10*time.Minute, events.DeviceReplaced{Device: d.Device, Old: old, New: d.serial, Why: "damaged"}))
	} else if d.paired {
		steps = append(steps, says(3*time.Minute, events.DeviceUnpaired{Device: d.Device, Why: "reset to factory state"}))
	}
	return append(steps, w.joins(d)...)
}

// compared measures another's clock against one's own.
func (w *world) compared(p *person) events.Payload {
	o := w.people[w.dice.IntN(len(w.people))]
	if o == p || o.booted > w.now {
		return events.NoteAdded{Of: events.Site(), Text: "nobody about"}
	}
	w.meet(p, o)
	mine := events.Reading{Wall: p.clock(w.now), Mono: events.Mono{Boot: p.boot, Ms: w.now - p.booted}}
	theirs := events.Reading{Wall: o.clock(w.now), Mono: events.Mono{Boot: o.boot, Ms: w.now - o.booted}}
	return events.ClockCompared{Other: keyOf(o.key), Mine: mine, Theirs: theirs, Offset: int64(theirs.Wall - mine.Wall), RoundTrip: 20 + w.dice.Int64N(180)}
}

// heads is the newest line that a person knows of every feed.
func (p *person) heads() map[events.FeedID]events.Head {
	heads := maps.Clone(p.heard)
	heads[p.feed] = p.head
	return heads
}
