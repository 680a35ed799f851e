package projection

import (
	"slices"
	"strings"

	"pairwalk/events"
)

// Course is how the devices of a site went through their states: the facts of
// every moment at once, as far as a drawing of the site needs them.
type Course struct {
	Devices []events.Tag // by their tags at the end of the view
	Turns   []Turn       // in the order of site time
}

// Turn is a device that looks otherwise from a point in site time on.
type Turn struct {
	Cause
	Device int // its place in Course.Devices
	Look   Look
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

// Course tells how every device went, as known to somebody. At any moment a
// device's last turn up to then looks as [History.At] would have it.
func (h *History) Course(k Known) *Course {
	t := h.view(k)
	w := &watch{f: t.replay(Moment{Known: k}, 0, nil), places: map[int]int{}}
	w.clashes = t.clashes()
	for i := range t.facts {
		w.take(i)
	}
	return w.course()
}

// clashes are the entries about devices that a resolution speaks of: what it sets
// aside is aside only once the other side has been told.
func (t *timeline) clashes() map[*events.Event]bool {
	out := map[*events.Event]bool{}
	if len(t.resolved) == 0 {
		return out
	}
	f := t.replay(Moment{}, len(t.facts), nil)
	for _, d := range f.table {
		if len(f.clash(d.acts, never)) == 0 {
			continue
		}
		for _, x := range d.acts {
			out[x.Event] = true
		}
	}
	disputed := map[events.Tag]bool{}
	for i := range t.facts {
		tag, serial := writesDown(t.facts[i].Event.Payload)
		for key := range t.resolved {
			if serial != "" && strings.HasPrefix(key, string(SerialTwice)+":"+string(serial)+":") {
				disputed[tag] = true
			}
		}
	}
	for i := range t.facts {
		for _, s := range t.facts[i].Event.Payload.Subjects() {
			if tag, ok := s.Tag(); ok && disputed[tag] {
				out[t.facts[i].Event] = true
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

// watch follows a fold and notes what turns.
type watch struct {
	f       *fold
	clashes map[*events.Event]bool
	bare    map[int]bool // by place in the fold's table: a resolution says that its unit sits elsewhere
	places  map[int]int  // in the course, by place in the fold's table
	known   []int        // the other way round; none where a fold has no such device any more
	names   []events.Tag
	looks   []Look
	turns   []Turn
}

// take folds the fact of that number and notes who looks otherwise after it.
func (w *watch) take(i int) {
	x := &w.f.facts[i]
	if w.clashes[x.Event] {
		w.refold(i)
	} else {
		w.f.take(x)
	}
	for _, d := range w.touched(x.Event) {
		w.look(d, x.Cause)
	}
	if w.clashes[x.Event] || x.Event.Kind() == "device.renamed" {
		w.miss(x.Cause)
	}
}

// miss notes which positions there are no more.
func (w *watch) miss(c Cause) {
	for place := range w.known {
		if !w.there(place) && !w.looks[place].Gone {
			w.looks[place] = Look{State: Listed, Gone: true}
			w.turns = append(w.turns, Turn{c, place, w.looks[place]})
		}
	}
}

// none is the place of a device that the fold's table has no more.
const none = -1

// there says whether the device at a place in the course is there, and takes down
// what it is called now.
func (w *watch) there(place int) bool {
	at := w.known[place]
	if at == none {
		return false
	}
	w.names[place] = w.f.table[at].tag()
	now, ok := w.f.devices[w.names[place]]
	return ok && now == at
}

// refold replays everything up to a fact: which pairings do not count hangs on
// which of them are there.
func (w *watch) refold(i int) {
	t := w.f.timeline
	old := w.f
	again := func(lost map[events.Ref]bool) *fold { return t.replay(old.site.Moment, i+1, lost) }
	end := again(nil)
	doubles := end.findDoubles()
	lost := end.lostPairings(doubles)
	f := again(lost)
	end = again(lost)
	end.doubles = doubles
	end.conflicts()
	w.bare = map[int]bool{}
	for tag, at := range f.devices {
		w.bare[at] = f.table[at].Serial != "" && end.named(tag).Serial == ""
	}
	before := w.places
	w.places = map[int]int{}
	for place := range w.known {
		w.there(place) // its name is not lost
		w.known[place] = none
	}
	for tag, was := range old.devices {
		place, seen := before[was]
		if at, ok := f.devices[tag]; seen && ok {
			w.places[at], w.known[place] = place, at
		}
	}
	w.f = f
}

// touched lists the devices that an entry may have changed the look of.
func (w *watch) touched(e *events.Event) []*device {
	family, _, _ := strings.Cut(string(e.Kind()), ".")
	switch {
	case w.clashes[e]:
		return w.f.sortedDevices()
	case family == "device":
		var out []*device
		for _, s := range e.Payload.Subjects() {
			tag, ok := s.Tag()
			if d := w.f.known(tag); ok && d != nil {
				out = append(out, d)
			}
		}
		return out
	case slices.Contains([]string{"hub", "power", "hold", "push", "fault"}, family):
		return w.f.sortedDevices()
	}
	return nil
}

func (w *watch) look(d *device, c Cause) {
	place, seen := w.places[d.at]
	if !seen {
		place = len(w.known)
		w.places[d.at] = place
		w.known = append(w.known, d.at)
		w.names = append(w.names, d.tag())
		w.looks = append(w.looks, Look{})
	}
	l := w.f.look(&d.Device)
	if l.State == Fitted && w.bare[d.at] {
		l.State = Listed
	}
	if l != w.looks[place] {
		w.looks[place] = l
		w.turns = append(w.turns, Turn{c, place, l})
	}
}

// look is what a device is drawn by after the facts folded so far.
func (f *fold) look(d *Device) Look {
	l := Look{
		Struck: d.Struck != nil, Dark: d.Dark != nil,
		Skipped: d.Skipped != nil, Refused: d.Refused != nil, Missed: d.Missed != nil,
		Held: slices.ContainsFunc(f.holds, func(h Hold) bool { return h.Touches(d) }),
	}
	l.State, _ = f.state(d)
	if l.State == Settled {
		l.State = Paired
	}
	if l.State == Paired && d.Paired.Radio == events.Mesh {
		l.Settles = d.Settles
	}
	for _, x := range f.faults {
		l.Faulty = l.Faulty || x.Open() && x.Of == events.Device(d.Device)
	}
	return l
}

// course calls every device by its tag at the end.
func (w *watch) course() *Course {
	for place := range w.known {
		w.there(place) // takes down what it is called
	}
	return &Course{Turns: w.turns, Devices: w.names}
}
