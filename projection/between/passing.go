package between

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// Passage is something that was otherwise for a while between two moments and is
// at the second as it was at the first. An intermittent complaint lives there.
type Passage struct {
	Of      events.Subject // by today's name
	What    What           // power, hold, fault, ready, channel or conflict
	Words   string
	Began   Entry
	Ended   Entry
	Touched []events.Tag // whose way home was another while it lasted, by today's names
}

// Passing lists what came and went between two moments, by when it began: power,
// holds, faults, lost hubs, channels, and conflicts that were resolved or cured. It reads
// the same whichever moment comes first.
func Passing(h *projection.History, from, to projection.Moment, about About) []Passage {
	c := compare(h, from, to)
	if c.early.Site.Moment.When.Value > c.late.Site.Moment.When.Value {
		c = compare(h, to, from)
	}
	var out []Passage
	in := c.scope(about)
	turns := c.turns()
	for _, k := range slices.SortedFunc(maps.Keys(turns), key.compare) {
		for _, p := range c.passages(k, turns[k]) {
			if in.touches(k, p) {
				out = append(out, p)
			}
		}
	}
	for _, p := range append(c.clashes(), c.cured()...) {
		if in.holds(key{of: p.Of}, nil) {
			out = append(out, p)
		}
	}
	slices.SortFunc(out, func(a, b Passage) int {
		return cmp.Or(cmp.Compare(a.Began.At, b.Began.At), a.Began.Ref().Compare(b.Began.Ref()), cmp.Compare(slices.Index(whats, a.What), slices.Index(whats, b.What)), cmp.Compare(a.Of.String(), b.Of.String()), cmp.Compare(a.Words, b.Words))
	})
	return out
}

func (x scope) touches(k key, p Passage) bool {
	for _, t := range p.Touched {
		if x.holds(key{of: events.Device(t)}, nil) {
			return true
		}
	}
	return x.holds(k, nil)
}

// turn is an entry that says how something is from then on.
type turn struct {
	is  string
	ref events.Ref
}

// turns gathers, under each subject, what was said of it between the moments.
func (c *comparison) turns() map[key][]turn {
	out := map[key][]turn{}
	from := c.early.Site.Moment.When.Value
	for i := range c.late.upto {
		e := c.late.all.Event(i)
		if c.late.all.Point(i) <= from || !c.late.all.Stands(i) {
			continue
		}
		k, is := c.turnOf(e)
		if is != "" {
			out[k] = append(out[k], turn{is, e.Ref()})
		}
	}
	return out
}

// turnOf is what an entry makes of which subject; "" for one that turns nothing.
func (c *comparison) turnOf(e *events.Event) (key, string) {
	ref := e.Ref()
	of := c.names.first(ref)
	switch p := e.Payload.(type) {
	case events.PowerOff:
		return key{of: of, what: Power}, "off"
	case events.PowerOn:
		return key{of: of, what: Power}, "on"
	case events.HoldPlaced:
		return key{of: of, what: Hold}, "held"
	case events.HoldLifted:
		return key{of: of, what: Hold}, "not held"
	case events.HubLost:
		return key{of: of, what: Ready}, "lost"
	case events.HubReady:
		return key{of: of, what: Ready}, "there"
	case events.DeviceHeard:
		return key{of: events.Hub(p.Hub), what: Ready}, "there"
	case events.PushDone:
		return key{of: of, what: Ready}, "there"
	case events.HubChannel:
		return key{of: of, what: Channel, detail: string(p.Radio)}, fmt.Sprintf("on %s %d", p.Radio, p.Channel)
	case events.FaultFound:
		return key{of: of, what: Fault, detail: ref.String()}, "open"
	case events.FaultReopened:
		return key{of: c.names.first(p.Fault), what: Fault, detail: p.Fault.String()}, "open"
	case events.FaultCleared:
		return key{of: c.names.first(p.Fault), what: Fault, detail: p.Fault.String()}, "cleared"
	}
	return key{}, ""
}

// at first is how a thing stood at the first moment.
func (c *comparison) atFirst(k key) string {
	_, said := c.climb().at(0).fact(k)
	s := c.early.Site
	switch k.what {
	case Power:
		return pick(said, "off", "on")
	case Hold:
		return pick(slices.ContainsFunc(s.Holds, func(h projection.Hold) bool {
			return c.names.today(s)[events.Tag(h.Of.ID)] == events.Tag(k.of.ID) || h.Of == k.of
		}), "held", "not held")
	case Ready:
		h, ok := s.Hub(events.HubID(k.of.ID))
		return pick(ok && h.Lost != nil, "lost", "there")
	case Channel:
		if h, ok := s.Hub(events.HubID(k.of.ID)); ok {
			if ch, set := h.Channels[events.Radio(k.detail)]; set {
				return fmt.Sprintf("on %s %d", k.detail, ch.Number)
			}
		}
		return "on no channel"
	}
	open := slices.ContainsFunc(s.Faults, func(f *projection.Fault) bool { return f.Found.Ref().String() == k.detail && f.Open() })
	return pick(open, "open", "cleared")
}

func pick(yes bool, a, b string) string {
	if yes {
		return a
	}
	return b
}

// passages lists each time a thing turned from how it stood and came back to it.
func (c *comparison) passages(k key, turns []turn) []Passage {
	first := c.atFirst(k)
	is := first
	var out []Passage
	var began turn
	for _, t := range turns {
		switch {
		case is == first && t.is != first:
			began = t
		case is != first && t.is == first:
			p := Passage{Of: k.of, What: k.what, Began: c.entry(began.ref), Ended: c.entry(t.ref)}
			asked := false
			p.Touched, asked = c.touched(k, began.ref)
			p.Words = c.passageWords(&p, began.is, asked)
			out = append(out, p)
		}
		is = t.is
	}
	return out
}

func (c *comparison) passageWords(p *Passage, was string, asked bool) string {
	if p.What == Power || p.What == Fault {
		was = string(p.What) + " " + was
	}
	if found, ok := p.Began.Event.Payload.(events.FaultFound); ok {
		was += ", " + found.Symptom
	}
	words := fmt.Sprintf("%s: %s from %s", p.Of.Words(), was, c.late.stretch(p.Began.At, p.Ended.At, " to "))
	if !asked {
		words += "; whose way home it changed was not asked, since so much came and went: ask of a shorter time"
	}
	if n := len(p.Touched); n > 0 {
		words += fmt.Sprintf("; %s had another way home meanwhile, or none", count(n, "device"))
	}
	return words
}

// touched lists the devices whose way home an entry about power or a hub changed,
// if that was asked.
func (c *comparison) touched(k key, ref events.Ref) (whom []events.Tag, asked bool) {
	if k.what != Power && k.what != Ready && k.what != Channel {
		return nil, true
	}
	l := c.climb()
	i := l.rungWith(ref)
	if i < 0 || l.cost >= enough {
		return nil, false
	}
	before, after := l.just(i).all(ofWays), l.at(i).all(ofWays)
	var out []events.Tag
	for k, f := range before {
		if tag, device := k.of.Tag(); device && k.what == Path && after[k].words != f.words {
			out = append(out, tag)
		}
	}
	slices.SortFunc(out, events.ByName)
	return out, true
}
