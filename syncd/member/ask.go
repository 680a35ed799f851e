package member

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/projection"
	"pairwalk/projection/checks"
	"pairwalk/projection/mesh"
	"pairwalk/projection/settle"
	"pairwalk/projection/walk"
)

// Settle judges hubs; with none named, all of them.
func (m *Member) Settle(hubs ...events.HubID) ([]settle.Judgement, error) {
	s, local := m.Now(), m.local()
	if len(hubs) == 0 {
		return settle.All(s, local), nil
	}
	var out []settle.Judgement
	for _, id := range hubs {
		if _, ok := s.Hub(id); !ok {
			return nil, fmt.Errorf("no hub %s: %w; there are %s", id, ErrUnknown, hubNames(s))
		}
		out = append(out, settle.Judge(s, id, local))
	}
	return out, nil
}

func hubNames(s *projection.Site) string {
	names := make([]string, len(s.Hubs))
	for i := range s.Hubs {
		names[i] = string(s.Hubs[i].Hub)
	}
	if len(names) == 0 {
		return "no hubs yet; import a schedule"
	}
	return strings.Join(names, ", ")
}

// Next ranks what this member could usefully do, the first first.
func (m *Member) Next() []walk.Step { return m.Today().Steps }

// Today is how a site stands for one member: what Now, Next and Settle say, and its
// book of checks, all of one and the same moment.
type Today struct {
	Site   *projection.Site
	Steps  []walk.Step // the first first
	Judged []settle.Judgement
	Book   checks.Book
}

// Today says how the site stands for this member. What it rests on hangs on the facts
// alone, so it can be worked out side by side.
func (m *Member) Today() Today {
	s := m.Now()
	t := Today{Site: s}
	var g *mesh.Ground
	var n *mesh.Net
	m.world.together(
		func() { t.Judged = settle.All(s, m.local()) },
		func() { t.Book = checks.Of(s) },
		func() { g, n = m.net(s) })
	t.Steps = walk.Next(s, m.Key(), t.Judged, t.Book, g, n)
	return t
}

// Leave lists what to do before leaving a floor.
func (m *Member) Leave(floor events.FloorID) ([]walk.Step, error) {
	s := m.Now()
	known := floorNames(s)
	if !slices.Contains(known, floor) {
		if len(known) == 0 {
			return nil, errors.New("the schedule names no floors, so there is none to leave; a list with a floor column brings them")
		}
		return nil, fmt.Errorf("no floor %q: %w; there are %v", floor, ErrUnknown, known)
	}
	return walk.Leave(s, floor), nil
}

// floorNames lists the floors that are listed or in use.
func floorNames(s *projection.Site) []events.FloorID {
	var out []events.FloorID
	add := func(f events.FloorID) {
		if f != "" && !slices.Contains(out, f) {
			out = append(out, f)
		}
	}
	for _, f := range s.Floors {
		add(f.Floor)
	}
	for i := range s.Hubs {
		add(s.Hubs[i].Floor)
	}
	for i := range s.Devices {
		add(s.Devices[i].Floor)
	}
	return out
}

// Tags reads a list of tags and ranges.
func (m *Member) Tags(text string) ([]events.Tag, error) {
	return intake.ParseTags(text, tagsOf(m.Now()))
}

func tagsOf(s *projection.Site) []events.Tag {
	out := make([]events.Tag, len(s.Devices))
	for i := range s.Devices {
		out[i] = s.Devices[i].Device
	}
	return out
}

// Subject finds what a word names: class:id, or the one hub, device, circuit,
// room, floor or member of that name, or "site".
func (m *Member) Subject(text string) (events.Subject, error) {
	s := m.Now()
	if x, err := events.ParseSubject(text); err == nil {
		if x.Class == events.OfMember {
			who, err := m.Person(x.ID)
			if err != nil {
				return events.Subject{}, err
			}
			return events.Member(who.Key), nil
		}
		return x, nil
	}
	found := named(s, text)
	if who, err := m.Person(text); err == nil {
		found = append(found, events.Member(who.Key))
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return events.Subject{}, fmt.Errorf("nothing here is called %q: %w; say what it is, as in room:%s, circuit:%s or device:%s", text, ErrUnknown, text, text, text)
	}
	words := make([]string, len(found))
	for i, x := range found {
		words[i] = x.String()
	}
	return events.Subject{}, fmt.Errorf("%q may be %s; say which", text, strings.Join(words, " or "))
}

