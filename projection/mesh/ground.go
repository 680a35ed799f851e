package mesh

import (
	"iter"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/radio"
	"pairwalk/projection/storey"
)

// Ground is what radio can do between the places of a site, whoever is paired.
// It does not change once surveyed, and may be shared.
type Ground struct {
	nodes     []node // devices in the site's order, then hubs
	firstHub  int32
	index     map[events.Tag]int32
	storeys   *storey.Storeys
	walls     listedWalls
	bands     [bands]band
	links     []*projection.Link // every measurement
	measured  map[pair]*measured
	pairs     []pair            // of measured, in a fixed order
	strangers int               // measurements that have no place in it
	levels    map[share]float64 // dBm that shares delivered stand for, see levelOf
	networks  []*network        // one for each hub, in the site's order
	only      events.HubID      // the one hub whose links are worked out; "" for all
	notes     []string

	now          events.Instant // the full hour by which measurements are so old
	fade         int64          // centi-dB
	doubt        float64        // dB, of a fresh measurement
	measuredDays int64
}

// Survey works out the ground of a site at its moment: from its schedule, places,
// walls, measurements and settings. Where any of these changes, survey again, or
// mend the ground that there is.
func Survey(s *projection.Site) *Ground { return survey(s, new(Ground)) }

// survey takes over what an older ground has that holds for the site too.
func survey(s *projection.Site, old *Ground) *Ground {
	g := &Ground{
		storeys: storey.Of(s), links: linksOf(s),
		now:          s.Moment.When.Value - s.Moment.When.Value%hour,
		fade:         s.Settings.Int(events.FadeMargin),
		doubt:        float64(s.Settings.Int(events.MeasuredDoubt)) / 100,
		measuredDays: max(s.Settings.Int(events.MeasuredDays), 1),
		only:         old.only,
	}
	g.addNodes(s, old)
	model, unknown := modelOf(s)
	g.note(unknown)
	radios := profiles(s)
	mhz := [bands]float64{radios[meshBand].MHz, radios[starBand].MHz}
	g.walls = old.walls.again(s.Walls, mhz)
	g.note(g.walls.odd...)
	g.addMeasured(old)
	for b := range g.bands {
		g.bands[b] = old.bands[b].again(model, radios[b], g.samples(b, old))
		g.note(g.bands[b].notes...)
	}
	g.tellLevels(old)
	g.note(model.Caveats(mhz[meshBand])...)
	if g.hasStar() {
		g.note(model.Caveats(mhz[starBand])...)
		for _, w := range s.Walls {
			g.note(radio.MaterialCaveat(w.Material, mhz[starBand]))
		}
	}
	g.noteFloors()
	g.addNetworks(s, old)
	return g
}

// note adds what is worth telling, each once.
func (g *Ground) note(notes ...string) {
	for _, n := range notes {
		if n != "" && !slices.Contains(g.notes, n) {
			g.notes = append(g.notes, n)
		}
	}
}

// noteFloors says where slabs are counted without anybody having listed floors.
func (g *Ground) noteFloors() {
	if g.storeys.Known() {
		return
	}
	for i := range g.nodes {
		if g.nodes[i].placed && g.nodes[i].level != 0 {
			g.note("no floors are listed: a slab is taken for every 3.5 m of height")
			return
		}
	}
}

// Model names the propagation model, its edition and row, and whether it is
// calibrated; it belongs beside every answer.
func (g *Ground) Model() string { return g.describe() }

// Notes lists what was taken for granted or could not be taken into account, and
// why.
func (g *Ground) Notes() []string { return slices.Clone(g.notes) }

// Fit is the calibration of the mesh radio by the site's own measured links, if
// they support one.
func (g *Ground) Fit() (radio.Fit, bool) { return g.bands[meshBand].fit, g.bands[meshBand].fitted }

// Metres is the straight distance between two places.
func (g *Ground) Metres(a, b events.Tag) (float64, bool) {
	i, okA := g.index[a]
	j, okB := g.index[b]
	if !okA || !okB || !g.nodes[i].placed || !g.nodes[j].placed {
		return 0, false
	}
	return metres(g.nodes[i].at, g.nodes[j].at), true
}

// Link is the link between two devices, or a device and a hub, named as a tag;
// also where it is not possible. It is false where nothing is known of it, and
// between nodes that never talk: of different hubs, or star devices.
func (g *Ground) Link(a, b events.Tag) (Link, bool) {
	i, okA := g.index[a]
	j, okB := g.index[b]
	if !okA || !okB || i == j || !g.share(i, j) {
		return Link{}, false
	}
	return g.link(i, j)
}

// share says whether two nodes are of one network and may talk in it.
func (g *Ground) share(i, j int32) bool {
	for _, w := range g.networks {
		a, okA := w.local(i)
		b, okB := w.local(j)
		if okA && okB {
			return w.talks(g, a, b)
		}
	}
	return false
}

// Links yields the links of a device or hub that are at least possible, in the
// site's order of the other end. Between two that sleep there is none: nothing
// is carried over it.
func (g *Ground) Links(of events.Tag) iter.Seq[Link] {
	return func(yield func(Link) bool) {
		i, ok := g.index[of]
		if !ok {
			return
		}
		var others []int32
		for _, w := range g.networks {
			if v, in := w.local(i); in {
				for _, h := range w.any.Halves(v) {
					others = append(others, w.nodes[h.To])
				}
			}
		}
		slices.Sort(others)
		for _, j := range slices.Compact(others) {
			if l, ok := g.link(i, j); ok && !yield(l) {
				return
			}
		}
	}
}

// between is what lies between two places.
func (g *Ground) between(a, b *node, of int) radio.Between {
	between := radio.Between{Metres: metres(a.at, b.at), Floors: slabs(a, b)}
	between.Walls, _ = g.walls.plans.between(a, b, of)
	return between
}

// rateLink is the strength of a link, and the measurement behind it if there is
// one. It is false where nothing is known of it.
func (g *Ground) rateLink(i, j int32) (x strength, by *projection.Link, ok bool) {
	a, b := &g.nodes[i], &g.nodes[j]
	of := bandOf(a.star || b.star)
	if m := g.measured[pairOf(i, j)]; m != nil {
		var predicted *radio.Estimate
		if a.placed && b.placed {
			e, _ := g.estimate(a, b, of)
			predicted = &e
		}
		if x, by = g.rate(m, of, predicted); by != nil {
			x.measured = true
			return x, by, true
		}
	}
	if !a.placed || !b.placed {
		return x, nil, false
	}
	return g.predict(a, b, of), nil, true
}

// link tells all of a link.
func (g *Ground) link(i, j int32) (Link, bool) {
	x, by, ok := g.rateLink(i, j)
	a, b := &g.nodes[i], &g.nodes[j]
	l := x.link(a, b)
	g.lay(&l, a, b)
	if by != nil {
		l.Basis, l.Measured = Measured, &by.Measured
	}
	if m := g.measured[pairOf(i, j)]; m != nil && m.lqi != nil {
		l.LQI = m.lqi.LQI
	}
	return l, ok
}
