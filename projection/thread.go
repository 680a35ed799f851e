package projection

import (
	"bytes"
	"slices"
	"strings"

	"pairwalk/events"
)

// Thread is what a few names have to do with in a log, for whoever records one thing
// and has no use for the rest: see "A part of the facts". It begins with names as
// people write them, of whatever they are, and takes in those that hang on them.
type Thread struct {
	devices map[string]bool // tags, serials, circuits, and whatever else; their word is looked for everywhere
	hubs    map[string]bool // looked for in what is said of hubs
	fresh   []needle        // not looked for yet
	odd     bool
}

// needle is a name as it ends where it is written in a body.
type needle struct {
	name []byte // and a quotation mark
	hub  bool
}

// NewThread begins with names.
func NewThread(names ...string) *Thread {
	t := &Thread{devices: map[string]bool{}, hubs: map[string]bool{}}
	for _, name := range names {
		t.take(name)
		t.takeHub(events.HubID(name))
	}
	return t
}

func (t *Thread) take(name string)            { t.add(t.devices, name, false) }
func (t *Thread) takeHub(id events.HubID)     { t.add(t.hubs, string(id), true) }
func (t *Thread) about(tag events.Tag) bool   { return t.devices[string(tag)] }
func (t *Thread) unit(s events.Serial) bool   { return s != "" && t.devices[string(s)] }
func (t *Thread) either(a, b events.Tag) bool { return t.about(a) || t.about(b) }
func (t *Thread) any(tags []events.Tag) bool  { return slices.ContainsFunc(tags, t.about) }
func escaped(name string) bool {
	return strings.ContainsFunc(name, func(r rune) bool { return r < ' ' || r == '"' || r == '\\' || r == 0x7f })
}

func (t *Thread) add(to map[string]bool, name string, hub bool) {
	if name == "" || to[name] {
		return
	}
	to[name] = true
	t.odd = t.odd || escaped(name)
	t.fresh = append(t.fresh, needle{append([]byte(name), '"'), hub})
}

// Wants says of field facts, by their bodies, which are to be read before anything
// else: those that name what the thread began with, and some kinds whatever they
// name. It may be asked by several goroutines.
func (t *Thread) Wants() func(events.Kind, []byte) bool {
	looked := t.fresh
	t.fresh = nil
	return func(k events.Kind, body []byte) bool { return alwaysRead(k) || mentioned(k, body, looked) }
}

// Outline is a run of events, made with what [Thread.Wants] says: each field fact that
// was not read has its body.
type Outline struct {
	Events []events.Event
	Bodies [][]byte
}

// unread is a field fact that was not read.
type unread struct {
	kind events.Kind
	body []byte
	of   *events.Payload
}

// Read decodes, of the field facts that were not read yet, those that names have to do
// with which hang on the first ones, and says whether any are left. All are read where
// a name is written in a way that can't be looked for.
func (t *Thread) Read(outlines ...Outline) (left bool) {
	var rest []unread
	var read []events.Payload
	for _, x := range outlines {
		for i := range x.Events {
			p := &x.Events[i].Payload
			if was, not := (*p).(events.Unread); not {
				rest = append(rest, unread{was.Of, x.Bodies[i], p})
			} else if x.Events[i].Understood() {
				read = append(read, *p)
			}
		}
	}
	for {
		for _, p := range read {
			t.follow(p)
		}
		if len(t.fresh) == 0 || t.odd {
			break
		}
		wants := t.Wants()
		kept := rest[:0]
		for _, x := range rest {
			if !wants(x.kind, x.body) {
				kept = append(kept, x)
				continue
			}
			*x.of = events.Unread{Of: x.kind}.Read(x.body)
			read = append(read, *x.of)
		}
		rest = kept
	}
	for i := 0; t.odd && i < len(rest); i++ {
		*rest[i].of = events.Unread{Of: rest[i].kind}.Read(rest[i].body)
	}
	return !t.odd
}

// alwaysRead says which kinds are read whatever they name: new names of positions, and
// what came home, which no name shows.
func alwaysRead(k events.Kind) bool {
	return k[0] == 'd' && k == "device.renamed" || k[0] == 'r' && (k == "records.exported" || k == "records.merged")
}

// mentioned says whether a body names one of the needles, alone or as the id of a
// subject. What is said of other devices, links and walls names hubs, and says nothing
// of them.
func mentioned(k events.Kind, body []byte, needles []needle) bool {
	ofHub := k[0] != 'd' && k[0] != 'l' && k[0] != 'w'
	for _, n := range needles {
		if n.hub && !ofHub {
			continue
		}
		for rest := body; ; {
			i := bytes.Index(rest, n.name)
			if i < 0 {
				break
			}
			if i > 0 && (rest[i-1] == '"' || rest[i-1] == ':') {
				return true
			}
			rest = rest[i+1:]
		}
	}
	return false
}

// follow takes in the names that hang on one that is known already: what a position
// was called or is, its hubs, circuits and units, and where else those units are
// said to be.
func (t *Thread) follow(p events.Payload) {
	switch p := p.(type) {
	case events.DeviceListed:
		if t.about(p.Device) {
			t.takeHub(p.Hub)
			t.take(string(p.Circuit))
		}
	case events.DeviceRenamed:
		if t.either(p.From, p.To) {
			t.take(string(p.From))
			t.take(string(p.To))
		}
	case events.DevicePaired:
		if t.about(p.Device) {
			t.takeHub(p.Hub)
		}
		t.followUnit(p.Device, p.Serial)
	case events.DeviceFitted:
		t.followUnit(p.Device, p.Serial)
	case events.DeviceReplaced:
		t.followUnit(p.Device, p.Old, p.New)
	case events.PowerOff:
		if t.any(p.Dark) {
			t.take(p.Of.ID)
		}
	}
}

func (t *Thread) followUnit(tag events.Tag, units ...events.Serial) {
	if !t.about(tag) && !slices.ContainsFunc(units, t.unit) {
		return
	}
	t.take(string(tag))
	for _, s := range units {
		t.take(string(s))
	}
}

// AddLast adds events as Add does, and says whether they are the last facts now, in
// that order, with nothing before them changed by their coming. Records among them
// say false.
func (h *History) AddLast(evs ...events.Event) bool {
	was := h.everything()
	h.Add(evs...)
	t := h.everything()
	from := len(t.facts) - len(evs)
	if t != was || from < 0 {
		return false
	}
	for i := range evs {
		if t.ranks.Event(t.facts[from+i]).Hash != evs[i].Hash {
			return false
		}
	}
	return true
}
