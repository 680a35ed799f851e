package member

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/between"
	"pairwalk/projection/walk"
)

// ChangesAnswer is what differs between two moments, by the entries that did it.
type ChangesAnswer struct {
	V        int               `json:"v"`
	From     StatusMoment      `json:"from"`
	To       StatusMoment      `json:"to"`
	Subject  string            `json:"subject"` // "site:site" for the whole site
	Changes  []ChangeDocument  `json:"changes"`
	Passing  []PassageDocument `json:"passing"` // what came and went in between
	Cautions []string          `json:"cautions,omitempty"`
}

// ChangeDocument is one fact that is not the same. Where no single entry did it,
// event, at and by are "" and why says what did.
type ChangeDocument struct {
	Subject  string         `json:"subject"`
	Name     string         `json:"name"` // the subject as people call it
	Floor    string         `json:"floor,omitempty"`
	Hub      string         `json:"hub,omitempty"`
	What     string         `json:"what"`
	Before   string         `json:"before"`
	After    string         `json:"after"`
	Event    string         `json:"event"`
	Kind     string         `json:"kind,omitempty"`   // of the entry
	At       string         `json:"at"`               // when it happened, in site time
	Span     []string       `json:"span,omitempty"`   // within which it happened, where that is not one instant
	Logged   string         `json:"logged"`           // when it was recorded, in site time
	Placed   bool           `json:"placed"`           // the recorder's clock is known against site time
	By       string         `json:"by"`               // who did it
	Member   string         `json:"member,omitempty"` // who recorded it
	Entry    string         `json:"entry,omitempty"`  // what the entry says
	Why      string         `json:"why,omitempty"`    // how the entry did it, or why there is none
	Words    string         `json:"words"`
	Told     string         `json:"told,omitempty"` // who logged it and who knew, in words
	Knew     []KnewDocument `json:"knew"`
	NotKnown []string       `json:"not_known"` // members of whom nothing shows that they had it by then
}

// KnewDocument is by when a member is known to have had an entry.
type KnewDocument struct {
	Member string `json:"member"`
	At     string `json:"at"`
}

// PassageDocument is something that was otherwise for a while.
type PassageDocument struct {
	Subject string   `json:"subject"`
	What    string   `json:"what"`
	Words   string   `json:"words"`
	From    string   `json:"from"`
	To      string   `json:"to"`
	Began   string   `json:"began"` // the entry that began it
	Ended   string   `json:"ended"`
	Touched []string `json:"touched,omitempty"` // devices whose way home was another meanwhile
}

