package handover

import (
	"slices"
	"strings"

	"pairwalk/events"
)

// keep is something that must stay on, and what a floor loses without it.
type keep struct {
	of        events.Subject
	scheduled []events.Tag // of this floor, dark without it by the schedule
	seen      []events.Tag // of this floor, seen to go dark with it
	cut       []events.Tag // of this floor, with power and no way to their hub
	hubs      []string     // hubs that it feeds, of whatever floor
}

// keeping gathers what must stay on for one floor.
type keeping struct {
	*composer
	floor floor
	all   []keep
	at    map[events.Subject]int
}

func (k *keeping) on(of events.Subject) *keep {
	if _, had := k.at[of]; !had {
		k.at[of] = len(k.all)
		k.all = append(k.all, keep{of: of})
	}
	return &k.all[k.at[of]]
}

// here says whether a position is on the floor.
func (k *keeping) here(t events.Tag) bool {
	d, ok := k.site.Device(t)
	return ok && d.Struck == nil && k.floorOf[t] == k.floor.ID
}

// keeps lists the circuits that feed something of a floor, and whatever else it
// loses its ways with: circuits first, then devices.
func (c *composer) keeps(f floor) []keep {
	k := &keeping{composer: c, floor: f, at: map[events.Subject]int{}}
	k.fed()
	k.darkened()
	k.hubs()
	for _, p := range c.points {
		for _, t := range p.Strands {
			if k.here(t) {
				x := k.on(p.Of)
				x.cut = append(x.cut, t)
			}
		}
	}
	slices.SortStableFunc(k.all, func(a, b keep) int {
		if a.of.Class != b.of.Class {
			return strings.Compare(string(a.of.Class), string(b.of.Class))
		}
		return events.ByName(a.of.ID, b.of.ID)
	})
	return k.all
}

// keepOf is what a floor loses without one thing.
func (c *composer) keepOf(f floor, of events.Subject) keep {
	for _, k := range c.keeps(f) {
		if k.of == of {
			return k
		}
	}
	return keep{of: of}
}

// fed finds what circuits feed.
func (k *keeping) fed() {
	for i := range k.site.Circuits {
		x := &k.site.Circuits[i]
		for _, t := range x.Feeds {
			switch {
			case !k.here(t):
			case slices.Contains(x.Learned, t):
				at := k.on(events.Circuit(x.ID))
				at.seen = append(at.seen, t)
			default:
				at := k.on(events.Circuit(x.ID))
				at.scheduled = append(at.scheduled, t)
			}
		}
	}
}

// darkened finds the switches and devices whose loss was seen to darken others.
func (k *keeping) darkened() {
	for _, x := range k.told {
		p, off := x.Event.Payload.(events.PowerOff)
		if !off || p.Of.Class != events.OfDevice || x.Withdrawn != "" || x.Quarantined != "" {
			continue
		}
		for _, s := range x.Subjects[1:] {
			if t, ok := s.Tag(); ok && k.here(t) && s != x.Subjects[0] {
				if at := k.on(x.Subjects[0]); !slices.Contains(at.seen, t) {
					at.seen = append(at.seen, t)
				}
			}
		}
	}
}

// hubs finds the circuits of hubs that sit on the floor or control something there.
func (k *keeping) hubs() {
	serves := map[events.HubID]bool{}
	for _, d := range k.floor.Devices {
		if d.Struck == nil {
			serves[hubOf(d)] = true
		}
	}
	for i := range k.site.Hubs {
		h := &k.site.Hubs[i]
		if h.Struck == nil && h.Circuit != "" && (k.hubFloor[h.Hub] == k.floor.ID || serves[h.Hub]) {
			at := k.on(events.Circuit(h.Circuit))
			at.hubs = append(at.hubs, said(h.Hub))
		}
	}
}
