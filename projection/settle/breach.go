package settle

import (
	"cmp"
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// leaveIt is the one way to close a breach by a word; an act may cure it as well.
var leaveIt = projection.Offer{Stands: "accepted", Words: "leave it as it is"}

// Breaches finds which rules of the trade were broken and not made good since,
// from facts alone:
//
//   - channel-changed: a hub went to another channel after devices were paired
//     (R1), until a push.
//   - paired-unready: a device was paired while its hub was not ready, or held no
//     program that lists it (R2), until it takes a push or is paired anew.
//   - pushed-unmerged: a device took a push before its pairing was in the design
//     file (R7), until a push after that.
//   - pushed-early: a device took a push less than the settle time after it was
//     paired, by the worst reading of clocks that were compared (R8), until it
//     takes another.
//
// Each is closed by a resolution too.
func Breaches(s *projection.Site) []projection.Conflict {
	var all []projection.Conflict
	paired := s.PairedByHub()
	for i := range s.Hubs {
		h := &s.Hubs[i]
		for _, r := range events.Radios {
			if ch := h.Channels[r]; ch.Changed != nil {
				all = append(all, channelConflict(h, r, ch))
			}
		}
		all = append(all, pushBreaches(s, h, paired[h.Hub])...)
	}
	for i := range s.Devices {
		if c, ok := unready(s, &s.Devices[i]); ok {
			all = append(all, c)
		}
	}
	all = slices.DeleteFunc(all, func(c projection.Conflict) bool { return accepted(s, c.Key) })
	slices.SortFunc(all, func(a, b projection.Conflict) int { return cmp.Compare(a.Key, b.Key) })
	return all
}

func channelConflict(h *projection.Hub, r events.Radio, ch projection.Channel) projection.Conflict {
	c := projection.NewConflict(projection.ChannelChanged, string(h.Hub), []events.Subject{events.Hub(h.Hub)}, ch.Changed.Event)
	c.Why = fmt.Sprintf("%s went to %s channel %d after devices were paired; until a push they know the old one", h.Hub, r, ch.Number)
	c.Stands = fmt.Sprintf("%s channel %d", r, ch.Number)
	c.Offers = []projection.Offer{leaveIt}
	return c
}

// unready judges the pairing that stands of one device.
func unready(s *projection.Site, d *projection.Device) (projection.Conflict, bool) {
	if d.Paired == nil || d.Pushed != nil || d.Struck != nil {
		return projection.Conflict{}, false
	}
	h, ok := s.Hub(d.Paired.Hub)
	if !ok {
		return projection.Conflict{}, false
	}
	why := ""
	switch load, held := loadAt(h, d.Paired.Cause); {
	case d.Has(projection.FlagNotReady):
		why = fmt.Sprintf("%s was paired while %s was not ready", d.Device, h.Hub)
	case !held:
		why = fmt.Sprintf("%s was paired while %s held no program", d.Device, h.Hub)
	case !load.Holds(d.Device):
		why = fmt.Sprintf("%s was paired while program %s on %s did not list it", d.Device, load.Program, h.Hub)
	default:
		return projection.Conflict{}, false
	}
	said := d.Paired.Event.Payload.Subjects()[0].ID // its tag then, so that the key outlives a new name
	c := projection.NewConflict(projection.PairedUnready, said, []events.Subject{events.Device(d.Device), events.Hub(h.Hub)}, d.Paired.Event)
	c.Why = why
	c.Stands = "the pairing, until a push shows whether the device took it"
	c.Offers = []projection.Offer{leaveIt}
	return c, true
}

// loadAt is the program a hub held when something happened.
func loadAt(h *projection.Hub, c projection.Cause) (load projection.Load, held bool) {
	for _, l := range h.Programs {
		if c.After(l.Cause) {
			load, held = l, true
		}
	}
	return load, held
}

// pushBreaches judges each push of a hub by the devices paired to it whose state rests
// on it.
func pushBreaches(s *projection.Site, h *projection.Hub, paired []*projection.Device) []projection.Conflict {
	early, stale := map[events.Ref][]*projection.Device{}, map[events.Ref][]*projection.Device{}
	settle := settleTime(s)
	for _, d := range paired {
		push, any := lastTaken(h, d)
		if !any {
			continue
		}
		if soon(d.Paired, push, settle) && counts(s, d.Paired) {
			early[push.Ref()] = append(early[push.Ref()], d)
		}
		if d.Has(projection.FlagNotMerged) {
			stale[push.Ref()] = append(stale[push.Ref()], d)
		}
	}
	var out []projection.Conflict
	for i := range h.Pushes {
		push := &h.Pushes[i]
		if list := early[push.Ref()]; len(list) > 0 {
			_, names := tagsOf(list)
			c := pushConflict(projection.PushedEarly, h, push, list)
			c.Why = fmt.Sprintf("%s was pushed before the settle time of %s was over, by the worst reading of the clocks", h.Hub, names)
			c.Stands = "the push; whether the devices took it shows when they are heard"
			out = append(out, c)
		}
		if list := stale[push.Ref()]; len(list) > 0 {
			_, names := tagsOf(list)
			c := pushConflict(projection.PushedUnmerged, h, push, list)
			c.Why = fmt.Sprintf("%s was pushed before the records of %s were merged, so the program it sent did not know them", h.Hub, names)
			c.Stands = "the devices count as not pushed"
			out = append(out, c)
		}
	}
	return out
}

// pushConflict keys a breach by its push alone, so that curing one device of
// several does not open it anew.
func pushConflict(kind projection.ConflictKind, h *projection.Hub, push *projection.Push, devices []*projection.Device) projection.Conflict {
	c := projection.NewConflict(kind, string(h.Hub), []events.Subject{events.Hub(h.Hub)}, push.Event)
	var refs []events.Ref
	for _, d := range devices {
		c.Subjects = append(c.Subjects, events.Device(d.Device))
		refs = append(refs, d.Paired.Ref())
	}
	c.Events = append(refs, c.Events...)
	c.Offers = []projection.Offer{leaveIt}
	return c
}

// lastTaken is the last push that a device took since it was paired.
func lastTaken(h *projection.Hub, d *projection.Device) (*projection.Push, bool) {
	for i := len(h.Pushes) - 1; i >= 0; i-- {
		p := &h.Pushes[i]
		if p.Failed == "" && p.After(d.Paired.Cause) && took(p, d.Device) {
			return p, true
		}
	}
	return nil, false
}

func took(p *projection.Push, t events.Tag) bool {
	return (len(p.Tried) == 0 || slices.Contains(p.Tried, t)) && !slices.Contains(p.Missed, t)
}

// soon says whether a push began less than d ms after a pairing, at the latest
// the one and at the earliest the other can have happened.
func soon(p *projection.Pairing, push *projection.Push, d int64) bool {
	lo, _, _ := between(start{act: actOf(p.Cause), cause: p.Cause}, push.Cause)
	if done, ok := push.Event.Payload.(events.PushDone); ok && done.Began.Known {
		lo -= max(0, int64(push.Event.Wall.At-done.Began.Value))
	}
	return lo < d
}
