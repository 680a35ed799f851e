package projection

import (
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
)

// serialConflicts finds one serial on two devices, and two serials on one. A
// resolution names the device or the serial that stands.
func (f *fold) serialConflicts() []found {
	var out []found
	holders := map[events.Serial][]int{}
	for _, at := range f.unsureSerials() {
		if c, ok := f.twoSerials(at); ok && !f.inDouble(c) {
			out = append(out, found{Conflict: c})
		}
		if d := f.table.at(at); f.mayShare(d) {
			holders[d.Serial] = append(holders[d.Serial], at)
		}
	}
	for serial, devices := range holders {
		if len(devices) > 1 {
			out = append(out, found{Conflict: f.oneSerial(serial, devices)})
		}
	}
	return out
}

// unsureSerials lists the devices that have several serials, or one that others may
// have, by name.
func (f *fold) unsureSerials() []int {
	var out []int
	for at := range f.table.n {
		if d := f.table.at(at); (d.is(isMixed) || f.mayShare(d)) && f.named(d.tag()) == at {
			out = append(out, at)
		}
	}
	slices.SortFunc(out, f.byName)
	return out
}

// mayShare says whether another position may have the serial of a device.
func (f *fold) mayShare(d *device) bool {
	return d.Serial != "" && d.Struck == 0 && f.serials.shared(d.Serial)
}

func (f *fold) twoSerials(at int) (Conflict, bool) {
	d := f.table.at(at)
	if !d.is(isMixed) {
		return Conflict{}, false
	}
	said := firstOfEach(d.past.serials)
	evs := make([]*events.Event, len(said))
	var names []string
	var offers []Offer
	for i, c := range said {
		evs[i] = c.Event
		serial := string(serialIn(c))
		names = append(names, serial)
		offers = append(offers, Offer{serial, "serial " + serial + ", as " + f.nameOf(c.Event) + " wrote it down"})
	}
	c := NewConflict(TwoSerials, byOldName(evs), f.deviceAndHub(d), evs...)
	c.Why = fmt.Sprintf("%s has serials %s and no replacement between", d.tag(), strings.Join(names, " and "))
	c.Stands = "the last one written down, " + string(d.Serial)
	c.Offers = offers
	if r, ok := f.resolution(c); ok && r.Stands != "" {
		f.ownDevice(at).Serial = events.Serial(r.Stands)
	}
	return c, true
}

// firstOfEach keeps the first entry of each serial.
func firstOfEach(said []*Cause) []*Cause {
	var out []*Cause
	for _, c := range said {
		if !slices.ContainsFunc(out, func(o *Cause) bool { return serialIn(o) == serialIn(c) }) {
			out = append(out, c)
		}
	}
	return out
}

// serialIn is the serial that an entry gives a device.
func serialIn(c *Cause) events.Serial {
	_, serial := writesDown(c.Event.Payload)
	return serial
}

// serials is which ones the entries of a view write down for more than one tag,
// whenever that may be.
type serials struct {
	of    map[events.Serial]events.Tag // the first
	twice map[events.Serial]bool

	renamed bool // a tag may have meant several positions
}

// shared says whether several positions may have had a serial.
func (x *serials) shared(s events.Serial) bool { return x.renamed || x.twice[s] }

func (x *serials) note(p events.Payload) {
	if _, renames := p.(events.DeviceRenamed); renames {
		x.renamed = true
	}
	tag, serial := writesDown(p)
	if serial == "" {
		return
	}
	if x.of == nil {
		x.of, x.twice = map[events.Serial]events.Tag{}, map[events.Serial]bool{}
	}
	if first, noted := x.of[serial]; !noted {
		x.of[serial] = tag
	} else if first != tag {
		x.twice[serial] = true
	}
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

func (f *fold) oneSerial(serial events.Serial, devices []int) Conflict {
	var subjects []events.Subject
	var evs []*events.Event
	var names []string
	var offers []Offer
	for _, at := range devices {
		d := f.table.at(at)
		for _, s := range f.deviceAndHub(d) {
			if !slices.Contains(subjects, s) {
				subjects = append(subjects, s)
			}
		}
		for _, c := range slices.Backward(d.past.serials) {
			if serialIn(c) == serial {
				evs = append(evs, c.Event)
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
		for _, at := range devices {
			if string(f.table.at(at).tag()) != r.Stands {
				f.ownDevice(at).Serial = ""
			}
		}
	}
	return c
}
