package projection

import (
	"fmt"
	"slices"

	"pairwalk/events"
)

func (f *fold) hubAssigned(c Cause, p events.HubAssigned) {
	h := f.onHub(c, p.Hub)
	f.about(c, events.Member(p.Member))
	if !p.Ended {
		h.Assigned[p.Member] = c
		return
	}
	if _, was := h.Assigned[p.Member]; !was {
		f.oddity(c, events.Hub(p.Hub), "loses a member who was not assigned to it")
	}
	delete(h.Assigned, p.Member)
}

func (f *fold) memberAsked(c Cause, p events.MemberAsked) {
	h := f.onHub(c, p.Hub)
	f.about(c, events.Member(p.Member))
	if p.Member == c.Member() {
		f.oddity(c, events.Member(p.Member), "asks themselves")
	}
	h.Asked = append(h.Asked, Asking{c, p.Member, p.Last, p.Through})
}

func (f *fold) hubReady(c Cause, p events.HubReady) {
	h := f.onHub(c, p.Hub)
	if h.Program == "" {
		f.oddity(c, events.Hub(p.Hub), "is called ready with no program loaded")
	}
	h.Ready, h.Lost, h.LostWhy = &c, nil, ""
}

func (f *fold) hubLost(c Cause, p events.HubLost) {
	h := f.onHub(c, p.Hub)
	if h.Ready == nil {
		f.oddity(c, events.Hub(p.Hub), "is lost before it was ready")
	}
	h.Ready, h.Lost, h.LostWhy = nil, &c, p.Why
}

func (f *fold) hubChannel(c Cause, p events.HubChannel) {
	h := f.onHub(c, p.Hub)
	if h.Radio != "" && h.Radio != p.Radio {
		f.oddity(c, events.Hub(p.Hub), "has no "+string(p.Radio)+" radio")
	}
	ch := h.Channels[p.Radio]
	ch.Number, ch.Set = p.Channel, c
	moved := f.pairedOn(h, p.Radio)
	switch {
	case len(moved) == 0 || ch.agreed == p.Channel:
		ch.agreed, ch.Changed = p.Channel, nil
	case ch.agreed != 0:
		ch.Changed = &c
	}
	for _, d := range moved {
		d.channelChanged = ch.Changed != nil
	}
	h.Channels[p.Radio] = ch
}

// agree notes that devices paired now know the channel the hub is on.
func (f *fold) agree(h *Hub, r events.Radio) {
	ch, set := h.Channels[r]
	if set && ch.Changed == nil {
		ch.agreed = ch.Number
		h.Channels[r] = ch
	}
}

func (f *fold) pairedOn(h *Hub, r events.Radio) []*Device {
	var out []*Device
	for _, d := range f.devices {
		if d.Paired != nil && d.Paired.Hub == h.Hub && d.Paired.Radio == r {
			out = append(out, d)
		}
	}
	return out
}

func (f *fold) hubLoaded(c Cause, p events.HubLoaded) {
	h := f.onHub(c, p.Hub)
	var lists map[events.Tag]bool
	if !p.All {
		lists = map[events.Tag]bool{}
		for _, t := range p.Lists {
			if f.device(c, t) != nil {
				lists[f.tag(t)] = true
			}
		}
	}
	h.Program, h.Loaded, h.Lists = p.Program, &c, lists
	h.Programs = append(h.Programs, Load{c, p.Program, lists})
}

func (f *fold) recordsExported(c Cause, p events.RecordsExported) {
	if old := f.exports[p.Export]; old != nil {
		f.oddity(c, events.Site(), "export "+p.Export+" was made before", old.Exported.Ref())
		return
	}
	f.exports[p.Export] = &Export{ID: p.Export, Heads: p.Heads, Exported: c}
	f.sent = append(f.sent, p.Export)
}

func (f *fold) recordsMerged(c Cause, p events.RecordsMerged) {
	if p.Hub != "" {
		f.onHub(c, p.Hub)
	}
	x := f.exports[p.Export]
	if x == nil {
		f.oddity(c, events.Site(), "export "+p.Export+" is not known here")
		return
	}
	x.Merged = append(x.Merged, Merge{c, p.Hub})
}

func (f *fold) pushFailed(c Cause, p events.PushFailed) {
	h := f.onHub(c, p.Hub)
	h.Pushes = append(h.Pushes, Push{Cause: c, Hub: p.Hub, Failed: p.Why})
}

func (f *fold) pushDone(c Cause, p events.PushDone) {
	h := f.onHub(c, p.Hub)
	push := Push{Cause: c, Hub: p.Hub, Program: p.Program, Tried: f.pushed(c, p.Tried), Missed: f.pushed(c, p.Missed)}
	h.Pushes = append(h.Pushes, push)
	load, loaded := h.load(p.Program)
	if !loaded {
		f.oddity(c, events.Hub(p.Hub), "never held program "+string(p.Program))
	}
	for r, ch := range h.Channels {
		ch.agreed, ch.Changed = ch.Number, nil
		h.Channels[r] = ch
	}
	for _, d := range f.devices {
		if d.Paired == nil || d.Paired.Hub != h.Hub || len(push.Tried) > 0 && !slices.Contains(push.Tried, d.Device) {
			continue
		}
		if slices.Contains(push.Missed, d.Device) {
			d.Missed = &push.Cause
			continue
		}
		d.Missed, d.channelChanged = nil, false
		d.notListed = loaded && !load.Holds(d.Device)
		d.notMerged = !f.merged(d.Paired)
		if !d.notListed && !d.notMerged {
			d.Pushed = &push
		}
	}
}

