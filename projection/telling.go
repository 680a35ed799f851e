package projection

import (
	"slices"

	"pairwalk/events"
)

// telling is what a timeline keeps to tell its entries by: their order in site time,
// and what those facts are about that name a position by a tag it has no more. It is
// brought up to date when it is asked for.
type telling struct {
	order   []events.Number
	taken   int  // facts
	renamed bool // a position was; else every tag means what it says
	called  map[events.Tag]*events.Tag
	anew    map[*events.Event][]events.Subject

	landmarks landmarks
}

// bringTelling takes in what has come since it was asked for last.
func (t *timeline) bringTelling() {
	t.putInTime()
	g := &t.telling
	for _, n := range t.facts[g.taken:] {
		x := t.laid.at(n)
		if _, renames := x.Event.Payload.(events.DeviceRenamed); renames && x.counts() {
			g.renamed = true
			g.nameAll(t)
			return
		}
		if g.renamed {
			g.name(x)
		}
	}
	g.taken = len(t.facts)
}

// putInTime puts the newest entries of the view among those before them. A view that
// grows holds all there is, so its newest are those with the highest numbers.
func (t *timeline) putInTime() {
	g := &t.telling
	switch fresh := len(t.order) - len(g.order); {
	case len(g.order) > 0 && fresh < 64:
		for n := len(g.order); n < len(t.order); n++ {
			at, _ := slices.BinarySearchFunc(g.order, events.Number(n), t.comparePoints)
			g.order = slices.Insert(g.order, at, events.Number(n))
		}
	default:
		g.order = t.sortedFacts(slices.Clone(t.order))
	}
}

// unname forgets what positions are called, where a fact came in before others: an
// old tag means what it meant then. Where no position has another name it says
// nothing.
func (g *telling) unname(facts int) {
	if g.renamed {
		*g = telling{order: g.order}
		return
	}
	g.taken = min(g.taken, facts)
}

func (x *laid) counts() bool { return x.void == 0 && x.doubt == 0 }

// nameAll goes through all facts in their order, so that an old tag given to a new
// position means the one it meant then.
func (g *telling) nameAll(t *timeline) {
	g.called, g.anew, g.taken = map[events.Tag]*events.Tag{}, map[*events.Event][]events.Subject{}, len(t.facts)
	g.landmarks = landmarks{}
	meant := make([][]*events.Tag, len(t.facts)) // what the position that each subject names is called at the end
	for i, n := range t.facts {
		meant[i] = g.meant(t.laid.at(n))
	}
	for i, n := range t.facts {
		g.note(t.ranks.Event(n), meant[i])
	}
}

// name takes a fact that renames nothing, after all others.
func (g *telling) name(x *laid) { g.note(x.Event, g.meant(x)) }

// meant is what the positions are called that a fact names, nil for other subjects.
func (g *telling) meant(x *laid) []*events.Tag {
	subjects := x.Event.Payload.Subjects()
	p, renames := x.Event.Payload.(events.DeviceRenamed)
	if _, listed := x.Event.Payload.(events.DeviceListed); listed && x.counts() {
		if tag, _ := subjects[0].Tag(); g.called[tag] != nil && *g.called[tag] != tag {
			delete(g.called, tag)
		}
	}
	if renames && x.counts() {
		now := g.called[p.From]
		if now == nil {
			now = new(events.Tag)
		}
		*now = p.To
		g.called[p.From], g.called[p.To] = now, now
	}
	out := make([]*events.Tag, len(subjects))
	for i, s := range subjects {
		tag, isDevice := s.Tag()
		if isDevice && g.called[tag] == nil {
			g.called[tag] = &tag
		}
		if isDevice {
			out[i] = g.called[tag]
		}
	}
	return out
}

// note keeps what a fact is about where that has another name now.
func (g *telling) note(e *events.Event, meant []*events.Tag) {
	var subjects []events.Subject
	for i, now := range meant {
		if now == nil {
			continue
		}
		if subjects == nil {
			subjects = slices.Clone(e.Payload.Subjects())
		}
		subjects[i] = events.Device(*now)
	}
	if subjects != nil && !slices.Equal(subjects, e.Payload.Subjects()) {
		g.anew[e] = subjects
	}
}

// subjects is what an entry names, by today's names.
func (g *telling) subjects(e *events.Event) []events.Subject {
	if named, ok := g.anew[e]; ok {
		return slices.Clone(named)
	}
	return slices.Clone(e.Payload.Subjects())
}