// named lists the subjects of a site that a word may name.
func named(s *projection.Site, text string) []events.Subject {
	var out []events.Subject
	add := func(yes bool, x events.Subject) {
		if yes && !slices.Contains(out, x) {
			out = append(out, x)
		}
	}
	add(text == "site", events.Site())
	_, hub := s.Hub(events.HubID(text))
	add(hub, events.Hub(events.HubID(text)))
	_, device := s.Device(events.Tag(text))
	add(device, events.Device(events.Tag(text)))
	for _, c := range s.Circuits {
		add(string(c.ID) == text, events.Circuit(c.ID))
	}
	for _, r := range s.Rooms {
		add(string(r.Room) == text, events.Room(r.Room))
	}
	for _, f := range floorNames(s) {
		add(string(f) == text, events.Floor(f))
	}
	return out
}

// Entry finds an entry by its id, the end of its id (four characters or more),
// or its reference.
func (m *Member) Entry(text string) (*events.Event, error) {
	if ref, err := events.ParseRef(text); err == nil {
		if e, ok := m.find(ref); ok {
			return e, nil
		}
		return nil, fmt.Errorf("no entry %s: %w", text, ErrUnknown)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	var found []*events.Event
	want := strings.ToUpper(text)
	for _, e := range m.history.Ordered() {
		if id := e.ID.String(); id == want || len(want) >= 4 && strings.HasSuffix(id, want) {
			found = append(found, e)
		}
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return nil, fmt.Errorf("no entry %q: %w; pairwalk history shows the entries and their ids", text, ErrUnknown)
	}
	return nil, fmt.Errorf("%d entries have ids that end in %q; give more of it", len(found), text)
}

// Fault finds a found fault as Entry does.
func (m *Member) Fault(text string) (*projection.Fault, error) {
	e, err := m.Entry(text)
	if err != nil {
		return nil, err
	}
	for _, f := range m.Now().Faults {
		if f.Found.Ref() == e.Ref() {
			return f, nil
		}
	}
	return nil, fmt.Errorf("entry %s found no fault; pairwalk status lists the faults", text)
}

// Said is one entry as the log's readers see it.
type Said struct {
	Event       *events.Event
	At          events.Instant // its point in site time
	Placed      bool
	By          string
	Withdrawn   string // why, "" if it stands
	Quarantined string // why, "" if it counts
}

// History lists the entries about a subject, or all of them for the zero
// subject, in the order they are folded.
func (m *Member) History(moment projection.Moment, about events.Subject) []Said {
	m.mu.Lock()
	defer m.mu.Unlock()
	all := m.history.Tell(moment)
	var out []Said
	for i := range all.Len() {
		if about == (events.Subject{}) || slices.Contains(all.Subjects(i), about) {
			out = append(out, saidAt(all, i))
		}
	}
	return out
}

func saidAt(all projection.Telling, i int) Said {
	x := all.At(i)
	return Said{x.Event, x.At, x.Placed, x.By, x.Withdrawn, x.Quarantined}
}

// Known checks that everything the payloads speak of is known here, or listed by
// one of them before it is spoken of.
func (m *Member) Known(ps ...events.Payload) error {
	s := m.Now()
	listed := map[events.Subject]bool{}
	for _, p := range ps {
		switch p := p.(type) {
		case events.DeviceListed:
			listed[events.Device(p.Device)] = true
		case events.HubListed:
			listed[events.Hub(p.Hub)] = true
		case events.DeviceRenamed:
			listed[events.Device(p.To)] = true
		}
		for _, x := range p.Subjects() {
			if !listed[x] && !isKnown(s, x) {
				return unknown(x)
			}
		}
	}
	return nil
}

// Knows checks that subjects a person named are known here; those without a name
// are passed over.
func (m *Member) Knows(xs ...events.Subject) error {
	s := m.Now()
	for _, x := range xs {
		if x.ID != "" && !isKnown(s, x) {
			return unknown(x)
		}
	}
	return nil
}

func unknown(x events.Subject) error {
	return fmt.Errorf("%s is not on the schedule: %w; if you found it in the field, list it first", x.Words(), ErrUnknown)
}

func isKnown(s *projection.Site, x events.Subject) bool {
	switch x.Class {
	case events.OfDevice:
		_, ok := s.Device(events.Tag(x.ID))
		_, hub := s.Hub(events.HubID(x.ID)) // the end of a link may be one
		return ok || hub
	case events.OfHub:
		_, ok := s.Hub(events.HubID(x.ID))
		return ok
	case events.OfMember:
		_, ok := s.Member(events.Key(x.ID))
		return ok
	}
	return true
}
