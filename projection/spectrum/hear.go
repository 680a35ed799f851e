package spectrum

import (
	"fmt"
	"math"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
	"pairwalk/projection/radio"
)

// million is certainty: chances are whole millionths, so that sums of them are the
// same on every machine.
const million = 1_000_000

// ears judges what a mesh radio of the site hears above its own noise.
type ears struct {
	pred  *radio.Predictor
	noise float64 // dBm, of the receiver
	sigma float64 // dB, by how much places differ
}

// newEars takes model and radio from the settings, and the calibration if links
// were measured.
func newEars(s *projection.Site) (e ears, notes []string) {
	id := s.Settings.Value(events.RadioModel)
	model, ok := radio.ModelByID(id)
	if !ok { // a log of a later version may name one that is not known here
		set, _ := events.SettingFor(events.RadioModel)
		model, _ = radio.ModelByID(set.Default)
		notes = append(notes, fmt.Sprintf("radio_model %s is not known here; %s stands in", id, set.Default))
	}
	db := func(k events.SettingKey) float64 { return float64(s.Settings.Int(k)) / 100 }
	p := radio.Mesh()
	p.PowerDBm, p.GainDBi = db(events.MeshPower), db(events.AntennaGain)
	p.NoiseFigure, p.ImplementationLoss = db(events.NoiseFigure), db(events.ImplementationLoss)
	e.sigma = model.Sigma()
	var fit radio.Fit
	if len(s.Links) > 0 {
		if f, ok := mesh.Survey(s).Fit(); ok {
			fit, e.sigma = f, f.Sigma
		}
	}
	e.pred, e.noise = radio.NewPredictor(model, p, fit), p.NoiseDBm()+p.NoiseFigure
	return e, notes
}

// over is the chance in millionths that a level is above the noise.
func (e ears) over(level radio.Estimate) int64 {
	level.Mean -= e.noise
	lo, hi := level.Chance()
	return int64(math.Round((lo + hi) / 2 * million))
}

// mostEars is how many members of a system are listened for, evenly picked. More
// would tell little and take long on a large site.
const mostEars = 200

// heard says how many members of system a hear system b, in thousandths, and
// whether any of them is more likely to than not. A member hears a system if it
// hears the one that comes in strongest. Members of a have places, and so do those
// of b; those that have none count like the others of their system on average.
func (e ears) heard(a, b *system) (thousandths int64, likely bool) {
	n := min(len(a.placed), mostEars)
	sum := int64(0)
	for i := range n {
		m := a.placed[i*len(a.placed)/n]
		best := int64(0)
		for _, y := range b.storeys {
			between := radio.Between{Metres: nearest(m.at.Value, y.places), Floors: max(y.level-m.level, m.level-y.level)}
			best = max(best, e.over(e.pred.Received(between)))
		}
		sum += best
		likely = likely || best >= million/2
	}
	return sum * int64(len(a.members)) / int64(n) / (million / 1000), likely
}

// nearest is the distance to the nearest of some places, in metres. Coordinates are
// held to a thousand kilometres, so that squares of mm fit.
func nearest(from events.Point, places []events.Point) float64 {
	least := uint64(math.MaxUint64)
	for _, p := range places {
		dx, dy, dz := from.X-p.X, from.Y-p.Y, from.Z-p.Z
		least = min(least, uint64(dx*dx)+uint64(dy*dy)+uint64(dz*dz))
	}
	return math.Sqrt(float64(least)) / 1000
}

// assumedPair is what two systems are taken to do to each other where nothing is
// known but that they may be near: as if it were one device.
const assumedPair = 1000

// between is who disturbs whom, by geometry where both have places.
type between struct {
	pair    [][]int64 // thousandths of a device, both ways together
	likely  [][]bool  // they hear each other, more likely than not
	assumed [][]bool  // not by geometry
}

func listen(e ears, list []*system) between {
	n := len(list)
	b := between{table[int64](n), table[bool](n), table[bool](n)}
	sum, count := int64(0), int64(0)
	for i, x := range list {
		for j, y := range list[:i] {
			if len(x.placed) == 0 || len(y.placed) == 0 {
				b.assumed[i][j], b.assumed[j][i] = true, true
				continue
			}
			there, likely := e.heard(x, y)
			back, also := e.heard(y, x)
			b.set(i, j, there+back, likely || also)
			if there+back > 0 {
				sum, count = sum+there+back, count+1
			}
		}
	}
	// Where some have places, the rest weighs as much as those do on average, so
	// that neither drowns the other.
	each := int64(assumedPair)
	if count > 0 {
		each = max(sum/count, 1)
	}
	for i, x := range list {
		for j, y := range list[:i] {
			if b.assumed[i][j] && near(x, y) {
				b.set(i, j, each, true)
			}
		}
	}
	return b
}

func (b between) set(i, j int, amount int64, likely bool) {
	b.pair[i][j], b.pair[j][i] = amount, amount
	b.likely[i][j], b.likely[j][i] = likely, likely
}

// apart is the graph of systems that hear each other, for Fewest.
func (b between) apart() [][]int {
	g := table[int](len(b.likely))
	for i, row := range b.likely {
		for j, yes := range row {
			if yes {
				g[i][j] = 1
			}
		}
	}
	return g
}

func table[T any](n int) [][]T {
	t := make([][]T, n)
	for i := range t {
		t[i] = make([]T, n)
	}
	return t
}
