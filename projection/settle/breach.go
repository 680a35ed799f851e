package settle

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
)

// Breaches are the trade's rules that what happened did not keep, and that
// nothing has cured or resolved since: a channel changed after pairing, a push
// before the settle time was over, pairing to a hub that was not ready or whose
// program does not list the device, a push before the records came home. They
// are judged from facts alone, by the best reading of the clocks, and come by
// key.
func Breaches(s *projection.Site) []projection.Conflict {
	var all []projection.Conflict
	for i := range s.Hubs {
		h := &s.Hubs[i]
		all = append(all, channelChanged(h)...)
		all = append(all, pushedEarly(s, h)...)
		all = append(all, pairedUnready(s, h)...)
		all = append(all, pushedUnmerged(s, h)...)
	}
	open := slices.DeleteFunc(all, func(c projection.Conflict) bool {
		return slices.ContainsFunc(s.Resolved, func(r projection.Resolution) bool { return r.Key == c.Key })
	})
	slices.SortFunc(open, func(a, b projection.Conflict) int { return cmp.Compare(a.Key, b.Key) })
	return open
}

// channelChanged is cured by a push.
func channelChanged(h *projection.Hub) []projection.Conflict {
	var out []projection.Conflict
	for _, radio := range events.Radios {
		ch := h.Channels[radio]
		if ch.Changed == nil {
			continue
		}
		c := projection.NewConflict(projection.ChannelChanged, string(h.Hub), []events.Subject{events.Hub(h.Hub)}, ch.Changed.Event)
		c.Why = fmt.Sprintf("%s went to %s channel %d after devices were paired, and no push has followed", h.Hub, radio, ch.Number)
		c.Stands = "the new channel; devices paired before are not known to follow"
		out = append(out, c)
	}
	return out
}

// pushedEarly is cured by a later push that was not early. A push that left
// nobody paired in time behind is none.
func pushedEarly(s *projection.Site, h *projection.Hub) []projection.Conflict {
	settle := s.Settings.Span(events.SettleMinutes, time.Minute)
	var open []projection.Conflict
	for _, push := range h.Pushes {
		if push.Failed != "" {
			continue
		}
		last, early := tooFresh(h, push, settle)
		if !early {
			open = nil
			continue
		}
		subjects := []events.Subject{events.Hub(h.Hub), events.Device(last.Device)}
		c := projection.NewConflict(projection.PushedEarly, string(h.Hub), subjects, last.Event, push.Event)
		c.Why = fmt.Sprintf("%s was pushed %s after %s was paired; the settle time is %s", h.Hub, push.At.Sub(last.At).Round(time.Second), last.Device, settle)
		c.Stands = "the push as it was logged; the devices may not have taken it"
		open = append(open, c)
	}
	return open
}

// tooFresh finds the last mesh pairing before a push, if it was less than the
// settle time before.
func tooFresh(h *projection.Hub, push projection.Push, settle time.Duration) (projection.Pairing, bool) {
	var last projection.Pairing
	for _, p := range h.Pairings {
		if p.Stands() && p.Radio != events.Star && push.After(p.Cause) && (last.IsZero() || p.After(last.Cause)) {
			last = p
		}
	}
	return last, !last.IsZero() && push.At.Sub(last.At) < settle
}

// pairedUnready is cured, for each device, by a push that it took.
func pairedUnready(s *projection.Site, h *projection.Hub) []projection.Conflict {
	subjects := []events.Subject{events.Hub(h.Hub)}
	var evs []*events.Event
	var unready, unlisted int
	for i := range s.Devices {
		d := &s.Devices[i]
		if d.Paired == nil || d.Paired.Hub != h.Hub || d.State == projection.Pushed {
			continue
		}
		notListed := h.Program != "" && !h.Holding(d.Device)
		if !d.Has(projection.FlagNotReady) && !notListed {
			continue
		}
		if notListed {
			unlisted++
		} else {
			unready++
		}
		subjects = append(subjects, events.Device(d.Device))
		evs = append(evs, d.Paired.Event)
	}
	if len(evs) == 0 {
		return nil
	}
	c := projection.NewConflict(projection.PairedUnready, string(h.Hub), subjects, evs...)
	switch {
	case unlisted == 0:
		c.Why = fmt.Sprintf("%d paired to %s before it was ready", unready, h.Hub)
	case unready == 0:
		c.Why = fmt.Sprintf("%d paired to %s that program %s does not list", unlisted, h.Hub, h.Program)
	default:
		c.Why = fmt.Sprintf("%d paired to %s before it was ready, and %d that program %s does not list", unready, h.Hub, unlisted, h.Program)
	}
	c.Stands = "the pairings; a push that they take cures it"
	return []projection.Conflict{c}
}

// pushedUnmerged is cured by a push after the records came home.
func pushedUnmerged(s *projection.Site, h *projection.Hub) []projection.Conflict {
	push, ok := h.LastPush()
	if !ok {
		return nil
	}
	subjects := []events.Subject{events.Hub(h.Hub)}
	for i := range s.Devices {
		d := &s.Devices[i]
		if d.Paired != nil && d.Paired.Hub == h.Hub && d.Has(projection.FlagNotMerged) {
			subjects = append(subjects, events.Device(d.Device))
		}
	}
	if len(subjects) == 1 {
		return nil
	}
	c := projection.NewConflict(projection.PushedUnmerged, string(h.Hub), subjects, push.Event)
	c.Why = fmt.Sprintf("%s was pushed before the records of %d devices were in the design file, so it carried stale data", h.Hub, len(subjects)-1)
	c.Stands = "those devices as not pushed"
	return []projection.Conflict{c}
}
