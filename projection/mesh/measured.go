package mesh

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh/graph"
	"pairwalk/projection/radio"
)

// pair is two nodes, the lower first.
type pair struct{ a, b int32 }

func pairOf(a, b int32) pair { return pair{min(a, b), max(a, b)} }

// measured is what was measured between two nodes: how well the higher heard the
// lower, and the other way round; the newest entry of either that says anything
// of strength.
type measured struct {
	ways [2]*projection.Link
	lqi  *projection.Link // the newest that has one
}

// newestOf keeps the newer of two entries.
func newestOf(was, is *projection.Link) *projection.Link {
	if was == nil || is.Measured.After(was.Measured) {
		return is
	}
	return was
}

// linksOf lists every measurement: what people measured, and what hubs did.
func linksOf(s *projection.Site) []*projection.Link {
	out := make([]*projection.Link, len(s.Links))
	for i := range s.Links {
		out[i] = &s.Links[i]
	}
	for i := range s.Devices {
		if l, ok := heardDirectly(&s.Devices[i]); ok {
			out = append(out, &l)
		}
	}
	return out
}

// addMeasured sorts the measurements by what they are between, unless an older ground
// has them so.
func (g *Ground) addMeasured(old *Ground) {
	same := func(a, b *projection.Link) bool { return *a == *b }
	if slices.EqualFunc(g.links, old.links, same) && slices.Equal(g.nodes, old.nodes) {
		g.links, g.nodes, g.measured, g.pairs, g.strangers = old.links, old.nodes, old.measured, old.pairs, old.strangers
	} else {
		g.sortMeasured()
	}
	if g.strangers > 0 {
		g.note(fmt.Sprintf("measured links with an end that nobody knows, or with itself: %d, passed over", g.strangers))
	}
}

// measuredAs says whether the very measurements of an older ground are this one's,
// between the same nodes.
func (g *Ground) measuredAs(old *Ground) bool {
	return len(g.pairs) > 0 && len(old.pairs) > 0 && &g.pairs[0] == &old.pairs[0]
}

func (g *Ground) sortMeasured() {
	g.measured = map[pair]*measured{}
	for _, l := range g.links {
		a, okA := g.index[l.A]
		b, okB := g.index[l.B]
		if !okA || !okB || a == b {
			g.strangers++
			continue
		}
		p, way := pairOf(a, b), 0
		if a > b {
			way = 1
		}
		m := g.measured[p]
		if m == nil {
			m = &measured{}
			g.measured[p] = m
		}
		if l.RSSI.Known || l.PDR.Known {
			m.ways[way] = newestOf(m.ways[way], l)
		}
		if l.LQI.Known {
			m.lqi = newestOf(m.lqi, l)
		}
	}
	g.sortPairs()
}

// heardDirectly is the link that a hub's hearing a star device measures: nothing
// is between them. Which hop a mesh hub's figure is of, nobody knows.
func heardDirectly(d *projection.Device) (projection.Link, bool) {
	if d.Heard == nil || d.Radio != events.Star {
		return projection.Link{}, false
	}
	h, ok := d.Heard.Event.Payload.(events.DeviceHeard)
	if !ok || !h.RSSI.Known && !h.LQI.Known {
		return projection.Link{}, false
	}
	return projection.Link{
		LinkMeasured: events.LinkMeasured{A: d.Device, B: events.Tag(h.Hub), RSSI: h.RSSI, LQI: h.LQI},
		Measured:     *d.Heard,
	}, true
}

// sortPairs puts the measured pairs in a fixed order.
func (g *Ground) sortPairs() {
	g.pairs = make([]pair, 0, len(g.measured))
	for p := range g.measured {
		g.pairs = append(g.pairs, p)
	}
	slices.SortFunc(g.pairs, pair.compare)
}

func (p pair) compare(q pair) int { return cmp.Or(cmp.Compare(p.a, q.a), cmp.Compare(p.b, q.b)) }

// samples are the measured links between known places, for one radio.
func (g *Ground) samples(of int, old *Ground) []radio.Sample {
	if g.measuredAs(old) && g.sameWalls(old) {
		return old.bands[of].samples
	}
	var out []radio.Sample
	for _, p := range g.pairs {
		a, b := &g.nodes[p.a], &g.nodes[p.b]
		if !a.placed || !b.placed || a.hub && b.hub || bandOf(a.star || b.star) != of {
			continue
		}
		rssi, pdr := g.measured[p].means()
		if math.IsNaN(rssi) && math.IsNaN(pdr) {
			continue
		}
		out = append(out, radio.Sample{
			Name: string(a.tag) + "–" + string(b.tag), Between: g.between(a, b, of), RSSI: rssi, PDR: pdr,
		})
	}
	return out
}

// means are the level and the share delivered, over both ways; NaN where not
// measured.
func (m *measured) means() (rssi, pdr float64) {
	var levels, shares []float64
	for _, l := range m.ways {
		if l != nil && l.RSSI.Known {
			levels = append(levels, float64(l.RSSI.Value))
		}
		if l != nil && l.PDR.Known {
			shares = append(shares, float64(l.PDR.Value)/million)
		}
	}
	mean := func(list []float64) float64 {
		sum := 0.0
		for _, x := range list {
			sum += x
		}
		return sum / float64(len(list)) // NaN of none
	}
	return mean(levels), mean(shares)
}

