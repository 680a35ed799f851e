package radio_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/projection/radio"
)

func calibrate(t testing.TB, samples []radio.Sample) radio.Fit {
	t.Helper()
	f, err := radio.Calibrate(model("p1238-10-office"), radio.Mesh(), samples)
	require.NoError(t, err)
	return f
}

func param(f radio.Fit, name string) radio.Param {
	for _, p := range f.Params {
		if p.Name == name {
			return p
		}
	}
	return radio.Param{}
}

// Many links and little noise: the site's own coefficients come out.
func TestCalibrationFindsTheSite(t *testing.T) {
	s := truth{offset: -6, n: 23, floor: 10, walls: true, factor: 0.7, noise: 0.5}
	f := calibrate(t, s.samples(400, 3))
	require.Empty(t, f.Refused)
	require.Equal(t, 400, f.Samples)
	require.Zero(t, f.ByPDR)
	require.Equal(t, []string{"offset", "distance", "floors", "walls"}, []string{f.Params[0].Name, f.Params[1].Name, f.Params[2].Name, f.Params[3].Name})
	for name, want := range map[string]float64{"offset": s.offset, "distance": s.n, "floors": s.floor / 14, "walls": s.factor} {
		p := param(f, name)
		require.True(t, p.Fitted)
		require.InDelta(t, want, p.Value, 3*p.Spread, name)
		require.Less(t, p.Spread, p.PriorSpread/5, name)
	}
	require.InDelta(t, 30, param(f, "distance").Prior, 0)
	require.Less(t, f.Sigma, 1.5)
	for _, b := range []radio.Between{{Metres: 3}, {Metres: 30}, {Metres: 12, Floors: 2}, {Metres: 8, Walls: wall(t, "concrete", 250)}} {
		e := radio.NewPredictor(model("p1238-10-office"), radio.Mesh(), f).Loss(b)
		require.InDelta(t, s.loss(b), e.Mean, 1.0)
		require.Equal(t, f.Sigma, e.Spread)
	}
}

// On sites drawn as the package says sites are, the truth lies within one stated
// spread about as often as a normal distribution says (0.683), and within two
// (0.954); so does the loss of links that were not measured within the doubt.
func TestCalibrationStatesItsSpread(t *testing.T) {
	const sites = 600
	for _, links := range []int{8, 20, 60} {
		within1, within2 := map[string]int{}, map[string]int{}
		for seed := range uint64(sites) {
			s := drawn(seed)
			f := calibrate(t, s.samples(links, seed))
			p := radio.NewPredictor(model("p1238-10-office"), radio.Mesh(), f)
			count := func(name string, off, spread float64) {
				if math.Abs(off) <= spread {
					within1[name]++
				}
				if math.Abs(off) <= 2*spread {
					within2[name]++
				}
			}
			for name, want := range map[string]float64{"offset": s.offset, "distance": s.n, "floors": s.floor / 14, "walls": s.factor} {
				q := param(f, name)
				count(name, q.Value-want, q.Spread)
			}
			for name, b := range map[string]radio.Between{"near": {Metres: 2.5}, "far": {Metres: 55}, "upstairs": {Metres: 9, Floors: 1}} {
				e := p.Loss(b)
				count(name, e.Mean-s.loss(b), e.Doubt)
			}
		}
		for _, name := range []string{"offset", "distance", "floors", "walls", "near", "far", "upstairs"} {
			one, two := float64(within1[name])/sites, float64(within2[name])/sites
			t.Logf("%d links, %-8s %.3f within one, %.3f within two", links, name, one, two)
			require.InDelta(t, 0.683, one, 0.075, "%d links: %s within one", links, name)
			require.InDelta(t, 0.954, two, 0.04, "%d links: %s within two", links, name)
		}
	}
}

// A link that is left out of the fit is predicted better by it than by the
// recommendation, where the site is not like that.
func TestCalibrationPredictsWhatWasLeftOut(t *testing.T) {
	kinds := []struct {
		name string
		site truth
	}{
		{"an open office", truth{offset: -7, n: 22, noise: 4}},
		{"a cellar", truth{offset: 6, n: 38, floor: 18, noise: 5}},
		{"wet walls", truth{offset: 1, n: 28, floor: 12, walls: true, factor: 1.8, noise: 4}},
	}
	for _, k := range kinds {
		t.Run(k.name, func(t *testing.T) {
			const sites = 60
			better := 0
			var fitted, published float64
			for seed := range uint64(sites) {
				ours, theirs := leaveOneOut(t, k.site.samples(16, seed))
				fitted, published = fitted+ours, published+theirs
				if ours < theirs {
					better++
				}
			}
			t.Logf("off by %.2f dB calibrated, %.2f dB not; better on %d of %d sites", math.Sqrt(fitted/sites), math.Sqrt(published/sites), better, sites)
			require.Less(t, math.Sqrt(fitted), 0.85*math.Sqrt(published))
			require.GreaterOrEqual(t, better, sites*8/10)
		})
	}
}

