package between

import (
	"maps"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// table is the facts of one moment under today's names. To learn when one thing
// came to be many moments are asked, and each for that alone: so a table is worked
// out sort by sort and subject by subject, as it is asked for.
type table struct {
	*projection.Site
	calling
	facts [sorts]map[key]fact
	told  map[part]bool
	into  map[key]fact                 // of the sort that is worked out now
	only  *events.Subject              // whom the facts wanted now are about; nil for everybody
	net   func(events.HubID) *mesh.Net // that answers for the devices of a hub; of all for ""
}

// part is what of a table is worked out at once: what is of one sort, about one
// subject, or of everybody.
type part struct {
	sort sort
	of   events.Subject // the zero one for everybody
}

// sort is where a fact comes from. The ways home come last.
type sort int

const (
	ofDevices sort = iota
	ofHubs
	ofSupplies
	ofHolds
	ofFaults
	ofConflicts
	ofPlan
	ofBook
	ofWays
	sorts
)

// sortOf is where facts under a key come from.
func sortOf(k key) sort {
	switch k.what {
	case Path:
		return ofWays
	case Hold:
		return ofHolds
	case Fault:
		return ofFaults
	case Conflict:
		return ofConflicts
	case Check, Planned, Records, Noted, Photo, Signed:
		return ofBook
	case Measured, Drawing, Surveyed:
		return ofPlan
	}
	switch {
	case k.of.Class == events.OfDevice:
		return ofDevices
	case k.of.Class == events.OfHub:
		return ofHubs
	case k.what == Power:
		return ofSupplies
	}
	return ofPlan
}

// newTable is a table of which nothing is worked out yet. A net is asked for where a
// way home is.
func (n *names) newTable(s *projection.Site, net func(events.HubID) *mesh.Net) *table {
	return &table{Site: s, calling: n.calling(s), told: map[part]bool{}, net: net}
}

// fact is what stands under a key, if anything does.
func (t *table) fact(k key) (fact, bool) {
	s := sortOf(k)
	t.tell(part{s, k.of})
	f, there := t.facts[s][k]
	return f, there
}

// all is the facts of a sort about everybody.
func (t *table) all(s sort) map[key]fact {
	t.tell(part{sort: s})
	return t.facts[s]
}

// most is all facts but the ways home.
func (t *table) most() map[key]fact {
	out := map[key]fact{}
	for s := range ofWays {
		maps.Copy(out, t.all(s))
	}
	return out
}

// tell works a part out, unless that is done.
func (t *table) tell(p part) {
	if t.told[part{sort: p.sort}] || t.told[p] {
		return
	}
	t.told[p] = true
	if t.facts[p.sort] == nil {
		t.facts[p.sort] = map[key]fact{}
	}
	t.into = t.facts[p.sort]
	if p.of != (events.Subject{}) {
		t.only = &p.of
		defer func() { t.only = nil }()
	}
	switch p.sort {
	case ofDevices:
		t.devices()
	case ofHubs:
		t.hubs()
	case ofSupplies:
		t.supplies()
	case ofHolds:
		t.holds()
	case ofFaults:
		t.faults()
	case ofConflicts:
		t.conflicts()
	case ofPlan:
		t.plan()
	case ofBook:
		t.book()
	case ofWays:
		t.ways()
	}
}

// wants says whether facts about a subject are asked for now.
func (t *table) wants(of events.Subject) bool { return t.only == nil || *t.only == of }

func (t *table) devices() {
	if t.only != nil {
		tag, _ := t.only.Tag()
		for _, i := range t.calledNow(tag) {
			t.device(&t.Site.Devices[i])
		}
		return
	}
	for i := range t.Site.Devices {
		t.device(&t.Site.Devices[i])
	}
}

func (t *table) hubs() {
	for i := range t.Site.Hubs {
		if h := &t.Site.Hubs[i]; t.wants(events.Hub(h.Hub)) {
			t.hub(h)
		}
	}
}

func (t *table) ways() {
	if t.only != nil {
		tag, _ := t.only.Tag()
		for _, i := range t.calledNow(tag) {
			d := &t.Site.Devices[i]
			if d.Paired == nil {
				continue
			}
			if r, on := t.net(d.Paired.Hub).Reach(d.Device); on {
				t.way(&r)
			}
		}
		return
	}
	reaches := t.net("").Reaches()
	for i := range reaches {
		t.way(&reaches[i])
	}
}
