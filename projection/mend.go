package projection

import (
	"slices"

	"pairwalk/events"
)

// mend works the fact at a place, which came in before others, into the stages after
// it. It says no, and changes nothing, where more may hang on that fact than how one
// device stands and who worked last on its hub: then the facts after it have to be
// folded again.
//
// What that device comes to is folded alone, with the fact and without it. If both
// ways the same makes no sense, but for the fact itself, nobody else has noticed
// anything.
func (t *timeline) mend(place int) bool {
	n := t.facts[place]
	tag, plain := saysOfOne(t.laid.at(n))
	way := t.paths[""]
	if !plain || len(t.paths) != 1 || way == nil || way.noted != len(t.facts)-1 || !t.standAlone() {
		return false
	}
	from, later := way.around(place)
	if from.fold == nil {
		return false
	}
	at := from.fold.named(tag)
	if at == none {
		return false
	}
	m := &mending{timeline: t, n: n, at: at, tag: tag, leaves: map[*tableLeaf]*tableLeaf{}, hubs: map[*hub]*hub{}, slipped: map[*shelf[Anomaly]]bool{}}
	if !m.apart(from, way.touched[at], later) {
		return false
	}
	for i, s := range later {
		m.put(s, &m.cells[i])
	}
	way.touched[at] = t.including(way.touched[at], n)
	way.noted++
	t.goBack(place)
	return true
}

// saysOfOne is the device that a fact is about, if it is about no more than that: it
// changes no list, no pairing and no name.
func saysOfOne(x *laid) (tag events.Tag, plain bool) {
	switch p := x.Event.Payload.(type) {
	case events.DeviceHeard:
		tag = p.Device
	case events.DeviceFitted:
		tag = p.Device
	case events.DeviceRefused:
		tag = p.Device
	case events.DeviceSkipped:
		tag = p.Device
	default:
		return "", false
	}
	return tag, x.counts() && !x.foretold()
}

// standAlone says whether devices of this view can be folded each alone.
func (t *timeline) standAlone() bool {
	return !t.serials.renamed && !t.strays && len(t.resolved) == 0
}

// around is the last stage of facts that are all before a place, and those of facts
// beyond it; the end among them.
func (p *path) around(place int) (from stage, later []*stage) {
	for i := range p.stages {
		if s := &p.stages[i]; s.after <= place {
			from = *s
		} else {
			later = append(later, s)
		}
	}
	if p.end.after > place {
		later = append(later, &p.end)
	}
	return from, later
}

// mending is a fact on its way into stages.
type mending struct {
	*timeline
	n     events.Number  // the fact
	at    int            // the place of its device
	tag   events.Tag     // and what it is called
	on    []events.HubID // those worked on: the one the device was on just then, and one that heard it
	cells []device       // how the device stands at each of the stages, with the fact
	odd   []Anomaly      // what makes no sense of the fact

	leaves  map[*tableLeaf]*tableLeaf
	hubs    map[*hub]*hub
	slipped map[*shelf[Anomaly]]bool
}

// apart folds the device from a stage on, with the fact and without it, and says
// whether that makes no difference to anything else.
func (m *mending) apart(from stage, touched []events.Number, later []*stage) bool {
	facts, wide := m.between(touched, from.after, events.Maybe[events.Instant]{}), m.wideFacts().between(m.timeline, from.after, events.Maybe[events.Instant]{})
	without, with := from.alone(m.at, m.tag, facts, wide), from.alone(m.at, m.tag, m.including(facts, m.n), wide)
	without.goOn(m.n)
	hub := without.table.at(m.at).hub()
	m.on = append(m.on, hub)
	if p, ok := m.ranks.Event(m.n).Payload.(events.DeviceHeard); ok && p.Hub != hub {
		m.on = append(m.on, p.Hub)
	}
	for _, s := range later {
		next := events.Number(none)
		if s.after+1 < len(m.facts) {
			next = m.facts[s.after+1] // the fact itself is among them now
		}
		without.goOn(next)
		with.goOn(next)
		m.cells = append(m.cells, *with.table.at(m.at))
		with.renumber()
	}
	var others []Anomaly
	for _, x := range with.told.odd.list() {
		if x.Event == m.ranks.Event(m.n) {
			m.odd = append(m.odd, x)
		} else {
			others = append(others, x)
		}
	}
	same := func(a, b Anomaly) bool { return a.Event == b.Event && a.Why == b.Why }
	unknown := func(id events.HubID) bool { return from.fold.hubs.m[id] == nil }
	return !slices.ContainsFunc(m.on, unknown) && slices.EqualFunc(others, without.told.odd.list(), same)
}

// including is a list of facts with one more.
func (t *timeline) including(facts []events.Number, n events.Number) []events.Number {
	at, _ := slices.BinarySearchFunc(facts, n, t.comparePoints)
	return slices.Insert(slices.Clone(facts), at, n)
}

// put puts the fact into a stage.
func (m *mending) put(s *stage, cell *device) {
	f := s.fold
	s.after++
	old := f.table.leaves[m.at/leafLen]
	if m.leaves[old] == nil {
		leaf := *old
		leaf.of[m.at%leafLen] = *cell
		m.leaves[old] = &leaf
	}
	f.table.leaves[m.at/leafLen] = m.leaves[old]

	if len(m.odd) > 0 {
		list := f.told.odd.list()
		i, _ := slices.BinarySearchFunc(list, &m.laid.at(m.n).Cause, func(x Anomaly, c *Cause) int { return comparePoints(&x.Cause, c) })
		f.told.odd.slip(i, m.odd, m.slipped)
	}
	for _, id := range m.on {
		m.work(f, id)
	}
}

// work notes in a stage who worked on a hub.
func (m *mending) work(f *fold, id events.HubID) {
	h, c := f.hubs.m[id], &m.laid.at(m.n).Cause
	if i := h.worker(c.Member()); i >= 0 && h.active[i].After(*c) {
		return
	}
	if m.hubs[h] == nil {
		now := *h
		now.active = slices.Clone(h.active)
		now.work(c)
		m.hubs[h] = &now
	}
	f.hubs.own(f.number)[id] = m.hubs[h]
}
