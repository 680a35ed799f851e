package mesh

import (
	"pairwalk/events"
	"pairwalk/projection"
)

// Reaches answers for every device that is paired, or taken to be, in the site's
// order. The slice must not be changed.
func (n *Net) Reaches() []Reach { return n.reaches }

// Reach answers for one device; false where it is not paired nor taken to be, or
// struck.
func (n *Net) Reach(t events.Tag) (Reach, bool) {
	i, ok := n.indexOf(t)
	if !ok || n.at[i] < 0 {
		return Reach{}, false
	}
	return n.reaches[n.at[i]], true
}

// Legs lists the links of a device's path, one for each hop from the device to its
// hub; none where no path is known.
func (n *Net) Legs(t events.Tag) []Link {
	r, ok := n.Reach(t)
	if !ok || len(r.Path) == 0 {
		return nil
	}
	i, _ := n.indexOf(t)
	f, v := n.spots[i].field, n.spots[i].node
	p := &f.sure
	if !p.reaches(v) {
		p = &f.any
	}
	legs := make([]Link, 0, r.Hops)
	for v != 0 {
		parent, e := p.up(v)
		legs = append(legs, f.link(n.g, v, parent, e))
		v = parent
	}
	return legs
}

// indexOf is a device's place in the site's list.
func (n *Net) indexOf(t events.Tag) (int, bool) {
	if j, ok := n.g.index[t]; ok && int(j) < len(n.s.Devices) && n.s.Devices[j].Device == t {
		return int(j), true
	}
	for i := range n.s.Devices {
		if n.s.Devices[i].Device == t {
			return i, true
		}
	}
	return 0, false
}

// answerAll answers for every device of the net.
func (n *Net) answerAll(x heir) {
	n.reaches = make([]Reach, 0, len(n.s.Devices))
	for i := range n.s.Devices {
		d := &n.s.Devices[i]
		n.at[i] = -1
		if hub, ok := n.hubOf(d); ok {
			n.at[i] = int32(len(n.reaches))
			if was, holds := x.answer(n, i); holds {
				n.reaches = append(n.reaches, *was)
				continue
			}
			n.reaches = append(n.reaches, n.answer(n.spots[i], d, hub))
		}
	}
}

// answer follows the ladder of the package doc, from the surest word down.
func (n *Net) answer(x spot, d *projection.Device, hub events.HubID) Reach {
	f, v := x.field, x.node
	r := Reach{Device: d.Device, Hub: hub, Answer: Unknown, Basis: NoBasis}
	seen, how := observation(d)
	if seen != nil {
		r.Since = events.Some(seen.At)
	}
	if f == nil {
		r.Why = n.noHub(hub)
		return r
	}
	if why, by, off := n.off(f, d); off {
		r.Answer, r.Why = No, why
		if by != nil {
			r.Basis, r.Since = Observed, events.Some(by.At)
			if seen != nil && seen.After(*by) {
				r.Why += "; yet it " + wordsOf(how) + " " + n.clock.at(seen.At)
			}
		}
		return r
	}
	said := ""
	if seen != nil {
		said = how + " " + n.clock.at(seen.At)
		doubt := n.doubt(f, v, d, seen)
		if doubt == "" && !missed(d, seen) {
			r.Answer, r.Basis = Yes, Observed
			n.drawPath(&r, f, v)
			r.Why = n.whyObserved(&r, f, v, said)
			return r
		}
		if doubt != "" {
			said += ", " + doubt
		}
	}
	n.judge(&r, f, v, d)
	r.Why = joined("; ", said, r.Why)
	return r
}

// wordsOf words an observation as what a device did or had done to it.
func wordsOf(how string) string {
	if how == heard {
		return "was heard"
	}
	return how
}

// noHub says why nothing is known of a whole hub.
func (n *Net) noHub(hub events.HubID) string {
	if hub == "" {
		return "it is on no hub"
	}
	if _, ok := n.s.Hub(hub); !ok {
		return "hub " + string(hub) + " is not on the schedule"
	}
	return "hub " + string(hub) + " was not known when the ground was surveyed"
}

// off says whether a device can't be on the air at all, and why.
func (n *Net) off(f *field, d *projection.Device) (why string, by *projection.Cause, off bool) {
	if !n.powered(d) {
		why, by = n.whyDark(d)
		return why, by, true
	}
	if f.down != nil {
		return f.down.why, f.down.by, true
	}
	return "", nil, false
}

// judge answers by the graph of links alone.
func (n *Net) judge(r *Reach, f *field, v int32, d *projection.Device) {
	n.drawPath(r, f, v)
	switch {
	case v != 0 && f.sure.reaches(v):
		r.Answer = Yes
		if d.Missed != nil {
			r.Answer = Unknown
		}
	case v != 0 && f.any.reaches(v):
		r.Answer = Unknown
	case f.surelyAlone(n.g, v):
		r.Answer, r.Basis = No, Predicted
	}
	if d.Missed != nil && r.Answer != No {
		r.Why = "missed the push at " + n.clock.at(d.Missed.At)
	}
	r.Why = joined("; ", r.Why, n.whyJudged(r, f, v))
}

// surelyAlone says whether a device that no possible path reaches has none: its
// own place, its hub's and those of all that could carry it are known, so that
// there is nobody left who might.
func (f *field) surelyAlone(g *Ground, v int32) bool {
	if v == 0 || !f.w.node(g, v).placed || !f.w.node(g, 0).placed || f.w.dumb[bandOf(f.w.node(g, v).star)] {
		return false
	}
	return f.unknown == 0 || f.w.node(g, v).star
}

// drawPath fills in the best known path: of sure links, else of possible ones.
func (n *Net) drawPath(r *Reach, f *field, v int32) {
	p := &f.sure
	if v == 0 || !p.reaches(v) {
		p = &f.any
	}
	if v == 0 || !p.reaches(v) {
		return
	}
	r.Hops = int(p.tree.Hops[v])
	r.Path = n.room(r.Hops + 1)
	chance := Range{million, million}
	weakest, below, above, allMeasured := int32(-1), int32(0), int32(0), true
	for u := v; ; {
		r.Path = append(r.Path, f.w.node(n.g, u).tag)
		if u == 0 {
			break
		}
		parent, e := p.up(u)
		x := &f.w.facts[e]
		chance.Lo, chance.Hi = chance.Lo*int64(x.from)/million, chance.Hi*int64(x.to)/million
		allMeasured = allMeasured && x.measured
		if weakest < 0 || f.w.edges[e].Width < f.w.edges[weakest].Width {
			weakest, below, above = e, u, parent
		}
		u = parent
	}
	x := &f.w.facts[weakest]
	r.Margin, r.Chance = events.Some(Range{int64(x.lo), int64(x.hi)}), events.Some(chance)
	r.Weakest = f.linkUp(n.g, p, weakest, below, above)
	if p == &f.sure {
		r.Disjoint = events.Some(f.disjoint[v])
	}
	if r.Basis == NoBasis {
		r.Basis = Predicted
		if allMeasured {
			r.Basis = Measured
		}
	}
}

// room is an empty path with room for so many tags. Paths share memory, since
// there are thousands of them.
func (n *Net) room(tags int) []events.Tag {
	if cap(n.paper)-len(n.paper) < tags {
		n.sheet = min(max(tags, 2*n.sheet), 1024)
		n.paper = make([]events.Tag, 0, max(tags, n.sheet))
	}
	at := len(n.paper)
	n.paper = n.paper[:at+tags]
	return n.paper[at : at : at+tags]
}
