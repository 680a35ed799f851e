package walk

import (
	"fmt"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/settle"
)

// open lists the devices of a hub that could be paired now, in walking order.
func (p *plan) open(h *projection.Hub) []*projection.Device {
	var open, out []*projection.Device
	for _, d := range p.scheduled[h.Hub] {
		if d.Wants(projection.NeedPair) && !d.Wants(projection.NeedResolve) && workable(d) {
			open = append(open, d)
		}
	}
	for _, tag := range order(p.site, h, open) {
		d, _ := p.site.Device(tag)
		out = append(out, d)
	}
	return out
}

// untouched says whether nobody has tried a device yet; an emergency one is not
// to be tried.
func untouched(d *projection.Device) bool {
	return d.Refused == nil && d.Skipped == nil && !d.Emergency
}

// walk suggests the devices to pair: mesh ones outward from the hub, then the
// star ones, then those that did not work before.
func (p *plan) walk(h *projection.Hub, j settle.Judgement, open []*projection.Device) {
	for _, radio := range []events.Radio{events.Mesh, events.Star} {
		var of []*projection.Device
		for _, d := range open {
			if (d.Radio == events.Star) == (radio == events.Star) {
				of = append(of, d)
			}
		}
		for _, x := range p.air.sorted(p.site, h, of) {
			p.device(h, j, x)
		}
	}
}

func (p *plan) device(h *projection.Hub, j settle.Judgement, seen prospect) {
	d := seen.d
	x := Step{Act: Pair, Subject: events.Device(d.Device), Hub: h.Hub, Why: p.where(h, d) + p.air.words(p.site, seen)}
	if d.Is != "" {
		x.How = d.Is.How()
	}
	if d.Radio == events.Star && j.At.Known {
		x.Why += fmt.Sprintf("; star radio, so it fills the wait on %s", h.Hub)
	}
	x.Why += "; " + remindStay
	r := pair
	switch {
	case d.Refused != nil:
		x.Why += "; " + refusedWords(d)
		r = again
	case d.Skipped != nil:
		x.Why += "; " + skippedWords(d)
		r = again
	}
	p.willing(d, r, x)
}

// where says why this device is next.
func (p *plan) where(h *projection.Hub, d *projection.Device) string {
	why := "next from " + string(h.Hub) + " outward"
	if h.Ready == nil {
		why = "once " + string(h.Hub) + " is ready"
	}
	floor := floorOf(p.site, d)
	switch {
	case floor == "" && d.Room == "" && d.Place.Known:
		return why + fmt.Sprintf(", at x %.1f m, y %.1f m", float64(d.Place.Value.X)/1000, float64(d.Place.Value.Y)/1000)
	case floor == "" && d.Room == "":
		return why + "; nobody wrote down where it is"
	case floor == "":
		return why + fmt.Sprintf("; room %s, on a floor nobody wrote down", d.Room)
	}
	why += ", floor " + string(floor)
	if d.Room != "" {
		why += ", room " + string(d.Room)
	}
	return why
}

func refusedWords(d *projection.Device) string {
	p, _ := d.Refused.Event.Payload.(events.DeviceRefused)
	return fmt.Sprintf("it refused (%s%s): %s", p.Why, note(p.Note), remindRefused)
}

func skippedWords(d *projection.Device) string {
	p, _ := d.Skipped.Event.Payload.(events.DeviceSkipped)
	return fmt.Sprintf("it was skipped (%s%s)", p.Why, note(p.Note))
}

func note(text string) string {
	if text == "" {
		return ""
	}
	return ": " + text
}
