package simtest

import (
	"fmt"

	"pairwalk/events"
)

const siteName = "Kiln Lane Works"

var hubs = []events.HubID{"H1", "H2"}

// tags of hub n; the last one is on star radio.
func tags(n int) []events.Tag {
	var out []events.Tag
	for i := range 4 {
		out = append(out, events.Tag(fmt.Sprintf("%d-%d", n, 101+i)))
	}
	return out
}

// schedule is the small site that all of this is about.
func (w *world) schedule() []events.Payload {
	var out []events.Payload
	for n, hub := range hubs {
		circuit := events.CircuitID(fmt.Sprintf("C%d", n+1))
		out = append(out, events.HubListed{Hub: hub, Circuit: "C9"}, events.HubLoaded{Hub: hub, Program: "r1", All: true}, events.HubReady{Hub: hub})
		for i, tag := range tags(n + 1) {
			d := events.DeviceListed{Device: tag, Hub: hub, Is: events.Dimmer, Radio: events.Mesh, Power: events.Mains, Circuit: circuit}
			if i == 3 {
				d.Radio = events.Star
				w.truth.star[tag] = true
			}
			out = append(out, d)
		}
	}
	return out
}
