package radio_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/projection/radio"
)

func predictor(id string) *radio.Predictor {
	return radio.NewPredictor(model(id), radio.Mesh(), radio.Fit{})
}

func wall(t require.TestingT, material string, mm float64) radio.Span {
	s, err := radio.Slab(material, mm, 2440)
	require.NoError(t, err)
	return s
}

// By hand, from losses that are checked elsewhere: 10 m in an office at 2440 MHz
// are 69.748 dB, in free space 60.196; a floor is 14.
func TestPredictorLoss(t *testing.T) {
	concrete, board := wall(t, "concrete", 200), wall(t, "plasterboard", 12.5)
	cases := []struct {
		name, model string
		between     radio.Between
		mean, doubt float64
	}{
		{"nothing listed between", "p1238-10-office", radio.Between{Metres: 10}, 69.748, 5},
		{"a decade farther", "p1238-10-office", radio.Between{Metres: 100}, 99.748, math.Hypot(5, 4)},
		{"a decade nearer", "p1238-10-office", radio.Between{Metres: 1}, 39.748, math.Hypot(5, 4)},
		{"through a floor", "p1238-10-office", radio.Between{Metres: 10, Floors: 1}, 83.748, math.Hypot(5, 0.3*14)},
		{"a wall that the average holds", "p1238-10-office", radio.Between{Metres: 10, Walls: board}, 69.748, 5},
		{"a wall that it does not hold", "p1238-10-office", radio.Between{Metres: 10, Walls: concrete}, 60.196 + 14.764,
			// of the walls' range only what is over the office's 69.748 matters
			math.Sqrt(25 + sq(0.4*14.764) + sq(60.196+24.702-69.748)/12)},
		{"a wall and a floor", "p1238-10-office", radio.Between{Metres: 10, Floors: 1, Walls: concrete}, 60.196 + 14.764 + 14,
			math.Sqrt(25 + sq(0.3*14) + sq(0.4*14.764) + sq(60.196+24.702-69.748)/12)},
		{"below free space, where a corridor guides", "p1238-13-corridor-los", radio.Between{Metres: 10}, 53.838, 5},
		{"but not through a wall", "p1238-13-corridor-los", radio.Between{Metres: 10, Walls: board}, 60.196 + 1.088,
			math.Sqrt(25 + sq(0.4*1.088) + sq(1.5355-0.7500)/12)},
		{"free space and walls", "p525", radio.Between{Metres: 100, Walls: concrete}, 80.196 + 14.764,
			math.Sqrt(25 + 16 + sq(0.4*14.764) + sq(24.702-1.626)/12)},
		{"at no distance", "p1238-10-office", radio.Between{}, 9.748, math.Hypot(5, 8)},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			p := predictor(c.model)
			e := p.Loss(c.between)
			require.InDelta(t, c.mean, e.Mean, 2e-3)
			require.InDelta(t, c.doubt, e.Doubt, 2e-3)
			require.Equal(t, model(c.model).Sigma(), e.Spread)

			r := p.Received(c.between) // 0 dBm, −3 dBi twice
			require.InDelta(t, -6-e.Mean, r.Mean, 1e-9)
			require.Equal(t, e.Doubt, r.Doubt)
			m := p.Margin(c.between)
			require.InDelta(t, r.Mean-radio.Mesh().ThresholdDBm(), m.Mean, 1e-9)
			require.Equal(t, e.Doubt, m.Doubt)
			require.Equal(t, e.Spread, m.Spread)
		})
	}
}

// Of walls that were measured, the range matters less: how much less, the factor's
// spread says.
func TestWallsThatWereMeasured(t *testing.T) {
	concrete := wall(t, "concrete", 250)
	known := radio.Span{Lo: concrete.Mid, Mid: concrete.Mid, Hi: concrete.Mid}
	for _, id := range []string{"p1238-10-office", "p1238-13-office-los", "p525"} {
		for _, walls := range []bool{false, true} {
			fit, err := radio.Calibrate(model(id), radio.Mesh(), truth{n: 27, walls: walls, noise: 3}.samples(30, 6))
			require.NoError(t, err)
			p := radio.NewPredictor(model(id), radio.Mesh(), fit)
			factor := param(fit, "walls")
			require.Equal(t, walls, factor.Fitted)
			for _, d := range []float64{3, 40} {
				vague, sure := p.Loss(radio.Between{Metres: d, Walls: concrete}), p.Loss(radio.Between{Metres: d, Walls: known})
				require.Equal(t, sure.Mean, vague.Mean)
				swing := factor.Value * (concrete.Hi - concrete.Lo)
				if id != "p525" { // of the range what is under the line does not matter
					open := radio.FreeSpace(2440, d) + param(fit, "offset").Value
					line := p.Loss(radio.Between{Metres: d}).Mean
					swing = max(open+factor.Value*concrete.Hi, line) - max(open+factor.Value*concrete.Lo, line)
				}
				require.InDelta(t, swing/math.Sqrt(12)*factor.Spread/0.4, math.Sqrt(sq(vague.Doubt)-sq(sure.Doubt)), 1e-6)
			}
		}
	}

	// In free space every wall counts, however much the site's distance loses.
	fit, err := radio.Calibrate(model("p525"), radio.Mesh(), truth{n: 34, noise: 3}.samples(60, 6))
	require.NoError(t, err)
	require.Greater(t, param(fit, "distance").Value, 25.0)
	p, board := radio.NewPredictor(model("p525"), radio.Mesh(), fit), wall(t, "plasterboard", 12.5)
	require.InDelta(t, p.Loss(radio.Between{Metres: 90}).Mean+board.Mid, p.Loss(radio.Between{Metres: 90, Walls: board}).Mean, 1e-9)
}

