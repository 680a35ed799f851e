package mesh_test

import (
	"cmp"
	"fmt"
	"math"
	"math/big"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/radio"
)

// dumb answers everything again by the package's doc alone: every pair of devices
// is looked at, every path is found by widening step by step, and what breaks is
// found by taking it away and looking again. It shares the radio package, no more.
type dumb struct {
	s        *projection.Site
	model    radio.Model
	profiles [2]radio.Profile
	preds    [2]*radio.Predictor
}

func newDumb(s *projection.Site) *dumb {
	o := &dumb{s: s}
	o.model, _ = radio.ModelByID(s.Settings.Value(events.RadioModel))
	o.profiles = [2]radio.Profile{radio.Mesh(), radio.Star(s.Settings.Value(events.Region))}
	for b := range o.profiles {
		p := &o.profiles[b]
		p.PowerDBm, p.GainDBi = 0, float64(s.Settings.Int(events.AntennaGain))/100
		p.NoiseFigure, p.ImplementationLoss = 10, 6
		fit := radio.Fit{}
		if samples := o.samples(b); len(samples) > 0 {
			if f, err := radio.Calibrate(o.model, *p, samples); err == nil {
				fit = f
			}
		}
		o.preds[b] = radio.NewPredictor(o.model, *p, fit)
	}
	return o
}

// end is a device or hub.
type end struct {
	tag   events.Tag
	place events.Maybe[events.Point]
	floor events.FloorID
	star  bool
	hub   bool
	relay bool
}

func (o *dumb) deviceEnd(d *projection.Device) end {
	return end{d.Device, d.Place, d.Floor, d.Radio == events.Star, false, d.IsRouter()}
}

func (o *dumb) hubEnd(h *projection.Hub) end {
	return end{events.Tag(h.Hub), h.Place, h.Floor, false, true, true}
}

// heights are the elevations of the floors listed or named by a number.
func (o *dumb) heights() map[events.FloorID]float64 {
	out := map[events.FloorID]float64{}
	for i := range o.s.Devices {
		var level float64
		if n, _ := fmt.Sscanf(string(o.s.Devices[i].Floor), "%g", &level); n == 1 {
			out[o.s.Devices[i].Floor] = level * 3500
		}
	}
	for _, f := range o.s.Floors {
		out[f.Floor] = float64(f.Level) * 3500
	}
	return out
}

func (o *dumb) level(e end) float64 {
	heights := o.heights()
	z := float64(e.place.Value.Z)
	if h, ok := heights[e.floor]; ok {
		z = h
	}
	return z
}

func (o *dumb) floors(a, b end) int {
	heights := o.heights()
	lo, hi := o.level(a), o.level(b)
	if lo > hi {
		lo, hi = hi, lo
	}
	if len(heights) == 0 {
		return int(math.Floor(hi/3500) - math.Floor(lo/3500))
	}
	lowest := math.Inf(1)
	distinct := map[float64]bool{}
	for _, h := range heights {
		lowest = min(lowest, h)
		distinct[h] = true
	}
	n := 0
	for h := range distinct {
		if h > max(lo, lowest) && h <= hi {
			n++
		}
	}
	return n
}

// onFloor is the floor a thing is on, for walls.
func (o *dumb) onFloor(e end) events.FloorID {
	heights := o.heights()
	if e.floor != "" || !e.place.Known {
		return e.floor
	}
	on, under := events.FloorID(""), events.FloorID("")
	for f, h := range heights {
		if h <= float64(e.place.Value.Z) && (on == "" || h > heights[on]) {
			on = f
		}
		if under == "" || h < heights[under] {
			under = f
		}
	}
	return cmp.Or(on, under)
}

// meets says whether a wall's piece lies across the line, in exact fractions: a
// corner on the line counts as to the right of it, seen from the lower end.
func meets(a, b, p, q events.XY) bool {
	if a.X > b.X || a.X == b.X && a.Y > b.Y {
		a, b = b, a
	}
	turn := func(a, b, c events.XY) int {
		n := func(x int64) *big.Int { return big.NewInt(x) }
		l := new(big.Int).Mul(n(b.X-a.X), n(c.Y-a.Y))
		return l.Sub(l, new(big.Int).Mul(n(b.Y-a.Y), n(c.X-a.X))).Sign()
	}
	left := func(c events.XY) bool { return turn(a, b, c) > 0 }
	return left(p) != left(q) && turn(p, q, a)*turn(p, q, b) < 0
}

func (o *dumb) between(a, b end, band int) radio.Between {
	pa, pb := a.place.Value, b.place.Value
	dx, dy, dz := float64(pa.X-pb.X), float64(pa.Y-pb.Y), float64(pa.Z-pb.Z)
	out := radio.Between{Metres: math.Sqrt(dx*dx+dy*dy+dz*dz) / 1000, Floors: o.floors(a, b)}
	floor := o.onFloor(a)
	if floor == "" || floor != o.onFloor(b) {
		return out
	}
	for _, w := range o.s.Walls {
		loss, err := radio.Slab(w.Material, float64(w.Thickness), o.profiles[band].MHz)
		for i := 1; err == nil && w.Floor == floor && i < len(w.Line); i++ {
			if meets(events.XY{X: pa.X, Y: pa.Y}, events.XY{X: pb.X, Y: pb.Y}, w.Line[i-1], w.Line[i]) {
				out.Walls.Lo += loss.Lo
				out.Walls.Mid += loss.Mid
				out.Walls.Hi += loss.Hi
			}
		}
	}
	return out
}

