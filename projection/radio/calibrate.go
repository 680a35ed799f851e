package radio

import (
	"fmt"
	"math"
)

// Fit is what a site's own links say of the coefficients. Only [Calibrate] makes
// one; the zero Fit is none.
type Fit struct {
	Model       string  // its id
	MHz         float64 // of the radio it was made for
	Samples     int     // used
	ByPDR       int     // of those, known by their packet rate only, of packets of ProbeOctets
	Least, Most float64 // metres that the links used span
	Params      []Param
	Sigma       float64 // dB, spread of links around the fit
	Residuals   []Residual
	Refused     []string // what was not fitted or left out, and why

	at  vector
	cov matrix
}

// Param is a coefficient: as published and how far a site's may be from that, and
// as fitted and how far the fit may be off, one standard deviation each.
type Param struct {
	Name                              string // offset (dB, at 10 m), distance (dB per decade), floors, walls (times the tabulated loss)
	Prior, PriorSpread, Value, Spread float64
	Fitted                            bool
}

// Residual is how much stronger a link was measured than the fit says, in dB.
type Residual struct {
	Name string
	DB   float64
}

// What it takes. All are assumptions, on the cautious side.
const (
	fewest    = 5    // usable links for any fit
	apart     = 1.1  // the longest over the shortest, for any fit
	ratio     = 2    // the same, for the distance coefficient
	enough    = 3    // links with floors or walls, and as many without, for their factors
	leastN    = 10.0 // dB per decade: even down a corridor it grows by more
	sigmaFrom = 5.0  // links that the published shadowing counts as
	rounds    = 60
)

// lowest is what a fitted coefficient is held at, if it would be less.
var lowest = vector{math.Inf(-1), leastN, 0, 0}

// Calibrate fits a model's coefficients to a site's measured links: the package's
// doc says how. What the links can't tell stays as published, and Refused says why.
// It is an error if they can't tell anything.
func Calibrate(m Model, p Profile, samples []Sample) (Fit, error) {
	readings, told := sift(p, samples)
	if len(readings) < fewest {
		return Fit{}, fmt.Errorf("calibrate %s: of %d measured links %d can be used, and it takes %d: measure more", m.ID, len(samples), len(readings), fewest)
	}
	c := calibration{terms: termsOf(m, p.MHz), readings: readings, published: m.Sigma()}
	c.prior, _ = c.terms.prior()
	out := Fit{Model: m.ID, MHz: p.MHz, Samples: len(readings), Refused: told}
	out.Least, out.Most = c.metres()
	if out.Most < apart*out.Least {
		return Fit{}, fmt.Errorf("calibrate %s: all %d links are %.1f m long: measure shorter and longer ones", m.ID, len(readings), out.Least)
	}
	out.Refused = append(out.Refused, c.support(out.Least, out.Most)...)
	out.Refused = append(out.Refused, c.settle()...)
	out.at, out.cov, out.Sigma = c.at, c.cov, c.sigma
	for i, name := range partNames {
		out.Params = append(out.Params, Param{
			Name: name, Prior: c.prior[i], PriorSpread: priorSpread[i],
			Value: c.at[i], Spread: math.Sqrt(c.cov[i][i]), Fitted: c.free[i],
		})
	}
	for _, r := range readings {
		v, rest := c.terms.of(r.between, &c.at)
		out.Residuals = append(out.Residuals, Residual{r.name, rest + v.dot(&c.at) - r.loss})
		if r.byPDR {
			out.ByPDR++
		}
	}
	return out, nil
}

// calibration is a fit being made.
type calibration struct {
	terms     terms
	readings  []reading
	prior     vector
	published float64     // shadowing
	free      [parts]bool // what is fitted
	walled    []bool      // readings that are decided by walls
	at        vector
	cov       matrix
	sigma     float64
}

func (c *calibration) metres() (least, most float64) {
	least = math.Inf(1)
	for _, r := range c.readings {
		d := max(r.between.Metres, Nearest)
		least, most = min(least, d), max(most, d)
	}
	return least, most
}

// support finds out which coefficients the links can tell anything about.
func (c *calibration) support(least, most float64) (refused []string) {
	storey, wall := 0, 0
	for _, r := range c.readings {
		v, _ := c.terms.of(r.between, &c.prior)
		if v[floors] > 0 {
			storey++
		}
		if v[walls] > 0 {
			wall++
		}
	}
	c.free[offset] = true
	if c.free[distance] = most >= ratio*least; !c.free[distance] {
		refused = append(refused, fmt.Sprintf("the distance coefficient stays as published: the longest link, %.1f m, is not twice the shortest, %.1f m", most, least))
	}
	tells := func(some int) bool { return some >= enough && len(c.readings)-some >= enough }
	if c.free[floors] = tells(storey); !c.free[floors] {
		refused = append(refused, fmt.Sprintf("the loss of floors stays as published: %d of %d links cross one, and it takes %d that do and %d that do not", storey, len(c.readings), enough, enough))
	}
	if c.free[walls] = tells(wall); !c.free[walls] {
		refused = append(refused, fmt.Sprintf("the loss of walls stays as published: for %d of %d links listed walls decide, and it takes %d where they do and %d where they do not", wall, len(c.readings), enough, enough))
	}
	return refused
}