// pushed names the devices of a push as they are called now.
func (f *fold) pushed(c Cause, said []events.Tag) []events.Tag {
	var out []events.Tag
	for _, t := range said {
		d := f.device(c, t)
		if d == nil {
			continue
		}
		if d.Paired == nil {
			f.oddity(c, events.Device(d.Device), "is in a push, and not paired")
		}
		out = append(out, d.Device)
	}
	return out
}

// load is the last time the hub was loaded with a program.
func (h *Hub) load(p events.Program) (Load, bool) {
	for i := len(h.Programs) - 1; i >= 0; i-- {
		if h.Programs[i].Program == p {
			return h.Programs[i], true
		}
	}
	return Load{}, false
}

// merged says whether a pairing has come home: an export that covers it has been
// merged by now.
func (f *fold) merged(p *Pairing) bool {
	for _, x := range f.exports {
		if x.Covers(p.Ref()) && len(x.MergedFor(p.Hub)) > 0 {
			return true
		}
	}
	return false
}

func (f *fold) powerOff(c Cause, p events.PowerOff) {
	dark := f.fed(c, p.Of)
	if circuit := f.circuits[events.CircuitID(p.Of.ID)]; circuit != nil && p.Of.Class == events.OfCircuit {
		if circuit.Off != nil {
			f.oddity(c, p.Of, "was off already", circuit.Off.Ref())
		}
		circuit.Off = &c
		f.learn(c, circuit, p.Dark)
	}
	for _, t := range p.Dark {
		if d := f.device(c, t); d != nil && !slices.Contains(dark, d) {
			dark = append(dark, d)
		}
	}
	for _, d := range dark {
		d.Dark = &c
	}
	f.notePower(PowerChange{Cause: c, Of: p.Of}, dark)
}

func (f *fold) powerOn(c Cause, p events.PowerOn) {
	lit := f.fed(c, p.Of)
	if circuit := f.circuits[events.CircuitID(p.Of.ID)]; circuit != nil && p.Of.Class == events.OfCircuit {
		if circuit.Off == nil {
			f.oddity(c, p.Of, "was not off")
		}
		circuit.Off = nil
	} else if p.Of.Class == events.OfDevice && len(lit) == 1 && lit[0].Dark == nil {
		f.oddity(c, p.Of, "was not off")
	}
	for _, d := range lit {
		d.Dark = nil
	}
	f.notePower(PowerChange{Cause: c, Of: p.Of, On: true}, lit)
}

// fed lists the devices a circuit feeds, as scheduled and as learned, or the one
// device itself. A circuit nobody has heard of begins here: that is how circuits
// are learned.
func (f *fold) fed(c Cause, of events.Subject) []*Device {
	if tag, ok := of.Tag(); ok {
		if d := f.device(c, tag); d != nil {
			return []*Device{d}
		}
		return nil
	}
	if f.circuits[events.CircuitID(of.ID)] == nil {
		f.oddity(c, of, "is on no schedule")
	}
	var out []*Device
	for _, t := range f.circuit(events.CircuitID(of.ID)).Feeds {
		if d := f.devices[f.tag(t)]; d != nil {
			out = append(out, d)
		}
	}
	return out
}

// learn notes what went dark with a circuit it was not known to feed.
func (f *fold) learn(c Cause, circuit *Circuit, dark []events.Tag) {
	for _, t := range dark {
		d := f.devices[f.tag(t)]
		if d == nil || slices.Contains(circuit.Feeds, d.Device) {
			continue
		}
		circuit.Feeds = append(circuit.Feeds, d.Device)
		circuit.Learned = append(circuit.Learned, d.Device)
		if d.Circuit != "" && d.Circuit != circuit.ID {
			f.oddity(c, events.Device(d.Device), fmt.Sprintf("is scheduled on circuit %s, and went dark with %s", d.Circuit, circuit.ID))
		}
	}
}

// notePower tells every hub whose mesh a change of power touches.
func (f *fold) notePower(change PowerChange, touched []*Device) {
	told := map[events.HubID]bool{}
	for _, d := range touched {
		if d.IsRouter() && d.hub() != "" {
			told[d.hub()] = true
		}
	}
	if change.Of.Class == events.OfCircuit {
		for id, h := range f.hubs {
			told[id] = told[id] || h.Circuit == events.CircuitID(change.Of.ID)
		}
	}
	for id, yes := range told {
		if h := f.hubs[id]; yes && h != nil {
			h.Power = append(h.Power, change)
		}
	}
}