// Changes lists what differs between two moments. The zero subject is the whole
// site.
func (m *Member) Changes(from, to projection.Moment, about events.Subject) (ChangesAnswer, error) {
	if err := m.knownOnce(about); err != nil {
		return ChangesAnswer{}, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	was, is := m.history.At(from), m.history.At(to)
	changes := between.Changes(&m.history, from, to, between.About(about))
	passing := between.Passing(&m.history, from, to, between.About(about))
	w, early := writer{is, is.Location()}, writer{was, is.Location()}
	a := ChangesAnswer{V: AnswerVersion, From: early.moment(), To: w.moment(), Subject: events.Site().String()}
	if about != (events.Subject{}) {
		a.Subject = about.String()
	}
	if was.Moment.When.Value > is.Moment.When.Value {
		w.Site = was // who knew is told of the later moment
	}
	a.Changes = listOf(changes, w.change)
	a.Passing = listOf(passing, w.passage)
	a.Cautions = w.cautionsOf(changes, passing)
	return a, nil
}

// knownOnce refuses a subject that nothing here is called by, so that nobody takes
// a slip of the hand for good news.
func (m *Member) knownOnce(about events.Subject) error {
	s := m.Now()
	if about == (events.Subject{}) || slices.Contains(named(s, about.ID), about) ||
		about.Class == events.OfRoom && slices.ContainsFunc(s.Devices, func(d projection.Device) bool { return string(d.Room) == about.ID }) {
		return nil
	}
	return fmt.Errorf("nothing here is called %s: %w", about.Words(), ErrUnknown)
}

// cautionsOf is what to mind where an answer speaks of power, of holds or of
// emergency lighting.
func (w writer) cautionsOf(changes []between.Change, passing []between.Passage) []string {
	var out []string
	add := func(caution string) {
		if !slices.Contains(out, caution) {
			out = append(out, caution)
		}
	}
	mind := func(of events.Subject, what between.What) {
		switch what {
		case between.Power:
			add(walk.CautionPower)
		case between.Hold:
			add(walk.CautionHold)
		}
		if tag, ok := of.Tag(); ok {
			if d, found := w.Site.Device(tag); found && d.Emergency {
				add(walk.CautionEmergency)
			}
		}
	}
	for _, c := range changes {
		mind(c.Of, c.What)
	}
	for _, p := range passing {
		mind(p.Of, p.What)
	}
	if len(out) > 0 {
		add(walk.CautionPermit)
	}
	return out
}

func (w writer) change(c *between.Change) ChangeDocument {
	d := ChangeDocument{
		Subject: c.Of.String(), What: string(c.What), Before: c.Before, After: c.After,
		Why: c.Why, Words: c.Words, Told: c.Knew, Knew: []KnewDocument{}, NotKnown: []string{},
	}
	d.Name = c.Of.Words()
	if c.Of.Class == events.OfMember {
		d.Name = w.MemberName(events.Key(c.Of.ID))
	}
	d.Floor, d.Hub = w.whereabouts(c.Of)
	if c.Cause.IsZero() {
		return d
	}
	d.Event, d.Kind = c.Cause.Ref().String(), string(c.Cause.Event.Kind())
	d.At, d.Logged, d.Placed = w.time(c.Cause.At), w.time(c.Cause.Said), c.Cause.Placed
	d.By, d.Member, d.Entry = w.DoneBy(c.Cause.Event), w.MemberName(c.Cause.Member()), w.words(c.Cause.Event)
	if s := c.Cause.Span; c.Cause.Placed && s.From != s.To {
		d.Span = []string{w.time(s.From), w.time(s.To)}
	}
	for _, k := range c.Cause.Knew {
		d.Knew = append(d.Knew, KnewDocument{w.MemberName(k.Member), w.time(k.At)})
	}
	for _, k := range c.Cause.NotKnown {
		d.NotKnown = append(d.NotKnown, w.MemberName(k))
	}
	return d
}

// whereabouts is the floor and hub of a device or hub, by today's facts.
func (w writer) whereabouts(of events.Subject) (floor, hub string) {
	if tag, ok := of.Tag(); ok {
		if d, found := w.Site.Device(tag); found {
			doc := w.device(d)
			return doc.Floor, doc.Hub
		}
	}
	if id, ok := of.Hub(); ok {
		if h, found := w.Site.Hub(id); found {
			return string(h.Floor), of.ID
		}
	}
	return "", ""
}

func (w writer) passage(p *between.Passage) PassageDocument {
	return PassageDocument{
		p.Of.String(), string(p.What), p.Words, w.time(p.Began.At), w.time(p.Ended.At),
		p.Began.Ref().String(), p.Ended.Ref().String(), texts(p.Touched),
	}
}

// TagRanges writes tags that follow each other as one range, such as
// 2-101..2-104, and leaves the others as they are. The tags are in order.
func TagRanges(tags []string) []string {
	var out []string
	for i := 0; i < len(tags); {
		end := i
		for end+1 < len(tags) && follows(tags[end], tags[end+1]) {
			end++
		}
		if end-i < 2 {
			out = append(out, tags[i:end+1]...)
		} else {
			out = append(out, tags[i]+".."+tags[end])
		}
		i = end + 1
	}
	return out
}

// follows says whether b is the tag after a: the same but for the number at its
// end, which is one more.
func follows(a, b string) bool {
	stem, n := numbered(a)
	other, next := numbered(b)
	return stem == other && n >= 0 && next == n+1 && b == fmt.Sprintf("%s%0*d", stem, len(a)-len(stem), next)
}

// numbered splits the number at the end off a tag; -1 for none.
func numbered(tag string) (stem string, n int) {
	stem = strings.TrimRight(tag, "0123456789")
	n, err := strconv.Atoi(tag[len(stem):])
	if err != nil {
		return tag, -1
	}
	return stem, n
}
