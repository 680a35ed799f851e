package walk

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// air is what radio and the way there tell of the devices to pair next. The zero
// value tells nothing.
type air struct {
	ground *mesh.Ground
	net    *mesh.Net
	pace   pace
	levels map[events.FloorID]int
	here   spot       // where the member was last seen to work
	last   events.Tag // at this device; "" unknown
}

// prospect is a device with what radio and the way say of it now.
type prospect struct {
	d      *projection.Device
	via    events.Tag // "" where it would join nothing
	link   mesh.Link
	known  bool // something is known of its links
	sure   bool
	away   time.Duration
	metres float64 // -1 not known
}

func newAir(s *projection.Site, me events.Key, g *mesh.Ground, n *mesh.Net) air {
	a := air{ground: g, net: n, pace: paceOf(s), levels: levelsOf(s)}
	latest := projection.Cause{}
	for i := range s.Hubs {
		if c, ok := s.Hubs[i].Active[me]; ok && (latest.IsZero() || c.After(latest)) {
			latest = c
		}
	}
	if latest.IsZero() {
		return a
	}
	for _, x := range latest.Event.Payload.Subjects() {
		if tag, ok := x.Tag(); ok {
			if d, known := s.Device(tag); known {
				a.here, a.last = spotOf(a.levels, floorOf(s, d), d.Room, d.Place), tag
				break
			}
		}
	}
	return a
}

// silent says whether nothing is known of any place or link.
func (a *air) silent() bool { return a.ground == nil || a.net == nil }

// look sees what radio says of a device, and how far it is from where the member
// is, else from the hub.
func (a *air) look(s *projection.Site, h *projection.Hub, d *projection.Device) prospect {
	x := prospect{d: d, metres: -1}
	if a.silent() {
		return x
	}
	x.via, x.link, x.known = a.net.Joins(d.Device)
	x.sure = x.known && x.link.Sure && x.via != ""
	from, at := a.last, a.here
	if from == "" {
		from, at = events.Tag(h.Hub), spotOf(a.levels, h.Floor, h.Room, h.Place)
	}
	x.away, _ = a.pace.walk(at, spotOf(a.levels, floorOf(s, d), d.Room, d.Place))
	if m, ok := a.ground.Metres(from, d.Device); ok {
		x.metres = m
	}
	return x
}

// sorted puts the devices of one radio in the order to pair them now: those with a
// sure path before those without, the nearest of them first. Where nothing tells
// of paths they stay in walking order.
func (a *air) sorted(s *projection.Site, h *projection.Hub, open []*projection.Device) []prospect {
	out := make([]prospect, len(open))
	anySure := false
	for i, d := range open {
		out[i] = a.look(s, h, d)
		anySure = anySure || out[i].sure
	}
	if !anySure {
		return out
	}
	slices.SortStableFunc(out, func(x, y prospect) int {
		return cmp.Or(x.turn()-y.turn(), cmp.Compare(x.near(), y.near()))
	})
	return out
}

// turn is whose turn comes first: a device with a sure path, then one of which
// nobody knows, then one that would be an island for now.
func (x prospect) turn() int {
	switch {
	case x.sure:
		return 0
	case !x.known:
		return 1
	}
	return 2
}

func (x prospect) near() time.Duration {
	if x.sure {
		return x.away
	}
	return 0 // in walking order
}

// words say how far it is and what it joins through.
func (a *air) words(s *projection.Site, x prospect) string {
	why := ""
	if x.metres >= 0 {
		why = fmt.Sprintf("; %s away", metresWords(x.metres))
		if a.last == "" {
			why = fmt.Sprintf("; %s from %s", metresWords(x.metres), x.d.Hub)
		}
	}
	switch {
	case x.sure:
		return why + fmt.Sprintf(", joins through %s, margin %s dB", x.via, marginWords(x.link.Margin))
	case x.known && x.via != "":
		why += fmt.Sprintf(", a path is not sure: through %s, margin %s dB", x.via, marginWords(x.link.Margin))
	case x.known:
		why += ", no path home yet"
	default:
		return why
	}
	if first := a.bridge(s, x.d); first != "" {
		return why + fmt.Sprintf("; it may be an island until %s is paired", first)
	}
	return why + "; it may be an island"
}

// bridge is the device to pair first, so that this one has a sure path: the one
// that hears it best of those that would have one themselves.
func (a *air) bridge(s *projection.Site, d *projection.Device) events.Tag {
	best, mean := events.Tag(""), int64(0)
	for l := range a.ground.Links(d.Device) {
		other := l.B
		if other == d.Device {
			other = l.A
		}
		r, ok := s.Device(other)
		if !ok || !l.Sure || !r.IsRouter() || r.Hub != d.Hub || !r.Wants(projection.NeedPair) || best != "" && l.Mean <= mean {
			continue
		}
		if _, link, known := a.net.Joins(other); known && link.Sure {
			best, mean = other, l.Mean
		}
	}
	return best
}

// shaky says why a device that is to answer may not be able to for long, "" if
// nothing speaks against it: it has no sure path, or one with less than nothing to
// spare at the worse end.
func (a *air) shaky(d *projection.Device) string {
	if a.silent() {
		return ""
	}
	r, ok := a.net.Reach(d.Device)
	weak := r.Margin.Known && r.Margin.Value.Lo < 0
	if !ok || r.Basis == mesh.NoBasis || r.Answer == mesh.Yes && !weak {
		return ""
	}
	return r.Why
}

func metresWords(m float64) string { return fmt.Sprintf("%.0f m", max(m, 1)) }

// marginWords is a range of centi-dB in whole dB.
func marginWords(r mesh.Range) string {
	db := func(c int64) int64 { return int64(math.Round(float64(c) / 100)) }
	if r.Lo < 0 {
		return fmt.Sprintf("%d to %d", db(r.Lo), db(r.Hi))
	}
	return fmt.Sprintf("%d–%d", db(r.Lo), db(r.Hi))
}
