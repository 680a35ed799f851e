package simtest

import (
	"fmt"
	"slices"
	"time"

	"pairwalk/events"
	"pairwalk/projection/settle"
	"pairwalk/syncd/member"
)

// say records what happens now.
func (h *host) say(payloads ...events.Payload) []events.Event {
	entries := make([]member.Entry, len(payloads))
	for i, p := range payloads {
		entries[i] = member.Entry{Payload: p}
	}
	return h.record(entries...)
}

func (h *host) record(entries ...member.Entry) []events.Event {
	entries = slices.DeleteFunc(entries, func(x member.Entry) bool { return !h.speaks(x.Payload.Kind()) })
	evs, err := h.m.Record(h.w.ctx, entries...)
	for _, x := range entries {
		h.w.tell("%s: %s%s", h.name, x.Payload, h.w.aside(x, err))
	}
	if !h.wrote("record", err) {
		return nil
	}
	return evs
}

// aside is what the story adds to an entry.
func (w *world) aside(x member.Entry, err error) string {
	switch {
	case err != nil:
		return fmt.Sprintf(" (%v)", err)
	case x.When.Known:
		return fmt.Sprintf(" (by its clock at %s to %s)", x.When.Value.From, x.When.Value.To)
	}
	return ""
}

// typed is an interval, by the device's clock as it is set now, that a time some
// while ago lies in. It does not end in the future.
func (h *host) typed(ago time.Duration) events.Interval {
	now := h.stamp().Wall.At
	then := now.Add(-ago - ago*time.Duration(h.clock.ppm)/million)
	return events.Interval{From: then.Add(-h.w.between(0, 5*time.Minute)), To: min(now, then.Add(h.w.between(0, 5*time.Minute)))}
}

// act is something people do, and how often.
type act struct {
	weight int
	do     func(*host)
}

// acts is the field work of a world.
var acts = []act{
	{14, (*host).pairs}, {6, (*host).pairedEarlier}, {3, (*host).unpairs}, {3, (*host).withdraws}, {4, (*host).corrects},
	{3, (*host).cutsPower}, {2, (*host).restoresPower}, {2, (*host).holds}, {3, (*host).lifts}, {3, (*host).remarks}, {4, (*host).asks},
	{3, (*host).merges}, {4, (*host).pushes}, {1, (*host).retunes}, {2, (*host).resolves}, {6, (*host).bringsHome},
}

// works is one act of somebody.
func (w *world) works() {
	var can []*host
	for _, h := range w.up() {
		if h.role != events.Viewer {
			can = append(can, h)
		}
	}
	if len(can) == 0 {
		return
	}
	sum := 0
	for _, a := range acts {
		sum += a.weight
	}
	h, roll := w.whom(can), w.dice.IntN(sum)
	for _, a := range acts {
		if roll -= a.weight; roll < 0 {
			a.do(h)
			break
		}
	}
	if h.m != nil && !h.disk.dead && w.dice.IntN(3) == 0 {
		h.judge()
	}
	if w.lens != nil && h.m != nil && !h.disk.dead && w.lens.IntN(6) == 0 {
		h.photographs()
	}
	h.after()
}

func (h *host) pairing() events.DevicePaired {
	n := h.w.dice.IntN(len(hubs))
	serial := fmt.Sprintf("S%d", h.w.dice.IntN(400))
	return events.DevicePaired{Device: one(h.w, tags(n+1)), Hub: hubs[n], Serial: events.Serial(serial), How: events.ByButton}
}

func (h *host) pairs() { h.say(h.pairing()) }

func (h *host) pairedEarlier() {
	p, ago := h.pairing(), h.w.between(0, 20*time.Minute)
	for _, e := range h.record(member.Entry{Payload: p, When: events.Some(h.typed(ago))}) {
		h.paired(p, e.Ref(), h.w.now.Add(-ago))
	}
}

// paired notes when a pairing happened that was written down later.
func (h *host) paired(p events.DevicePaired, ref events.Ref, at events.Instant) {
	if h.key != h.w.liar() {
		h.w.truth.wrote(p.Hub, p.Device, ref, at)
	}
}

func (h *host) unpairs() { h.say(events.DeviceUnpaired{Device: h.pairing().Device, Why: "reset"}) }

// own are the pairings in this member's log that it said itself, as they stand.
func (h *host) own() []*events.Event {
	var out []*events.Event
	s := h.m.Now()
	for i := range s.Hubs {
		for _, p := range s.Hubs[i].Pairings {
			if p.Member() == h.key && p.Void == nil {
				out = append(out, p.Event)
			}
		}
	}
	return out
}

func (h *host) withdraws() {
	own := h.own()
	if len(own) == 0 {
		return
	}
	e, why := one(h.w, own), one(h.w, events.VoidWhys)
	_, err := h.m.Void(h.w.ctx, e.Ref(), why, "")
	h.w.tell("%s voids %s: %s", h.name, e.Payload, why)
	h.wrote("void", err)
}

func (h *host) corrects() {
	own := h.own()
	if len(own) == 0 {
		return
	}
	e := one(h.w, own)
	was := e.Payload.(events.DevicePaired)
	at, known := h.w.truth.of(h.w, e)
	c := one(h.w, []member.Correction{{Serial: "S-new"}, {Tag: h.pairing().Device}, {Hub: one(h.w, hubs)}})
	if !known || c.Serial == was.Serial || c.Tag == was.Device || c.Hub == was.Hub {
		return
	}
	evs, err := h.m.Correct(h.w.ctx, e.Ref(), c)
	h.w.tell("%s corrects %s: %+v", h.name, was, c)
	if !h.wrote("correct", err) {
		return
	}
	for i := range evs {
		if p, ok := evs[i].Payload.(events.DevicePaired); ok {
			h.paired(p, evs[i].Ref(), at)
		}
	}
}

func (h *host) circuit() events.Subject {
	return events.Circuit(one(h.w, []events.CircuitID{"C1", "C2"}))
}

func (h *host) cutsPower()     { h.say(events.PowerOff{Of: h.circuit()}) }
func (h *host) restoresPower() { h.say(events.PowerOn{Of: h.circuit()}) }
func (h *host) holds()         { h.say(events.HoldPlaced{Of: h.circuit(), Why: "electrician at work"}) }
func (h *host) remarks()       { h.say(events.NoteAdded{Of: events.Site(), Text: "cover loose"}) }

func (h *host) retunes() {
	h.say(events.HubChannel{Hub: one(h.w, hubs), Radio: events.Mesh, Channel: 11 + h.w.dice.IntN(16)})
}

// pushes pushes hubs that may be pushed, and now and then one that may not.
func (h *host) pushes() {
	js, err := h.m.Settle()
	if err != nil {
		return
	}
	for _, j := range js {
		if h.m != nil && !h.disk.dead && (j.Verdict == settle.Ready || h.w.dice.IntN(8) == 0) {
			h.say(events.PushDone{Hub: j.Hub, Program: "r1", Missed: []events.Tag{h.pairing().Device}})
		}
	}
}
