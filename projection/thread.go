package projection

import (
	"slices"
	"strings"

	"pairwalk/events"
)

// Thread is what a few names have to do with in a log, for whoever records one thing
// and has no use for the rest: see "A part of the facts". It begins with names as
// people write them, of whatever they are, and takes in those that hang on them.
type Thread struct {
	Together Together // by which several runs are looked through at once

	devices map[string]bool // tags, serials, circuits, and whatever else; their word is looked for everywhere
	hubs    map[string]bool // looked for in what is said of hubs
	fresh   []needle        // not looked for yet
	read    []events.Payload
	odd     bool
}

// needle is a name as it is looked for in a body.
type needle struct {
	name string
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
	t.fresh = append(t.fresh, needle{name, hub})
}

// Wants says of field facts, by their bodies, which are to be read before anything
// else: those that name what the thread began with, and some kinds whatever they
// name. It may be asked by several goroutines.
func (t *Thread) Wants() func(events.Kind, []byte) bool {
	looked := sharpened(t.fresh)
	t.fresh = nil
	return func(k events.Kind, body []byte) bool { return alwaysRead(k) || looked.mentioned(k, body) }
}

// Outline is a run of events, made with what [Thread.Wants] says: each field fact that
// was not read has its body.
type Outline struct {
	Events []events.Event
	Bodies [][]byte
}

// Read decodes, of the field facts that were not read yet, those that names have to do
// with which hang on the first ones, and says whether any are left. All are read where
// a name is written in a way that can't be looked for.
func (t *Thread) Read(outlines ...Outline) (left bool) {
	for _, x := range outlines {
		for i, body := range x.Bodies {
			if body == nil {
				t.note(x.Events[i].Payload)
			}
		}
	}
	t.follow()
	for len(t.fresh) > 0 && !t.odd {
		t.readMore(t.Wants(), outlines)
		t.follow()
	}
	if t.odd {
		t.readMore(func(events.Kind, []byte) bool { return true }, outlines)
	}
	return !t.odd
}

// readMore decodes those facts that were not read and are wanted.
func (t *Thread) readMore(wanted func(events.Kind, []byte) bool, outlines []Outline) {
	read, looks := make([][]events.Payload, len(outlines)), make([]func(), len(outlines))
	for i, x := range outlines {
		looks[i] = func() { read[i] = x.read(wanted) }
	}
	t.Together.do(looks...)
	for _, p := range slices.Concat(read...) {
		t.note(p)
	}
}

// read decodes those facts of a run that were not read and are wanted. Most bodies
// name nothing that any kind is searched for, and then the entry is not looked at.
func (x Outline) read(wanted func(events.Kind, []byte) bool) (read []events.Payload) {
	for i, body := range x.Bodies {
		if body == nil || !wanted(anyKind, body) {
			continue
		}
		p := &x.Events[i].Payload
		if was, not := (*p).(events.Unread); not && wanted(was.Of, body) {
			*p = was.Read(body)
			read = append(read, *p)
		}
	}
	return read
}

// alwaysRead says which kinds are read whatever they name: new names of positions, and
// what came home, which no name shows.
func alwaysRead(k events.Kind) bool {
	return k[0] == 'd' && k == "device.renamed" || k[0] == 'r' && (k == "records.exported" || k == "records.merged")
}

// anyKind stands for a kind whose bodies are searched for all names.
const anyKind events.Kind = "?"

// needles are names by their last byte, so that one look at a body finds all of them.
type needles struct {
	by   [256][]needle
	mark [256]byte // of each byte, whether it ends a name, and whether it comes after one
}

// What a byte is marked with: the one is the other moved up, so that a byte and the one
// before it are held together without a branch.
const (
	endsName  = 1
	afterName = endsName << 1
)

func sharpened(names []needle) *needles {
	x := new(needles)
	x.mark['"'] = afterName
	for _, n := range names {
		last := n.name[len(n.name)-1]
		x.by[last] = append(x.by[last], n)
		x.mark[last] |= endsName
	}
	return x
}

// mentioned says whether a body names one of the needles, alone or as the id of a
// subject. What is said of other devices, links and walls names hubs, and says nothing
// of them.
func (x *needles) mentioned(k events.Kind, body []byte) bool {
	ofHub := k[0] != 'd' && k[0] != 'l' && k[0] != 'w'
	before := byte(0)
	for end, c := range body {
		mark := x.mark[c]
		hit := before << 1 & mark & afterName
		before = mark
		if hit == 0 {
			continue
		}
		for _, n := range x.by[body[end-1]] {
			from := end - len(n.name)
			if from > 0 && (ofHub || !n.hub) && (body[from-1] == '"' || body[from-1] == ':') && string(body[from:end]) == n.name {
				return true
			}
		}
	}
	return false
}

// note keeps what was read, if names may hang on others there.
func (t *Thread) note(p events.Payload) {
	switch p.(type) {
	case events.DeviceListed, events.DeviceRenamed, events.DevicePaired, events.DeviceFitted, events.DeviceReplaced, events.PowerOff:
		t.read = append(t.read, p)
	}
}

// follow takes in the names that hang on those known already, and on these in turn: an
// entry may have been read for another name than the one that something hangs on.
func (t *Thread) follow() {
	for known := -1; known != len(t.devices)+len(t.hubs); {
		known = len(t.devices) + len(t.hubs)
		for _, p := range t.read {
			t.followOne(p)
		}
	}
}

// followOne takes in what hangs on a name that is known already: what a position was
// called or is, its hubs, circuits and units, and where else those units are said to
// be.
func (t *Thread) followOne(p events.Payload) {
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
// that order, also after those that were not read, with nothing before them changed by
// their coming. Records among them say false.
func (h *History) AddLast(evs ...events.Event) bool {
	was := h.everything()
	h.Add(evs...)
	t := h.everything()
	from := len(t.facts) - len(evs)
	if t != was || from < 0 {
		return false
	}
	for i, n := range t.facts[from:] {
		if x := t.laid.at(n); x.Event.Hash != evs[i].Hash || t.passed != nil && comparePoints(&t.passed.Cause, &x.Cause) > 0 {
			return false
		}
	}
	return true
}
