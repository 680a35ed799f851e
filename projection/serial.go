package projection

import (
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
)

// serialSaid is an entry that gave a device a serial.
type serialSaid struct {
	serial events.Serial
	cause  Cause
}

// serialConflicts finds one serial on two devices, and two serials on one. A
// resolution names the device or the serial that stands.
func (f *fold) serialConflicts() []found {
	var out []found
	holders := make(map[events.Serial]*device, len(f.devices))
	twice := map[events.Serial][]*device{}
	for _, d := range f.sortedDevices() {
		if c, ok := f.twoSerials(d); ok && !f.inDouble(c) {
			out = append(out, found{Conflict: c})
		}
		d = f.table[d.at] // a resolution may have given it another serial
		if d.Serial == "" || d.Struck != nil {
			continue
		}
		if first := holders[d.Serial]; first == nil {
			holders[d.Serial] = d
		} else if twice[d.Serial] == nil {
			twice[d.Serial] = []*device{first, d}
		} else {
			twice[d.Serial] = append(twice[d.Serial], d)
		}
	}
	for serial, devices := range twice {
		out = append(out, found{Conflict: f.oneSerial(serial, devices)})
	}
	return out
}

func (f *fold) twoSerials(d *device) (Conflict, bool) {
	if len(d.serials) < 2 {
		return Conflict{}, false
	}
	said := firstOfEach(d.serials)
	if len(said) < 2 {
		return Conflict{}, false
	}
	evs := make([]*events.Event, len(said))
	var names []string
	var offers []Offer
	for i, s := range said {
		evs[i] = s.cause.Event
		names = append(names, string(s.serial))
		offers = append(offers, Offer{string(s.serial), "serial " + string(s.serial) + ", as " + f.nameOf(s.cause.Event) + " wrote it down"})
	}
	c := NewConflict(TwoSerials, byOldName(evs), f.deviceAndHub(&d.Device), evs...)
	c.Why = fmt.Sprintf("%s has serials %s and no replacement between", d.tag(), strings.Join(names, " and "))
	c.Stands = "the last one written down, " + string(d.Serial)
	c.Offers = offers
	if r, ok := f.resolution(c); ok && r.Stands != "" {
		f.ownDevice(d.at).Serial = events.Serial(r.Stands)
	}
	return c, true
}

// firstOfEach keeps the first entry of each serial.
func firstOfEach(said []serialSaid) []serialSaid {
	var out []serialSaid
	for _, s := range said {
		if !slices.ContainsFunc(out, func(o serialSaid) bool { return o.serial == s.serial }) {
			out = append(out, s)
		}
	}
	return out
}

// inDouble says whether a conflict is but another side of a device paired twice:
// who really paired it settles which serial it has.
func (f *fold) inDouble(c Conflict) bool {
	for _, d := range f.doubles {
		if !slices.ContainsFunc(c.Events, func(r events.Ref) bool { return !slices.Contains(d.conflict.Events, r) }) {
			return true
		}
	}
	return false
}

func (f *fold) oneSerial(serial events.Serial, devices []*device) Conflict {
	var subjects []events.Subject
	var evs []*events.Event
	var names []string
	var offers []Offer
	for _, d := range devices {
		for _, s := range f.deviceAndHub(&d.Device) {
			if !slices.Contains(subjects, s) {
				subjects = append(subjects, s)
			}
		}
		for i := len(d.serials) - 1; i >= 0; i-- {
			if d.serials[i].serial == serial {
				evs = append(evs, d.serials[i].cause.Event)
				break
			}
		}
		names = append(names, string(d.tag()))
		offers = append(offers, Offer{string(d.tag()), "it sits at " + string(d.tag())})
	}
	c := NewConflict(SerialTwice, string(serial), subjects, evs...)
	c.Why = fmt.Sprintf("serial %s is written down at %s; one unit sits in one place", serial, strings.Join(names, " and "))
	c.Stands = "both entries, until somebody reads the labels again"
	c.Offers = offers
	if r, ok := f.resolution(c); ok && r.Stands != "" {
		for _, d := range devices {
			if string(d.tag()) != r.Stands {
				f.ownDevice(d.at).Serial = ""
			}
		}
	}
	return c
}
