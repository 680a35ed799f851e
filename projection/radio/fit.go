package radio

import (
	"fmt"
	"math"
)

// settle solves, and solves again with what came out impossible held at the least
// that is possible, and as doubtful as before. Each time round there is less to fit.
func (c *calibration) settle() (refused []string) {
	c.at = c.prior
	for {
		c.solve()
		held := false
		for i := range parts {
			if c.free[i] && c.at[i] < lowest[i] {
				refused = append(refused, fmt.Sprintf("%s came out as %.2f, which can't be: held at %g; look for links that are mixed up", partNames[i], c.at[i], lowest[i]))
				c.at[i], c.free[i], held = lowest[i], false, true
			}
		}
		if !held {
			return refused
		}
	}
}

// solve finds the likeliest coefficients and their spread together. Which links
// are decided by walls, and how much each link counts, depends on the outcome: so
// it goes round. A link may then swing between the two for ever, its loss being
// less than either says; after some rounds it stays with what it last was.
func (c *calibration) solve() {
	c.sigma = c.published
	for round := range rounds {
		was, sigma := c.at, c.sigma
		if round < rounds/4 {
			c.decide()
		}
		c.normal()
		c.scatter()
		step := math.Abs(c.sigma - sigma)
		for i := range c.at {
			step = max(step, math.Abs(c.at[i]-was[i]))
		}
		if step < 1e-10 {
			return
		}
	}
}

// decide settles for every link whether its walls decide.
func (c *calibration) decide() {
	c.walled = c.walled[:0]
	for i := range c.readings {
		b := &c.readings[i].between
		c.walled = append(c.walled, c.terms.walled(b, decades(b.Metres), &c.at))
	}
}

// of takes the loss of a link apart, as decided.
func (c *calibration) of(link int) (v vector, rest float64) {
	b := &c.readings[link].between
	return c.terms.apart(b, decades(b.Metres), c.walled[link])
}

// normal solves the normal equations of ridge regression: least squares of the
// links, over sigma, together with those of the coefficients from the published
// ones, over their prior spreads. The inverse is their covariance.
func (c *calibration) normal() {
	var a matrix
	var b vector
	for i := range parts {
		weight := 1 / (priorSpread[i] * priorSpread[i])
		a[i][i], b[i] = weight, weight*c.prior[i]
	}
	each := 1 / (c.sigma * c.sigma)
	for link, r := range c.readings {
		v, rest := c.of(link)
		y := r.loss - rest
		for i := range parts {
			if !c.free[i] {
				y -= v[i] * c.at[i]
				v[i] = 0
			}
		}
		for i := range parts {
			b[i] += each * v[i] * y
			for j := range parts {
				a[i][j] += each * v[i] * v[j]
			}
		}
	}
	c.cov = a.inverse()
	for i, x := range c.cov.times(&b) {
		if c.free[i] {
			c.at[i] = x
		}
	}
}

// scatter is the spread of links around the coefficients, drawn towards the
// published shadowing as if that were sigmaFrom more links: five links that happen
// to lie on a line do not claim to know every other one.
func (c *calibration) scatter() {
	sum, used := 0.0, 0.0
	each := 1 / (c.sigma * c.sigma)
	for link, r := range c.readings {
		v, rest := c.of(link)
		off := r.loss - rest - v.dot(&c.at)
		sum += off * off
		for i := range parts {
			if !c.free[i] {
				v[i] = 0
			}
		}
		used += each * c.cov.along(&v) // what this link takes of the freedom
	}
	freedom := sigmaFrom + float64(len(c.readings)) - used
	c.sigma = math.Sqrt((sigmaFrom*c.published*c.published + sum) / freedom)
}
