package callback

import (
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// links finds links on the way home of a device that were measured weaker than
// they were taken for before.
func links(x *inquiry, d *projection.Device) []finding {
	if d.Paired == nil || d.Dark != nil || d.Struck != nil {
		return nil
	}
	var out []finding
	for _, m := range x.weakened() {
		if d.Paired.After(m.Measured) {
			continue
		}
		if !x.onWayOf(d, m) {
			continue
		}
		now, _ := x.net.Ground().Link(m.A, m.B)
		legs := x.at(m.Measured.At - 1).net.Legs(d.Device)
		i := slices.IndexFunc(legs, func(l mesh.Link) bool { return same(l, m) })
		if i < 0 {
			continue
		}
		was := legs[i]
		if was.Mean-now.Mean < x.site.Settings.Int(events.MeasuredDoubt) && (now.Sure || !was.Sure) {
			continue
		}
		f := finding{kind: ByWeakLink, subject: events.Device(m.A), device: d, main: m.Measured, against: x.heardSince(d, m.Measured),
			what: fmt.Sprintf("the link %s–%s, on the way home of {them}, was measured at %s with a margin of %d dB, where it was %d dB before", m.A, m.B, x.clock(m.Measured.At), whole(now.Mean), whole(was.Mean))}
		if was.Measured != nil {
			f.more = append(f.more, *was.Measured)
		}
		out = append(out, f)
	}
	return out
}

// onWayOf says whether a link may have been on the way home of a device just before it
// was measured: both its ends were on the network of the device's hub.
func (x *inquiry) onWayOf(d *projection.Device, m *projection.Link) bool {
	s := x.siteAt(m.Measured.At - 1)
	was, ok := s.Device(d.Device)
	if !ok || was.Paired == nil {
		return false
	}
	hub := was.Paired.Hub
	on := func(t events.Tag) bool {
		end, device := s.Device(t)
		return device && end.Paired != nil && end.Paired.Hub == hub || t == events.Tag(hub)
	}
	return on(m.A) && on(m.B)
}

// weakened lists the newest measurements that count, of links that are not sure or
// were measured stronger before.
func (x *inquiry) weakened() []*projection.Link {
	if x.weak != nil {
		return x.weak
	}
	x.weak = []*projection.Link{}
	between := map[[2]events.Tag][]*projection.Link{} // whichever way they were measured
	for i := range x.site.Links {
		m := &x.site.Links[i]
		between[ends(m)] = append(between[ends(m)], m)
	}
	for i := range x.site.Links {
		m := &x.site.Links[i]
		now, ok := x.net.Ground().Link(m.A, m.B)
		if !ok || now.Measured == nil || now.Measured.Ref() != m.Measured.Ref() {
			continue
		}
		stronger := slices.ContainsFunc(between[ends(m)], func(y *projection.Link) bool {
			return m.Measured.After(y.Measured) && (m.RSSI.Known && y.RSSI.Known && y.RSSI.Value > m.RSSI.Value || m.PDR.Known && y.PDR.Known && y.PDR.Value > m.PDR.Value)
		})
		if !now.Sure || stronger {
			x.weak = append(x.weak, m)
		}
	}
	slices.SortStableFunc(x.weak, func(a, b *projection.Link) int {
		return boolInt(b.Measured.After(a.Measured)) - boolInt(a.Measured.After(b.Measured))
	})
	x.weak = x.weak[:min(mostLooked, len(x.weak))]
	return x.weak
}

// ends are what a measurement is between, in a fixed order.
func ends(m *projection.Link) [2]events.Tag {
	return [2]events.Tag{min(m.A, m.B), max(m.A, m.B)}
}

// same says whether a measurement is of a link, whichever way.
func same(l mesh.Link, m *projection.Link) bool {
	return l.A == m.A && l.B == m.B || l.A == m.B && l.B == m.A
}

// whole rounds centi-dB to decibels.
func whole(c int64) int64 {
	if c < 0 {
		return (c - 50) / 100
	}
	return (c + 50) / 100
}

// moved finds places and walls that came after a device was last seen to work:
// its own place, and what makes its way home worse.
func moved(x *inquiry, d *projection.Device) []finding {
	seen := proof(d)
	if seen == nil || d.Paired == nil {
		return nil
	}
	var out []finding
	for _, t := range x.shifts() {
		if !t.After(*seen) {
			continue
		}
		switch p := t.Event.Payload.(type) {
		case events.DevicePlaced:
			own := slices.Contains(t.Subjects, events.Device(d.Device))
			if better := x.farther(d, t.Cause); (own || better) && x.apart(t.Cause, p) {
				out = append(out, finding{kind: ByMoved, subject: t.Subjects[0], device: d, main: t.Cause, better: better,
					what: fmt.Sprintf("%s was found at another place at %s, after {them} {was} last seen to work", t.Subjects[0].Words(), x.clock(t.At))})
			}
		case events.WallListed:
			if p.Floor == d.Floor && x.farther(d, t.Cause) {
				out = append(out, finding{kind: ByMoved, subject: events.Floor(p.Floor), device: d, main: t.Cause, better: true, pool: true,
					what: fmt.Sprintf("walls were listed on floor %s after {them} {was} last seen to work, and {its} way home crosses them", p.Floor)})
			}
		}
	}
	return out
}

// shifts lists the newest entries that place something or list a wall.
func (x *inquiry) shifts() []*projection.Told {
	var out []*projection.Told
	for i := len(x.told) - 1; i >= 0 && len(out) < mostLooked; i-- {
		t := &x.told[i]
		switch t.Event.Payload.(type) {
		case events.DevicePlaced, events.WallListed:
			if t.Withdrawn == "" && t.Quarantined == "" {
				out = append(out, t)
			}
		}
	}
	return out
}

// noticeable is how far a place or a margin must move to count: 1 m, and 1 dB.
const (
	noticeableMM  = 1000
	noticeableCdB = 100
)

// apart says whether a place is noticeably another than what the log had before.
func (x *inquiry) apart(c projection.Cause, p events.DevicePlaced) bool {
	before := x.siteAt(c.At - 1)
	was := events.Maybe[events.Point]{}
	if d, ok := before.Device(p.Device); ok {
		was = d.Place
	} else if h, ok := before.Hub(events.HubID(p.Device)); ok {
		was = h.Place
	}
	if !was.Known {
		return false
	}
	dx, dy, dz := was.Value.X-p.Place.X, was.Value.Y-p.Place.Y, was.Value.Z-p.Place.Z
	return dx*dx+dy*dy+dz*dz >= noticeableMM*noticeableMM
}

// farther says whether the way home is better without an entry.
func (x *inquiry) farther(d *projection.Device, c projection.Cause) bool {
	v := x.lacking(c.Ref())
	now, _ := x.net.Reach(d.Device)
	then, ok := v.net.Reach(d.Device)
	switch {
	case !ok || then.Path == nil:
		return false
	case level(v.net, d.Device) > level(x.net, d.Device):
		return true
	}
	return then.Weakest != nil && now.Weakest != nil && then.Weakest.Mean-now.Weakest.Mean >= noticeableCdB
}

// lacking is without for one entry, worked out once.
func (x *inquiry) lacking(ref events.Ref) *view {
	if x.lacks[ref] == nil {
		x.lacks[ref] = x.without(ref)
	}
	return x.lacks[ref]
}

// singles finds what a device hangs on by itself, where nothing shows that it
// went and its going would explain the symptom. Only paths of sure links are judged, so nothing is found on a bare list;
// the hub's own circuit, which everybody hangs on, tells nothing.
func singles(x *inquiry, d *projection.Device) []finding {
	if d.Paired == nil || d.Dark != nil || BySingle.fit(x.Symptom) == 0 {
		return nil
	}
	way, _ := x.net.Reach(d.Device)
	var out []finding
	for _, p := range x.singlePoints() {
		h, _ := x.site.Hub(p.Hub)
		if !slices.Contains(p.Strands, d.Device) || h != nil && p.Of == events.Circuit(h.Circuit) {
			continue
		}
		f := finding{kind: BySingle, subject: p.Of, device: d, pool: true,
			what: fmt.Sprintf("every way home of {them} that is known goes over %s; if that went unseen, it would explain it", p.Of.Words())}
		for _, t := range p.Dark {
			if y, ok := x.site.Device(t); ok && y.Paired != nil && slices.Contains(way.Path, t) {
				f.more = append(f.more, y.Paired.Cause)
			}
		}
		if len(f.more) == 0 {
			continue
		}
		f.main, f.more = f.more[0], f.more[1:]
		out = append(out, f)
	}
	return out
}

func (x *inquiry) singlePoints() []mesh.SinglePoint {
	if x.points == nil {
		x.points = append([]mesh.SinglePoint{}, x.net.SinglePoints()...)
	}
	return x.points
}
