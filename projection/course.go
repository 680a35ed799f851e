package projection

import (
	"strings"

	"pairwalk/events"
)

// Course is how the devices of a site went through their states: the facts of
// every moment at once, as far as a drawing of the site needs them.
type Course struct {
	Devices []events.Tag // by their tags at the end of the view
	Turns   []Turn       // in the order of site time
	Marks   Telling      // the entries that stand and change what many devices can do

	sums []digest // of Marks
}

// Turn is a device that looks otherwise from a point in site time on.
type Turn struct {
	At     events.Instant
	Device int // its place in Course.Devices
	Look   Look

	sum digest // of this and all before it
}

// Look is what a device is drawn by.
type Look struct {
	State   State          // Paired also where its own wait has ended; see At
	Settles events.Instant // when its own wait ends, 0 where it has none
	Struck  bool
	Dark    bool
	Held    bool
	Skipped bool
	Refused bool
	Missed  bool
	Faulty  bool
	Gone    bool // there is no such position: its tag went to another, or it was but a mistake
}

// At is the state at an instant that no later turn has come before.
func (l Look) At(i events.Instant) State {
	if l.State == Paired && l.Settles != 0 && i >= l.Settles {
		return Settled
	}
	return l.State
}

// Sum is a digest of the first so many turns and marks. It was made as they were told,
// and is the same wherever the same was told: whoever had that much of a course can see
// whether it still begins so.
func (c *Course) Sum(turns, marks int) uint64 {
	var d digest
	if turns > 0 {
		d.word(uint64(c.Turns[turns-1].sum))
	}
	if marks > 0 {
		d.word(uint64(c.sums[marks-1]))
	}
	return uint64(d)
}

// Course tells how every device went, as known to somebody. At any moment a
// device's last turn up to then looks as [History.At] would have it. What was told
// before is gone on from, so a course costs what has come since; its lists must not
// be changed.
func (h *History) Course(k Known) *Course { return h.view(k).course() }

// clashes are the entries about devices that a resolution speaks of: what it sets
// aside is aside only once the other side has been told.
func (t *timeline) clashes() map[*events.Event]bool {
	out := map[*events.Event]bool{}
	if len(t.resolved) == 0 {
		return out
	}
	f := t.replay(Moment{}, len(t.facts), nil)
	for i := range f.table.n {
		p := f.table.at(i).past
		if len(p.apart) == 0 {
			continue
		}
		for _, x := range p.acts.list() {
			out[x.Event] = true
		}
	}
	disputed, twice := map[events.Tag]bool{}, map[events.Serial]bool{}
	for i := range t.facts {
		tag, serial := writesDown(t.ranks.Event(t.facts[i]).Payload)
		if _, asked := twice[serial]; !asked && serial != "" {
			twice[serial] = t.resolvedTwice(serial)
		}
		disputed[tag] = disputed[tag] || twice[serial]
	}
	for i := range t.facts {
		e := t.ranks.Event(t.facts[i])
		for _, s := range e.Payload.Subjects() {
			if tag, ok := s.Tag(); ok && disputed[tag] {
				out[e] = true
			}
		}
	}
	return out
}

// writesDown is the serial that an entry gives a device.
func writesDown(p events.Payload) (events.Tag, events.Serial) {
	switch p := p.(type) {
	case events.DeviceFitted:
		return p.Device, p.Serial
	case events.DevicePaired:
		return p.Device, p.Serial
	case events.DeviceReplaced:
		return p.Device, p.New
	}
	return "", ""
}

// resolvedTwice says whether somebody resolved on which of several devices a serial
// is.
func (t *timeline) resolvedTwice(serial events.Serial) bool {
	for key := range t.resolved {
		if strings.HasPrefix(key, string(SerialTwice)+":"+string(serial)+":") {
			return true
		}
	}
	return false
}
