package radio

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// Whatever was measured, the fit comes to rest: one more round moves nothing. Links
// here lose anything at all, so that many swing between their walls and the model.
func TestFitComesToRest(t *testing.T) {
	swung := 0
	for seed := range uint64(1000) {
		rnd := rand.New(rand.NewPCG(seed, 3))
		m := models[rnd.IntN(len(models))]
		c := calibration{terms: termsOf(m, 2440), published: m.Sigma()}
		for range 5 + rnd.IntN(20) {
			var w Span
			if rnd.IntN(2) == 0 {
				w.Mid = 30 * rnd.Float64()
			}
			b := Between{Metres: 1 + 40*rnd.Float64(), Floors: rnd.IntN(3), Walls: w}
			c.readings = append(c.readings, reading{between: b, loss: 50 + 60*rnd.Float64()})
		}
		c.prior, _ = c.terms.prior()
		c.at = c.prior
		c.support(c.metres())
		c.solve()
		at, sigma := c.at, c.sigma
		c.normal()
		c.scatter()
		require.InDelta(t, sigma, c.sigma, 1e-7, "seed %d", seed)
		for i := range at {
			require.InDelta(t, at[i], c.at[i], 1e-7, "seed %d", seed)
			require.False(t, math.IsNaN(at[i]))
		}
		was := append([]bool{}, c.walled...)
		c.decide()
		for i := range was {
			if was[i] != c.walled[i] {
				swung++
				break
			}
		}
	}
	require.Greater(t, swung, 20, "else nothing was tried")
}