func sq(x float64) float64 { return x * x }

func TestMarginOf(t *testing.T) {
	p := predictor("p1238-10-office")
	e := p.MarginOf(-84.586, 3)
	require.InDelta(t, 10, e.Mean, 1e-3)
	lo, hi := e.Range()
	require.InDelta(t, 7, lo, 1e-3, "the doubt is all there is to it")
	require.InDelta(t, 13, hi, 1e-3)
	least, _ := e.Chance()
	require.Greater(t, least, 0.99)

	e = p.MarginOf(-94.586, 3)
	least, most := e.Chance()
	require.InDelta(t, 0.158655, least, 1e-3, "Φ(−1): table of the normal distribution")
	require.InDelta(t, 0.841345, most, 1e-3)
}

func TestDescribe(t *testing.T) {
	require.Equal(t, "ITU-R P.1238-10, office, at 2440 MHz, not calibrated", predictor("p1238-10-office").Describe())

	fit, err := radio.Calibrate(model("p1238-10-office"), radio.Mesh(), truth{n: 24}.samples(12, 1))
	require.NoError(t, err)
	p := radio.NewPredictor(model("p1238-10-office"), radio.Mesh(), fit)
	require.Equal(t, "ITU-R P.1238-10, office, at 2440 MHz, calibrated on 12 measured links of 2.0 to 40.0 m", p.Describe())

	other := radio.NewPredictor(model("p525"), radio.Mesh(), fit)
	require.Equal(t, "ITU-R P.525, free space, at 2440 MHz, not calibrated; the fit for p1238-10-office at 2440 MHz is not for it", other.Describe())
	require.Equal(t, predictor("p525").Loss(radio.Between{Metres: 7}), other.Loss(radio.Between{Metres: 7}))
	star := radio.NewPredictor(model("p1238-10-office"), radio.Star("EU"), fit)
	require.Contains(t, star.Describe(), "not calibrated; the fit")
}

// Farther, through more floors or through more wall the margin is no larger,
// calibrated or not.
func TestPredictorLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom(radio.Models()).Draw(t, "model")
		var fit radio.Fit
		if rapid.Bool().Draw(t, "calibrated") {
			tr := truth{n: rapid.Float64Range(15, 45).Draw(t, "n"), offset: rapid.Float64Range(-15, 15).Draw(t, "offset"), noise: 6, floor: 14, walls: true}
			var err error
			fit, err = radio.Calibrate(m, radio.Mesh(), tr.samples(rapid.IntRange(5, 40).Draw(t, "links"), rapid.Uint64().Draw(t, "seed")))
			require.NoError(t, err)
		}
		p := radio.NewPredictor(m, radio.Mesh(), fit)
		a, b := rapid.Float64Range(0, 300).Draw(t, "a"), rapid.Float64Range(0, 300).Draw(t, "b")
		n := rapid.IntRange(0, 6).Draw(t, "floors")
		var w radio.Span
		if rapid.Bool().Draw(t, "walls") {
			w = wall(t, rapid.SampledFrom(radio.Materials()).Draw(t, "material"), rapid.Float64Range(1, 400).Draw(t, "mm"))
		}
		near := radio.Between{Metres: min(a, b), Floors: n, Walls: w}
		far := radio.Between{Metres: max(a, b), Floors: n, Walls: w}
		const last = 1e-9
		require.GreaterOrEqual(t, p.Margin(near).Mean+last, p.Margin(far).Mean, "farther")
		if w == (radio.Span{}) {
			nearLo, nearHi := p.Margin(near).Range()
			farLo, farHi := p.Margin(far).Range()
			require.GreaterOrEqual(t, nearLo+last, farLo, "and so is the least it may be")
			require.GreaterOrEqual(t, nearHi+last, farHi, "and the most")
		}
		up := far
		up.Floors++
		require.GreaterOrEqual(t, p.Margin(far).Mean+last, p.Margin(up).Mean, "one floor more")
		through := far
		through.Walls = w.Add(wall(t, "concrete", 150))
		require.GreaterOrEqual(t, p.Margin(far).Mean+last, p.Margin(through).Mean, "one wall more")
		require.GreaterOrEqual(t, p.Margin(far).Doubt, 0.0)
	})
}

func BenchmarkMargin(b *testing.B) {
	plain, listed := radio.Between{Metres: 17.3, Floors: 1}, radio.Between{Metres: 17.3, Walls: wall(b, "concrete", 200)}
	p := predictor("p1238-10-office")
	sum := 0.0
	b.Run("plain", func(b *testing.B) {
		for b.Loop() {
			sum += p.Margin(plain).Mean
		}
	})
	b.Run("walls", func(b *testing.B) {
		for b.Loop() {
			sum += p.Margin(listed).Mean
		}
	})
	require.NotZero(b, sum)
}
