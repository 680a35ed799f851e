package projection

import (
	"slices"

	"pairwalk/events"
)

// marked are the kinds of entries that a course marks.
var marked = map[events.Kind]bool{
	"hub.ready": true, "hub.lost": true, "hub.channel": true, "records.merged": true, "push.done": true, "push.failed": true,
	"power.off": true, "power.on": true, "fault.found": true, "hold.placed": true, "work.signed": true, "member.revoked": true,
}

// landmarks are the entries that a course marks, in the order of site time. They are
// kept between questions, as the order of all entries is; where one comes in before
// others, or positions are called anew, those who hold the old lists keep them.
type landmarks struct {
	order []events.Number
	sums  []digest // of each and all before it
	taken int      // entries of the view
}

// bringLandmarks takes in what has come since it was asked for last.
func (t *timeline) bringLandmarks() {
	t.bringTelling()
	m := &t.telling.landmarks
	fresh := t.telling.order
	if m.taken > 0 { // the view has grown, so it holds all there is
		fresh = nil
		for n := m.taken; n < len(t.order); n++ {
			fresh = append(fresh, events.Number(n))
		}
	}
	m.taken = len(t.order)
	for _, n := range fresh {
		if marked[t.ranks.Event(n).Kind()] && t.laid.at(n).counts() {
			m.put(t, n)
		}
	}
}

// put puts one more where it belongs.
func (m *landmarks) put(t *timeline, n events.Number) {
	at := len(m.order)
	if at > 0 && t.comparePoints(m.order[at-1], n) > 0 {
		at, _ = slices.BinarySearchFunc(m.order, n, t.comparePoints)
		m.order, m.sums = slices.Insert(slices.Clip(m.order), at, n), slices.Clip(m.sums[:at])
	} else {
		m.order = append(m.order, n)
	}
	for _, n := range m.order[at:] {
		var sum digest
		if k := len(m.sums); k > 0 {
			sum = m.sums[k-1]
		}
		sum.mark(t.laid.at(n), t.telling.subjects(t.ranks.Event(n)))
		m.sums = append(m.sums, sum)
	}
}
