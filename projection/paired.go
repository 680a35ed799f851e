package projection

import "pairwalk/events"

// PairedByHub lists the devices that are paired by the hub each is paired to, in the
// site's order: for whoever asks of every hub, so that nobody looks through all devices
// for each.
func (s *Site) PairedByHub() map[events.HubID][]*Device {
	out := make(map[events.HubID][]*Device, len(s.Hubs))
	for i := range s.Devices {
		if d := &s.Devices[i]; d.Paired != nil {
			out[d.Paired.Hub] = append(out[d.Paired.Hub], d)
		}
	}
	return out
}
