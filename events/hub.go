package events

import "fmt"

// HubReady says a hub is powered, reachable, on its channel and loaded.
type HubReady struct {
	said
	Hub HubID
}

func (HubReady) Kind() Kind            { return "hub.ready" }
func (p HubReady) Subjects() []Subject { return []Subject{Hub(p.Hub)} }
func (p HubReady) String() string      { return string(p.Hub) + " ready" }
func (p *HubReady) fields(w *walk)     { text(w, "hub", &p.Hub, named) }

// HubLost says a hub does not answer any more.
type HubLost struct {
	said
	Hub HubID
	Why string
}

func (HubLost) Kind() Kind            { return "hub.lost" }
func (p HubLost) Subjects() []Subject { return []Subject{Hub(p.Hub)} }
func (p HubLost) String() string      { return fmt.Sprintf("%s lost: %s", p.Hub, p.Why) }

func (p *HubLost) fields(w *walk) {
	text(w, "hub", &p.Hub, named)
	text(w, "why", &p.Why, line)
}

// HubChannel says which channel one of a hub's radios is on.
type HubChannel struct {
	said
	Hub     HubID
	Radio   Radio
	Channel int
}

func (HubChannel) Kind() Kind            { return "hub.channel" }
func (p HubChannel) Subjects() []Subject { return []Subject{Hub(p.Hub)} }
func (p HubChannel) String() string {
	return fmt.Sprintf("%s on %s channel %d", p.Hub, p.Radio, p.Channel)
}

func (p *HubChannel) fields(w *walk) {
	text(w, "hub", &p.Hub, named)
	text(w, "radio", &p.Radio, oneOf(Radios...))
	num(w, "channel", &p.Channel, 0, 999)
}

// HubLoaded says which program a hub holds and the devices it lists; All means
// every device scheduled on the hub.
type HubLoaded struct {
	said
	Hub     HubID
	Program Program
	Lists   []Tag
	All     bool
}

func (HubLoaded) Kind() Kind            { return "hub.loaded" }
func (p HubLoaded) Subjects() []Subject { return []Subject{Hub(p.Hub)} }
func (p HubLoaded) String() string {
	if p.All {
		return fmt.Sprintf("%s loaded with program %s, listing all", p.Hub, p.Program)
	}
	return fmt.Sprintf("%s loaded with program %s, listing %d", p.Hub, p.Program, len(p.Lists))
}

func (p *HubLoaded) fields(w *walk) {
	text(w, "hub", &p.Hub, named)
	text(w, "program", &p.Program, named)
	tags(w, "lists", &p.Lists)
	flag(w, "all", &p.All)
	if w.err == nil && p.All && len(p.Lists) > 0 {
		w.fail("all: lists devices as well")
	}
}

// RecordsExported says which entries a file for the office covered.
type RecordsExported struct {
	said
	Export string
	Heads  map[FeedID]Head
}

func (RecordsExported) Kind() Kind          { return "records.exported" }
func (RecordsExported) Subjects() []Subject { return []Subject{Site()} }
func (p RecordsExported) String() string    { return "exported records " + p.Export }

func (p *RecordsExported) fields(w *walk) {
	text(w, "export", &p.Export, named)
	heads(w, "heads", &p.Heads)
}

// RecordsMerged says the office has entered an export into the design file, for
// one hub or, with Hub empty, for the whole site.
type RecordsMerged struct {
	said
	Export string
	Hub    HubID
}

func (RecordsMerged) Kind() Kind { return "records.merged" }
func (p RecordsMerged) Subjects() []Subject {
	if p.Hub == "" {
		return []Subject{Site()}
	}
	return []Subject{Hub(p.Hub)}
}
func (p RecordsMerged) String() string {
	return words("merged records", p.Export, optional("for ", p.Hub))
}

func (p *RecordsMerged) fields(w *walk) {
	text(w, "export", &p.Export, named)
	textOpt(w, "hub", &p.Hub, named)
}

// PushDone says a program was sent out from a hub; Tried is empty for all its
// devices, Missed lists those that did not take it.
type PushDone struct {
	said
	Hub     HubID
	Program Program
	Began   Maybe[Instant]
	Tried   []Tag
	Missed  []Tag
}

func (PushDone) Kind() Kind { return "push.done" }
func (p PushDone) Subjects() []Subject {
	return append([]Subject{Hub(p.Hub)}, devices(append(p.Tried[:len(p.Tried):len(p.Tried)], p.Missed...)...)...)
}
func (p PushDone) String() string {
	s := fmt.Sprintf("pushed %s to %s", p.Program, p.Hub)
	if len(p.Missed) > 0 {
		s += fmt.Sprintf("; %d missed: %s", len(p.Missed), listed(p.Missed))
	}
	return s
}

func (p *PushDone) fields(w *walk) {
	text(w, "hub", &p.Hub, named)
	text(w, "program", &p.Program, named)
	numMaybe(w, "began", &p.Began, 0, maxInt)
	tags(w, "tried", &p.Tried)
	tags(w, "missed", &p.Missed)
}

// PushFailed says a push came to nothing.
type PushFailed struct {
	said
	Hub HubID
	Why string
}

func (PushFailed) Kind() Kind            { return "push.failed" }
func (p PushFailed) Subjects() []Subject { return []Subject{Hub(p.Hub)} }
func (p PushFailed) String() string      { return fmt.Sprintf("push to %s failed: %s", p.Hub, p.Why) }

func (p *PushFailed) fields(w *walk) {
	text(w, "hub", &p.Hub, named)
	text(w, "why", &p.Why, line)
}
