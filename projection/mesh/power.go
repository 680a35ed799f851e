package mesh

import (
	"pairwalk/events"
	"pairwalk/projection"
)

// down is why a hub is not on the air.
type down struct {
	why string
	by  *projection.Cause // nil where it is supposed
}

// whyDown says why a hub is not on the air, or nil where it is as far as the log
// says.
func (n *Net) whyDown(f *field) *down {
	h := f.hub
	if why := n.without.hubs[h.Hub]; why != "" {
		return &down{why: why}
	}
	if h.Struck != nil {
		return &down{string(h.Hub) + " is struck from the schedule since " + n.clock.at(h.Struck.At), h.Struck}
	}
	if n.what.Planned {
		return nil
	}
	if c := circuit(n.s, h.Circuit); c != nil && c.Off != nil {
		return &down{string(h.Hub) + " has no power: " + string(c.ID) + " off since " + n.clock.at(c.Off.At), c.Off}
	}
	if h.Lost != nil && !n.answeredSince(f, h.Lost) {
		why := string(h.Hub) + " is lost since " + n.clock.at(h.Lost.At)
		if h.LostWhy != "" {
			why += ": " + h.LostWhy
		}
		return &down{why, h.Lost}
	}
	return nil
}

// answeredSince says whether a hub was seen to hear or push a device after an
// entry that has it lost: then it is back, whatever nobody wrote down.
func (n *Net) answeredSince(f *field, lost *projection.Cause) bool {
	for i := range n.s.Devices {
		d := &n.s.Devices[i]
		if d.Paired == nil || d.Paired.Hub != f.hub.Hub {
			continue
		}
		if seen, _ := observation(d); seen != nil && seen.After(*lost) {
			return true
		}
	}
	return false
}

// whyDark says why a device has no power, and by which entry; it is told where
// the device is not powered.
func (n *Net) whyDark(d *projection.Device) (string, *projection.Cause) {
	if why := n.without.devices[d.Device]; why != "" {
		return why, nil
	}
	why := "no power: "
	if p, ok := d.Dark.Event.Payload.(events.PowerOff); ok && p.Of.Class == events.OfCircuit {
		why += p.Of.ID + " "
	}
	return why + "off since " + n.clock.at(d.Dark.At), d.Dark
}
