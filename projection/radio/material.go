package radio

import (
	"fmt"
	"math"
)

// curve is a row of ITU-R P.2040, table 3: η′ = a·f^b and σ = c·f^d, f in GHz.
type curve struct{ a, b, c, d float64 }

// material is a row of edition -3 for the band of our radios, and what the range
// of its losses is made of.
type material struct {
	name       string
	now        curve
	from, to   float64 // GHz it is given for
	before     curve   // edition -1, where it differs; else zero
	takesWater bool
}

// materials are the rows of ITU-R P.2040-3, table 3, that walls are made of. All
// of edition -3 was seen in code that quotes the table, and so was edition -1.
// That a material takes up water is common knowledge, no source.
var materials = []material{
	{"brick", curve{3.91, 0, 0.0238, 0.16}, 1, 40, curve{3.75, 0, 0.038, 0}, true},
	{"ceiling-board", curve{1.48, 0, 0.0011, 1.0750}, 1, 100, curve{1.50, 0, 0.0005, 1.1634}, true},
	{"chipboard", curve{2.58, 0, 0.0217, 0.78}, 1, 100, curve{}, true},
	{"concrete", curve{5.24, 0, 0.0462, 0.7822}, 1, 100, curve{5.31, 0, 0.0326, 0.8095}, true},
	{"glass", curve{6.31, 0, 0.0036, 1.3394}, 0.1, 100, curve{6.27, 0, 0.0043, 1.1925}, false},
	{"marble", curve{7.074, 0, 0.0055, 0.9262}, 1, 60, curve{}, false},
	{"metal", curve{1, 0, 1e7, 0}, 1, 100, curve{}, false},
	{"plasterboard", curve{2.73, 0, 0.0085, 0.9395}, 1, 100, curve{2.94, 0, 0.0116, 0.7076}, true},
	{"plywood", curve{2.71, 0, 0.33, 0}, 1, 40, curve{}, true},
	{"wood", curve{1.99, 0, 0.0047, 1.0718}, 0.001, 100, curve{}, true},
}

// Materials lists what a wall may be of, by name.
func Materials() []string {
	out := make([]string, len(materials))
	for i, m := range materials {
		out[i] = m.name
	}
	return out
}

func materialByName(name string) (material, bool) {
	for _, m := range materials {
		if m.name == name {
			return m, true
		}
	}
	return material{}, false
}

// MaterialCaveat says what to know about a material's losses at a frequency. It is
// empty if there is nothing, or no such material.
func MaterialCaveat(name string, mhz float64) string {
	m, ok := materialByName(name)
	if !ok || mhz >= m.from*1000 && mhz <= m.to*1000 {
		return ""
	}
	return fmt.Sprintf("ITU-R P.2040-3 gives %s for %g to %g GHz; its curve is carried on to %g MHz", name, m.from, m.to, mhz)
}

// at is the complex relative permittivity, with the conductivity k times the
// table's.
func (c curve) at(mhz, k float64) complex128 {
	f := mhz / 1000
	return complex(c.a*math.Pow(f, c.b), -17.98*k*c.c*math.Pow(f, c.d)/f)
}