// delivers is the share, in millionths, from which on a link is taken to deliver
// all: the receiver's own threshold (1 % lost). Past it the curve is too steep to
// say how far above it the link is.
const delivers = 990_000

// rate is the strength of a measured link, by the worse of its two ways. The
// prediction is of the same link, where there is one.
func (g *Ground) rate(m *measured, of int, predicted *radio.Estimate) (x strength, by *projection.Link) {
	for _, l := range m.ways {
		if l == nil {
			continue
		}
		if y := g.rateWay(l, of, predicted); by == nil || y.mean < x.mean {
			x, by = y, l
		}
	}
	if by == nil {
		return x, nil
	}
	forth, back := shareOf(m.ways[0]), shareOf(m.ways[1])
	if forth < 0 {
		forth = back
	}
	if back < 0 {
		back = forth
	}
	if forth >= 0 { // expected transmissions: De Couto et al., MobiCom 2003
		worse := int32(min(forth, back))
		x.from, x.to = min(x.from, worse), max(x.to, worse)
		x.etx = graph.ETX(forth, back)
		x.sure = min(forth, back) >= delivers && g.fresh(m) || x.sure
	}
	return x, by
}

// fresh says whether every share that was counted was so within measured_days.
func (g *Ground) fresh(m *measured) bool {
	for _, l := range m.ways {
		if shareOf(l) >= 0 && g.ageDays(l) > float64(g.measuredDays) {
			return false
		}
	}
	return true
}

// shareOf is what a way delivered, in millionths; -1 where nobody counted.
func shareOf(l *projection.Link) int64 {
	if l == nil || !l.PDR.Known {
		return -1
	}
	return l.PDR.Value
}

// rateWay is the strength of one way. A level says how strong it is. A share
// delivered says so only where it is short of all; one that is not shows that the
// link holds, and leaves how well to the level or the prediction.
func (g *Ground) rateWay(l *projection.Link, of int, predicted *radio.Estimate) strength {
	doubt := g.doubt * (1 + g.ageDays(l)/float64(g.measuredDays))
	b := &g.bands[of]
	var e radio.Estimate
	switch {
	case l.RSSI.Known:
		e = b.pred.MarginOf(float64(l.RSSI.Value), doubt)
	case predicted != nil:
		e = *predicted
	}
	if l.PDR.Known {
		e2 := b.pred.MarginOf(g.levelOf(share{of, l.PDR.Value}), doubt)
		told := l.RSSI.Known || predicted != nil
		if l.PDR.Value >= delivers && told {
			e.Mean = max(e.Mean, e2.Mean)
		} else if !told || e2.Mean < e.Mean || !l.RSSI.Known {
			e = e2
		}
	}
	return strengthOf(e, g.fade)
}

// share is a share delivered over one of the radios, in millionths.
type share struct {
	of  int
	pdr int64
}

// levelOf is the level in dBm that a receiver has which is delivered such a share. It
// takes a search along the error curve, so it was told once for all that were
// measured.
func (g *Ground) levelOf(x share) float64 {
	if level, told := g.levels[x]; told {
		return level
	}
	b := &g.bands[x.of]
	return b.needs + b.marginAt(1-float64(x.pdr)/million)
}

// tellLevels tells the level of every share that was measured, or takes it over.
func (g *Ground) tellLevels(old *Ground) {
	if g.measuredAs(old) && g.bands[meshBand].profile == old.bands[meshBand].profile && g.bands[starBand].profile == old.bands[starBand].profile {
		g.levels = old.levels
		return
	}
	levels := map[share]float64{}
	for p, m := range g.measured {
		of := bandOf(g.nodes[p.a].star || g.nodes[p.b].star)
		for _, l := range m.ways {
			if l == nil || !l.PDR.Known {
				continue
			}
			x := share{of, l.PDR.Value}
			if level, told := old.levels[x]; told && old.bands[of].profile == g.bands[of].profile {
				levels[x] = level
			} else if _, done := levels[x]; !done {
				levels[x] = g.levelOf(x)
			}
		}
	}
	g.levels = levels
}

// A receiver's threshold is where it loses such a share of packets of 20 octets.
const octets, threshold = 20, 0.01

// marginAt is how far above the threshold a receiver is that loses such a share.
// Of nothing or everything lost no count of packets is long enough to tell, so both
// are held to 1 in 10,000.
func (b *band) marginAt(lost float64) float64 {
	const least = 1e-4
	lost = min(max(lost, least), 1-least)
	return radio.SINRFor(lost, octets) - b.least
}

// hour is how long measurements stay as old as they are, in ms, so that a ground holds
// meanwhile. As the settings are at first, doubt grows by a seventh of a centi-dB in it.
const hour = 3600 * 1000

// ageDays is how old a measurement is at the last full hour before the site's moment.
func (g *Ground) ageDays(l *projection.Link) float64 {
	return float64(max(g.now-l.Measured.At, 0)) / (24 * hour)
}
