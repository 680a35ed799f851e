package callback

import (
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// hubPower finds the hub's own circuit off.
func hubPower(x *inquiry, d *projection.Device) []finding {
	if d.Paired == nil {
		return nil
	}
	h, ok := x.site.Hub(d.Paired.Hub)
	if !ok || h.Circuit == "" {
		return nil
	}
	of := events.Circuit(h.Circuit)
	offs := x.offs[of]
	if len(offs) == 0 {
		return nil
	}
	last := offs[len(offs)-1]
	return []finding{{
		kind: ByHubPower, subject: of, device: d, main: last, more: offs[:len(offs)-1],
		what:    fmt.Sprintf("%s, the circuit of hub %s, is off since %s, says the log; everything on %s hangs on it", of.Words(), h.Hub, x.clock(offs[0].At), h.Hub),
		against: x.heardSince(d, last),
	}}
}

// hubLost finds a hub that does not answer, or is there no more.
func hubLost(x *inquiry, d *projection.Device) []finding {
	if d.Paired == nil {
		return nil
	}
	h, ok := x.site.Hub(d.Paired.Hub)
	if !ok {
		return nil
	}
	f := finding{kind: ByHubLost, subject: events.Hub(h.Hub), device: d}
	switch {
	case h.Struck != nil:
		f.main, f.what = *h.Struck, fmt.Sprintf("hub %s was taken off the schedule", h.Hub)
	case h.Lost != nil:
		f.main, f.what = *h.Lost, fmt.Sprintf("hub %s was lost at %s (%s) and is not logged ready since", h.Hub, x.clock(h.Lost.At), h.LostWhy)
	default:
		return nil
	}
	f.against = x.hubSince(h, f.main)
	return []finding{f}
}

// hubSince speaks against a lost hub: somebody was heard by it since.
func (x *inquiry) hubSince(h *projection.Hub, c projection.Cause) []Evidence {
	for i := range x.site.Devices {
		d := &x.site.Devices[i]
		if homeOf(d) != h.Hub {
			continue
		}
		if e := x.heardSince(d, c); len(e) > 0 {
			return e
		}
	}
	return nil
}

// channel finds a hub on another channel than its devices know.
func channel(x *inquiry, d *projection.Device) []finding {
	if d.Paired == nil || !d.Has(projection.FlagChannel) {
		return nil
	}
	h, ok := x.site.Hub(d.Paired.Hub)
	if !ok {
		return nil
	}
	set := h.Channels[d.Paired.Radio]
	f := finding{
		kind: ByNewChannel, subject: events.Hub(h.Hub), device: d, main: set.Set, more: []projection.Cause{d.Paired.Cause},
		what:    fmt.Sprintf("hub %s went to %s channel %d at %s, and {them} took no push since, so {knows} the old one", h.Hub, d.Paired.Radio, set.Number, x.clock(set.Set.At)),
		against: x.heardSince(d, set.Set),
	}
	return []finding{f}
}

// program finds a hub whose program is not what the device took: it does not list
// the device, it is newer, or its last push came to nothing.
func program(x *inquiry, d *projection.Device) []finding {
	if d.Paired == nil {
		return nil
	}
	h, ok := x.site.Hub(d.Paired.Hub)
	if !ok || h.Loaded == nil {
		return nil
	}
	var out []finding
	hub, unlisted := events.Hub(h.Hub), pushedUnlisted(h, d)
	switch {
	case !h.Holding(d.Device):
		out = append(out, finding{kind: ByNotListed, subject: hub, device: d, main: *h.Loaded,
			what: fmt.Sprintf("program %s, on %s since %s, does not list {them}", h.Program, h.Hub, x.clock(h.Loaded.At))})
	case unlisted != nil:
		out = append(out, finding{kind: ByNotListed, subject: hub, device: d, main: unlisted.Cause,
			what: fmt.Sprintf("program %s, pushed from %s at %s, does not list {them}, and nothing was pushed to {them} since", unlisted.Program, h.Hub, x.clock(unlisted.At))})
	case d.Pushed != nil && d.Missed == nil && d.Pushed.Program != h.Program && h.Loaded.After(d.Pushed.Cause):
		out = append(out, finding{kind: ByOldProgram, subject: hub, device: d, main: *h.Loaded, more: []projection.Cause{d.Pushed.Cause},
			what: fmt.Sprintf("%s holds program %s since %s, and {them} still {has} %s", h.Hub, h.Program, x.clock(h.Loaded.At), d.Pushed.Program)})
	}
	if n := len(h.Pushes); n > 0 && h.Pushes[n-1].Failed != "" && h.Pushes[n-1].After(d.Paired.Cause) {
		p := h.Pushes[n-1]
		out = append(out, finding{kind: ByPushFailed, subject: hub, device: d, main: p.Cause,
			what: fmt.Sprintf("the last push from %s, at %s, came to nothing: %s", h.Hub, x.clock(p.At), p.Failed)})
	}
	return out
}

// pushedUnlisted is the last push that went out to a device, if its program did not
// list it; nil otherwise.
func pushedUnlisted(h *projection.Hub, d *projection.Device) *projection.Push {
	for i := len(h.Pushes) - 1; i >= 0; i-- {
		p := &h.Pushes[i]
		tried := len(p.Tried) == 0 || slices.Contains(p.Tried, d.Device)
		if p.Failed != "" || !tried || !p.After(d.Paired.Cause) {
			continue
		}
		for j := len(h.Programs) - 1; j >= 0; j-- {
			if load := &h.Programs[j]; load.Program == p.Program && p.After(load.Cause) {
				if load.Holds(d.Device) {
					return nil
				}
				return p
			}
		}
		return nil
	}
	return nil
}
