package projection

import (
	"cmp"
	"slices"

	"pairwalk/events"
)

// telling is what a timeline keeps to tell its entries by: their order in site time,
// and what those facts are about that name a position by a tag it has no more. It is
// brought up to date when it is asked for.
type telling struct {
	order   []int // places in the view
	taken   int   // facts
	renamed bool  // a position was; else every tag means what it says
	called  map[events.Tag]*events.Tag
	anew    map[*events.Event][]events.Subject
}

// bringTelling takes in what has come since it was asked for last.
func (t *timeline) bringTelling() {
	t.order()
	g := &t.telling
	for _, x := range t.facts[g.taken:] {
		if _, renames := x.Event.Payload.(events.DeviceRenamed); renames && x.counts() {
			g.renamed = true
			g.nameAll(t.facts)
			return
		}
		if g.renamed {
			g.name(x)
		}
	}
	g.taken = len(t.facts)
}

// order puts the newest entries of the view among those before them.
func (t *timeline) order() {
	g := &t.telling
	byTime := func(i, j int) int { return cmp.Or(cmp.Compare(t.laid[i].At, t.laid[j].At), cmp.Compare(i, j)) }
	few := len(t.view)-len(g.order) < 64
	for i := len(g.order); i < len(t.view); i++ {
		at := len(g.order)
		if few {
			at, _ = slices.BinarySearchFunc(g.order, i, byTime)
		}
		g.order = slices.Insert(g.order, at, i)
	}
	if !few {
		slices.SortFunc(g.order, byTime)
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

func (x *fact) counts() bool { return x.void == nil && x.quarantined == "" }

// nameAll goes through all facts in their order, so that an old tag given to a new
// position means the one it meant then.
func (g *telling) nameAll(facts []fact) {
	g.called, g.anew, g.taken = map[events.Tag]*events.Tag{}, map[*events.Event][]events.Subject{}, len(facts)
	meant := make([][]*events.Tag, len(facts)) // what the position that each subject names is called at the end
	for i, x := range facts {
		meant[i] = g.meant(x)
	}
	for i, x := range facts {
		g.note(x.Event, meant[i])
	}
}

// name takes a fact that renames nothing, after all others.
func (g *telling) name(x fact) { g.note(x.Event, g.meant(x)) }

// meant is what the positions are called that a fact names, nil for other subjects.
func (g *telling) meant(x fact) []*events.Tag {
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
