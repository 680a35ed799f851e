package projection

import (
	"cmp"
	"slices"

	"pairwalk/events"
)

// wide is the facts that bear on what others do to any device: what is said of hubs,
// what came home, and holds. They are few, and noted with what they are about, so
// that most are passed over without a look at them.
type wide struct {
	facts   []wideFact               // by (point, rank); those that count
	exports map[string]events.Number // the first of each name
}

type wideFact struct {
	n    events.Number
	hold bool
	of   events.Subject // the hub; what is held; a hub without a name for the whole site
}

func (t *timeline) wideFacts() *wide {
	if t.wide == nil {
		t.wide = &wide{exports: map[string]events.Number{}}
		for _, n := range t.facts {
			if t.laid.at(n).counts() {
				t.wide.take(n, t.ranks.Event(n).Payload)
			}
		}
	}
	return t.wide
}

func (x *wide) take(n events.Number, p events.Payload) {
	if w, bears := widely(p); bears {
		w.n = n
		x.facts = append(x.facts, w)
	}
	if p, exports := p.(events.RecordsExported); exports {
		if _, before := x.exports[p.Export]; !before {
			x.exports[p.Export] = n
		}
	}
}

// isWide says whether a payload is of those that are noted here.
func isWide(p events.Payload) bool {
	_, bears := widely(p)
	_, exports := p.(events.RecordsExported)
	return bears || exports
}

// widely is what a payload is about that bears on what others do to any device.
func widely(p events.Payload) (w wideFact, bears bool) {
	switch p := p.(type) {
	case events.HubReady:
		w.of = events.Hub(p.Hub)
	case events.HubLost:
		w.of = events.Hub(p.Hub)
	case events.HubChannel:
		w.of = events.Hub(p.Hub)
	case events.HubLoaded:
		w.of = events.Hub(p.Hub)
	case events.RecordsMerged:
		w.of = events.Hub(p.Hub)
	case events.HoldPlaced:
		w.of, w.hold = p.Of, true
	case events.HoldLifted:
		w.of, w.hold = p.Of, true
	default:
		return w, false
	}
	return w, true
}

// between cuts out those after so many of all facts, up to a moment.
func (x *wide) between(t *timeline, after int, when events.Maybe[events.Instant]) []wideFact {
	if after >= len(t.facts) {
		return nil
	}
	list := x.facts
	from, _ := slices.BinarySearchFunc(list, t.facts[after], func(w wideFact, n events.Number) int { return t.comparePoints(w.n, n) })
	list = list[from:]
	if when.Known {
		upto, _ := slices.BinarySearchFunc(list, when.Value+1, func(w wideFact, at events.Instant) int { return cmp.Compare(t.laid.at(w.n).At, at) })
		list = list[:upto]
	}
	return list
}

// exported is the export of a name, if it was made before a fact.
func (x *wide) exported(t *timeline, id string, before events.Number) (events.Number, bool) {
	n, ok := x.exports[id]
	return n, ok && t.comparePoints(n, before) <= 0
}