// leaveOneOut is the mean square error of predicting each link from the others,
// and that of the recommendation.
func leaveOneOut(t *testing.T, samples []radio.Sample) (fitted, published float64) {
	t.Helper()
	plain := predictor("p1238-10-office")
	for i, s := range samples {
		rest := append(append([]radio.Sample{}, samples[:i]...), samples[i+1:]...)
		p := radio.NewPredictor(model("p1238-10-office"), radio.Mesh(), calibrate(t, rest))
		fitted += sq(p.Received(s.Between).Mean-s.RSSI) / float64(len(samples))
		published += sq(plain.Received(s.Between).Mean-s.RSSI) / float64(len(samples))
	}
	return fitted, published
}

// Whoever measures five links that agree to a hair has not learnt how the others
// spread.
func TestAHandfulDoesNotClaimToBeExact(t *testing.T) {
	exact := truth{n: 30}
	f := calibrate(t, exact.samples(5, 1))
	require.Greater(t, f.Sigma, 6.0, "of the published 10")
	require.Less(t, f.Sigma, 10.0)
	require.Greater(t, param(f, "distance").Spread, 2.5, "of 4")
	many := calibrate(t, exact.samples(200, 1))
	require.Less(t, many.Sigma, 2.0)

	loud := calibrate(t, truth{n: 30, noise: 20}.samples(200, 1))
	require.InDelta(t, 20, loud.Sigma, 3, "and whoever measures many may say that they spread more")
}

// The more is measured, the less the doubt; and nowhere is it more than before.
func TestCalibrationLessensDoubt(t *testing.T) {
	s := truth{offset: 3, n: 27, floor: 12, walls: true, noise: 8}
	plain := predictor("p1238-10-office")
	few := radio.NewPredictor(model("p1238-10-office"), radio.Mesh(), calibrate(t, s.samples(8, 5)))
	many := radio.NewPredictor(model("p1238-10-office"), radio.Mesh(), calibrate(t, s.samples(80, 5)))
	for _, b := range []radio.Between{{Metres: 1}, {Metres: 10}, {Metres: 80}, {Metres: 10, Floors: 2}, {Metres: 10, Walls: wall(t, "concrete", 250)}} {
		require.Less(t, few.Loss(b).Doubt, plain.Loss(b).Doubt)
		require.Less(t, many.Loss(b).Doubt, few.Loss(b).Doubt)
	}
	far, inside := many.Loss(radio.Between{Metres: 400}), many.Loss(radio.Between{Metres: 10})
	require.Greater(t, far.Doubt, inside.Doubt, "beyond what was measured it is larger")
}

func TestResiduals(t *testing.T) {
	samples := truth{n: 30}.samples(12, 1)
	samples[4].RSSI -= 30 // two devices mixed up
	f := calibrate(t, samples)
	require.Len(t, f.Residuals, 12)
	for i, r := range f.Residuals {
		require.Equal(t, samples[i].Name, r.Name)
		if i == 4 {
			require.Less(t, r.DB, -20.0, "weaker than the fit says")
		} else {
			require.Less(t, math.Abs(r.DB), 8.0)
		}
		p := radio.NewPredictor(model("p1238-10-office"), radio.Mesh(), f)
		require.InDelta(t, samples[i].RSSI-p.Received(samples[i].Between).Mean, r.DB, 1e-9)
	}
}

// The order in which links are given does not matter but for the last bits.
func TestCalibrationForgetsTheOrder(t *testing.T) {
	samples := truth{offset: 2, n: 26, floor: 12, walls: true, noise: 8}.samples(30, 9)
	f := calibrate(t, samples)
	for i, j := 0, len(samples)-1; i < j; i, j = i+1, j-1 {
		samples[i], samples[j] = samples[j], samples[i]
	}
	g := calibrate(t, samples)
	require.InDelta(t, f.Sigma, g.Sigma, 1e-7)
	for i := range f.Params {
		require.InDelta(t, f.Params[i].Value, g.Params[i].Value, 1e-7)
	}
}