// measurements are all that was measured from a to b, or heard over star radio.
func (o *dumb) measurements() []projection.Link {
	out := slices.Clone(o.s.Links)
	for i := range o.s.Devices {
		d := &o.s.Devices[i]
		if d.Heard != nil && d.Radio == events.Star {
			h := d.Heard.Event.Payload.(events.DeviceHeard)
			out = append(out, projection.Link{LinkMeasured: events.LinkMeasured{A: d.Device, B: events.Tag(h.Hub), RSSI: h.RSSI}, Measured: *d.Heard})
		}
	}
	return out
}

// last is the last of what says how strong a way is.
func (o *dumb) last(a, b events.Tag) *projection.Link {
	var out *projection.Link
	for _, l := range o.measurements() {
		if l.A == a && l.B == b && (l.RSSI.Known || l.PDR.Known) && (out == nil || l.Measured.After(out.Measured)) {
			out = &l
		}
	}
	return out
}

func (o *dumb) samples(band int) (out []radio.Sample) {
	all := []end{}
	for i := range o.s.Devices {
		all = append(all, o.deviceEnd(&o.s.Devices[i]))
	}
	for i := range o.s.Hubs {
		all = append(all, o.hubEnd(&o.s.Hubs[i]))
	}
	for i, a := range all {
		for _, b := range all[i+1:] {
			var rssi, pdr, nr, np float64
			for _, l := range []*projection.Link{o.last(a.tag, b.tag), o.last(b.tag, a.tag)} {
				if l != nil && l.RSSI.Known {
					rssi, nr = rssi+float64(l.RSSI.Value), nr+1
				}
				if l != nil && l.PDR.Known {
					pdr, np = pdr+float64(l.PDR.Value)/1e6, np+1
				}
			}
			star := a.star || b.star
			if !a.place.Known || !b.place.Known || a.hub && b.hub || star != (band == 1) || nr+np == 0 {
				continue
			}
			out = append(out, radio.Sample{Name: fmt.Sprint(a.tag, "–", b.tag), Between: o.between(a, b, band), RSSI: rssi / nr, PDR: pdr / np})
		}
	}
	return out
}

// tie is a link as the dumb one finds it.
type tie struct{ mean, hi, etx int64 }

func cdb(db float64) int64 { return int64(math.Round(db * 100)) }

// ties finds the link between two ends, sure or possible.
func (o *dumb) tie(a, b end) (t tie, sure, possible, measured bool) {
	band := 0
	if a.star || b.star {
		band = 1
	}
	fade := o.s.Settings.Int(events.FadeMargin)
	var predicted *radio.Estimate
	var kindest float64
	if a.place.Known && b.place.Known {
		between := o.between(a, b, band)
		e := o.preds[band].Margin(between)
		_, kindest = e.Range()
		if between.Walls.Hi > 0 {
			between.Walls = radio.Span{}
			_, hi := o.preds[band].Margin(between).Range()
			kindest = min(kindest, hi)
		}
		predicted = &e
	}
	forth, back := o.last(a.tag, b.tag), o.last(b.tag, a.tag)
	if forth == nil && back == nil {
		if predicted == nil {
			return
		}
		lo, hi := predicted.Chance()
		p := (math.Round(lo*1e6) + math.Round(hi*1e6)) / 2e6
		t = tie{cdb(predicted.Mean), cdb(kindest), etx(math.Floor(p*1e6), 1e6)}
		return t, t.mean >= fade, t.hi >= 0, false
	}
	return o.measuredTie(band, forth, back, predicted, fade)
}

func etx(df, dr float64) int64 {
	df, dr = max(df, 1000), max(dr, 1000)
	return int64(math.Round(1e18 / (df * dr)))
}

func (o *dumb) measuredTie(band int, forth, back *projection.Link, predicted *radio.Estimate, fade int64) (t tie, sure, possible, measured bool) {
	var shares []float64
	var worst radio.Estimate
	var oldest float64
	for _, l := range []*projection.Link{forth, back} {
		if l == nil {
			continue
		}
		days := float64(o.s.Moment.When.Value-l.Measured.At) / 86_400_000
		doubt := 3 * (1 + days/90)
		e, told := radio.Estimate{}, true
		switch {
		case l.RSSI.Known:
			e = o.preds[band].MarginOf(float64(l.RSSI.Value), doubt)
		case predicted != nil:
			e = *predicted
		default:
			told = false
		}
		if l.PDR.Known {
			share := float64(l.PDR.Value) / 1e6
			shares = append(shares, float64(l.PDR.Value))
			oldest = max(oldest, days)
			lost := min(max(1-share, 1e-4), 1-1e-4)
			need := o.profiles[band].ThresholdDBm()
			by := o.preds[band].MarginOf(need+radio.SINRFor(lost, 20)-radio.SINRFor(0.01, 20), doubt)
			switch {
			case !told:
				e = by
			case l.PDR.Value >= 990_000:
				e.Mean = max(e.Mean, by.Mean)
			case !l.RSSI.Known || by.Mean < e.Mean:
				e = by
			}
		}
		if t.etx == 0 || cdb(e.Mean) < t.mean {
			_, hi := e.Range()
			t.mean, t.hi, t.etx, worst = cdb(e.Mean), cdb(hi), 1, e
		}
	}
	lo, hi := worst.Chance()
	t.etx = etx(math.Floor((math.Round(lo*1e6)+math.Round(hi*1e6))/2), 1e6)
	sure = t.mean >= fade
	if len(shares) > 0 {
		t.etx = etx(shares[0], shares[len(shares)-1])
		sure = sure || slices.Min(shares) >= 990_000 && oldest <= 90
	}
	return t, sure, t.hi >= 0, true
}
