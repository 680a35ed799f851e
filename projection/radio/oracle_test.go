package radio_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"pairwalk/projection/radio"
)

// The fit against another way to it: the published coefficients stand as four more
// measurements, and gonum solves the whole by QR. On a floor with no walls nothing
// bends, so both must agree; and the spread must be the one that the fit rests on.
func TestCalibrationAgainstQR(t *testing.T) {
	prior, spread := []float64{0, 30, 1}, []float64{5, 4, 0.3}
	for seed := range uint64(50) {
		s := drawn(seed)
		s.walls = false
		samples := s.samples(5+int(seed), seed)
		f := calibrate(t, samples)
		free := []bool{true, true, param(f, "floors").Fitted}
		n := len(samples)
		x, y := mat.NewDense(n+3, 3, nil), mat.NewVecDense(n+3, nil)
		for i, l := range samples {
			row := []float64{1, math.Log10(l.Between.Metres / 10), floorDB(l.Between.Floors)}
			want := -6 - l.RSSI - office10
			for j := range row {
				if !free[j] {
					want -= row[j] * prior[j]
					row[j] = 0
				}
				x.Set(i, j, row[j]/f.Sigma)
			}
			y.SetVec(i, want/f.Sigma)
		}
		for j := range prior {
			x.Set(n+j, j, 1/spread[j])
			y.SetVec(n+j, prior[j]/spread[j])
		}
		var at mat.VecDense
		require.NoError(t, at.SolveVec(x, y))
		var cov, xx mat.Dense
		xx.Mul(x.T(), x)
		require.NoError(t, cov.Inverse(&xx))
		for j := range prior {
			require.InDelta(t, at.AtVec(j), f.Params[j].Value, 1e-6, "seed %d: %s", seed, f.Params[j].Name)
			require.InDelta(t, math.Sqrt(cov.At(j, j)), f.Params[j].Spread, 1e-6, "seed %d: %s", seed, f.Params[j].Name)
		}
		used, sum := 0.0, 0.0
		for i, r := range f.Residuals {
			v := x.RowView(i)
			used += mat.Inner(v, &cov, v)
			sum += sq(r.DB)
		}
		require.InDelta(t, math.Sqrt((5*100+sum)/(5+float64(n)-used)), f.Sigma, 1e-6, "seed %d", seed)
		for _, b := range []radio.Between{{Metres: 2}, {Metres: 70}, {Metres: 15, Floors: 2}} {
			v := mat.NewVecDense(3, []float64{1, math.Log10(b.Metres / 10), floorDB(b.Floors)})
			p := radio.NewPredictor(model("p1238-10-office"), radio.Mesh(), f)
			require.InDelta(t, math.Sqrt(mat.Inner(v, &cov, v)), p.Loss(b).Doubt, 1e-6)
		}
	}
}

// floorDB is the loss of floors in an office at 2.4 GHz.
func floorDB(n int) float64 {
	if n == 0 {
		return 0
	}
	return 14 + 4*float64(n-1)
}
