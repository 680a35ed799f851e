package mesh

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh/graph"
	"pairwalk/projection/radio"
)

// The two radios, as indices.
const (
	meshBand = iota
	starBand
	bands
)

func bandOf(star bool) int {
	if star {
		return starBand
	}
	return meshBand
}

// band is one of the radios of a site, with what predicts it.
type band struct {
	model   radio.Model
	profile radio.Profile
	pred    *radio.Predictor
	fit     radio.Fit
	fitted  bool
	needs   float64   // the level at the threshold, dBm
	least   float64   // the ratio there, dB
	reach   []float64 // m beyond which no link is possible, by slabs between

	samples []radio.Sample // what it is tuned to
	notes   []string       // why it is not, or not wholly
}

// again is the band at another moment: the same where nothing it rests on changed.
func (b band) again(model radio.Model, profile radio.Profile, samples []radio.Sample) band {
	if b.pred != nil && b.model.ID == model.ID && b.profile == profile && slices.EqualFunc(b.samples, samples, sameSample) {
		return b
	}
	b = band{model: model, profile: profile, samples: samples}
	b.notes = b.tune(profile.Name, samples)
	b.extend()
	return b
}

// sameSample goes by the bits, since what was not measured is not a number.
func sameSample(a, b radio.Sample) bool {
	same := func(x, y float64) bool { return math.Float64bits(x) == math.Float64bits(y) }
	return a.Name == b.Name && a.Between == b.Between && same(a.RSSI, b.RSSI) && same(a.PDR, b.PDR)
}

// profiles are the two radios as the settings have them.
func profiles(s *projection.Site) [bands]radio.Profile {
	db := func(k events.SettingKey) float64 { return float64(s.Settings.Int(k)) / 100 }
	p := [bands]radio.Profile{radio.Mesh(), radio.Star(s.Settings.Value(events.Region))}
	p[meshBand].PowerDBm, p[starBand].PowerDBm = db(events.MeshPower), db(events.StarPower)
	for b := range p {
		p[b].GainDBi = db(events.AntennaGain)
		p[b].NoiseFigure, p[b].ImplementationLoss = db(events.NoiseFigure), db(events.ImplementationLoss)
	}
	return p
}

// modelOf is the propagation model that the settings name. A log of a later
// version may name one that is not known here.
func modelOf(s *projection.Site) (radio.Model, string) {
	id := s.Settings.Value(events.RadioModel)
	if m, ok := radio.ModelByID(id); ok {
		return m, ""
	}
	set, _ := events.SettingFor(events.RadioModel)
	m, _ := radio.ModelByID(set.Default)
	return m, fmt.Sprintf("radio_model %s is not known here; %s stands in", id, set.Default)
}

// tune fits a band to measured links, if they support that, and says why not.
func (b *band) tune(name string, samples []radio.Sample) (notes []string) {
	if len(samples) > 0 {
		fit, err := radio.Calibrate(b.model, b.profile, samples)
		if err != nil {
			_, why, cut := strings.Cut(err.Error(), ": ") // without which model could not be
			if !cut {
				why = err.Error()
			}
			notes = append(notes, fmt.Sprintf("%s is not calibrated: %s", name, why))
		} else {
			b.fit, b.fitted = fit, true
			for _, why := range fit.Refused {
				notes = append(notes, name+" calibration: "+why)
			}
		}
	}
	b.pred = radio.NewPredictor(b.model, b.profile, b.fit)
	b.needs, b.least = b.profile.ThresholdDBm(), radio.SINRFor(threshold, octets)
	return notes
}

// maxSlabs is how many floors apart a link is looked for at all.
const maxSlabs = 16

// maxReach is as far as a link is looked for, in m.
const maxReach = 50_000

// extend works out how far links can be possible.
func (b *band) extend() {
	b.reach = b.reach[:0]
	for n := 0; n <= maxSlabs; n++ {
		possible := func(m float64) bool {
			_, hi := b.pred.Margin(radio.Between{Metres: m, Floors: n}).Range()
			return hi >= 0
		}
		if !possible(0) {
			break
		}
		far := 1.0
		for far < maxReach && possible(far) {
			far *= 2
		}
		near := far / 2
		if far == 1 {
			near = 0
		}
		for far-near > 0.01 {
			if mid := (near + far) / 2; possible(mid) {
				near = mid
			} else {
				far = mid
			}
		}
		b.reach = append(b.reach, far)
	}
}

// describe names the models in use: one line for each radio that is.
func (g *Ground) describe() string {
	line := "mesh: " + g.bands[meshBand].pred.Describe()
	if g.hasStar() {
		line += "; star: " + g.bands[starBand].pred.Describe()
	}
	return line
}

// hasStar says whether any device joins over the star radio.
func (g *Ground) hasStar() bool {
	return slices.ContainsFunc(g.nodes, func(n node) bool { return n.star })
}

// strength is how well a link holds, in whole numbers.
type strength struct {
	mean, lo, hi int32 // margin, centi-dB
	from, to     int32 // chance, millionths
	etx          int64 // millionths
	sure         bool
	measured     bool
}

func (x *strength) possible() bool { return x.hi >= 0 }

const million = 1_000_000

// strengthOf rounds an estimate of a margin.
func strengthOf(e radio.Estimate, fade int64) strength {
	lo, hi := e.Range()
	from, to := e.Chance()
	x := strength{mean: centi(e.Mean), lo: centi(lo), hi: centi(hi), from: ppm(from), to: ppm(to)}
	x.etx = graph.ETX(int64(x.from+x.to)/2, million)
	x.sure = int64(x.mean) >= fade
	return x
}

// estimate is the margin between two places. Listed walls add doubt to it; that
// they might not be there at all is the kindest it can be, so its kind end is held
// to that.
func (g *Ground) estimate(a, b *node, of int) (e radio.Estimate, kind strength) {
	between := g.between(a, b, of)
	e = g.bands[of].pred.Margin(between)
	kind = strength{hi: noDB, to: million}
	if between.Walls != (radio.Span{}) {
		between.Walls = radio.Span{}
		kind = strengthOf(g.bands[of].pred.Margin(between), g.fade)
	}
	return e, kind
}

// predict is the strength of a link between two places.
func (g *Ground) predict(a, b *node, of int) strength {
	e, kind := g.estimate(a, b, of)
	return strengthOf(e, g.fade).heldTo(kind)
}

// heldTo keeps the kind end of a strength down to that of another.
func (x strength) heldTo(kind strength) strength {
	x.hi, x.to = min(x.hi, kind.hi), min(x.to, kind.to)
	x.from = min(x.from, x.to)
	return x
}

// centi is decibels in hundredths; what is not a number is no signal.
func centi(db float64) int32 {
	if math.IsNaN(db) {
		return -noDB
	}
	return int32(math.Round(min(max(db*100, -noDB), noDB)))
}

// noDB bounds margins, in centi-dB.
const noDB = 100_000

func ppm(chance float64) int32 {
	if math.IsNaN(chance) {
		return 0
	}
	return int32(math.Round(min(max(chance, 0), 1) * million))
}
