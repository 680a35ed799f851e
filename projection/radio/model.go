package radio

import (
	"fmt"
	"math"
	"slices"
)

// form is how a model's loss is worked out.
type form int

const (
	inFreeSpace form = iota
	byTable          // P.1238-10: L = 20 log f + N log d + Lf(n) − 28
	bySite           // P.1238-13, equation 1
)

// Model is one row of a pinned edition of a recommendation. The zero Model is free
// space.
type Model struct {
	ID      string
	form    form
	row     string
	column  column  // byTable
	storeys storeys // byTable
	site    site    // bySite
}

// Models lists every model there is.
func Models() []Model { return slices.Clone(models) }

// ModelByID finds a model, such as p1238-10-office.
func ModelByID(id string) (Model, bool) {
	for _, m := range models {
		if m.ID == id {
			return m, true
		}
	}
	return Model{}, false
}

// Loss is the model's basic transmission loss in dB, between isotropic antennas
// metres apart with so many floors between. Under [Nearest] counts as that.
func (m Model) Loss(mhz, metres float64, floors int) float64 {
	l := m.line(mhz)
	return l.atTen + l.n*decades(metres) + l.lf.at(floors)
}

// Sigma is the shadowing in dB: one standard deviation of links around the model.
func (m Model) Sigma() float64 {
	switch m.form {
	case byTable:
		return sigma10[m.column]
	case bySite:
		return m.site.sigma
	default:
		return sigma10[office]
	}
}

// Metres is the range of distances the model was measured over; most is +Inf where
// the recommendation gives no end.
func (m Model) Metres() (least, most float64) {
	switch m.form {
	case byTable:
		return 1, math.Inf(1)
	case bySite:
		return m.site.from, m.site.to
	default:
		return Nearest, math.Inf(1)
	}
}

// String names recommendation, edition and row.
func (m Model) String() string {
	switch m.form {
	case byTable:
		return "ITU-R P.1238-10, " + m.row
	case bySite:
		return "ITU-R P.1238-13, " + m.row
	default:
		return "ITU-R P.525, free space"
	}
}

// line is a model at one frequency: its loss at 10 m, what it grows by per decade
// of distance, and the floors.
type line struct {
	atTen, n float64
	lf       floorLoss
}

// decades is the logarithm of a distance over 10 m.
func decades(metres float64) float64 { return math.Log10(max(metres, Nearest)) - 1 }

func (m Model) line(mhz float64) line {
	switch m.form {
	case byTable:
		n := m.coefficient(mhz).n[m.column]
		return line{20*math.Log10(mhz) + n - 28, n, m.floors(mhz).lf[m.storeys]}
	case bySite:
		n := 10 * m.site.alpha
		return line{n + m.site.beta + 10*m.site.gamma*math.Log10(mhz/1000), n, m.floors(mhz).lf[offices]}
	default:
		return line{FreeSpace(mhz, 10), 20, m.floors(mhz).lf[offices]}
	}
}

// coefficient is the row that N is from.
func (m Model) coefficient(mhz float64) *bandRow {
	return nearestRow(mhz, func(r *bandRow) bool { return r.n[m.column] > 0 })
}

// floors is the row that the floor loss is from. Only tables of edition -10 have
// one: those of offices serve every other model.
func (m Model) floors(mhz float64) *bandRow {
	s := m.storeys
	if m.form != byTable {
		s = offices
	}
	return nearestRow(mhz, func(r *bandRow) bool { return len(r.lf[s].first) > 0 })
}

// nearestRow is the row nearest in frequency that has what is wanted; of two as
// near the lower one.
func nearestRow(mhz float64, has func(*bandRow) bool) *bandRow {
	var best *bandRow
	least := math.Inf(1)
	for i := range edition10 {
		r := &edition10[i]
		if away := r.away(mhz); has(r) && (best == nil || away < least) {
			best, least = r, away
		}
	}
	return best
}

// away is how many times a frequency is above or below a row, as a logarithm.
func (r *bandRow) away(mhz float64) float64 {
	return max(math.Log(r.from/mhz), math.Log(mhz/r.to), 0)
}

// Caveats says where the model stretches its recommendation at a frequency: which
// row stands in for one that is missing, and what was added.
func (m Model) Caveats(mhz float64) []string {
	band := nearestRow(mhz, func(*bandRow) bool { return true })
	floors := m.floors(mhz)
	var out []string
	say := func(format string, a ...any) { out = append(out, fmt.Sprintf(format, a...)) }
	switch m.form {
	case byTable:
		if r := m.coefficient(mhz); r != band {
			say("table 2 has no coefficient for %s at %s: that of %s stands in", m.row, band.name, r.name)
		}
		if floors != band {
			say("table 3 has no floor loss for %s at %s: that of %s stands in", m.row, band.name, floors.name)
		}
		if band.from != 1800 {
			say("shadowing, %g dB, is that of 1.8–2 GHz, the only row near", m.Sigma())
		}
		say("walls are in it on average; it is meant for distances over 1 m")
	case bySite:
		least, most := m.Metres()
		say("measured over %g to %g m; nearer and farther it is carried on", least, most)
		say("equation 1 is for antennas on one floor, and this edition adds no loss for others: where floors are crossed, that of P.1238-10, office, %s is added", floors.name)
		say("this edition has no residential row")
	default:
		say("free space has no walls and no furniture: indoors, where no walls are listed, it is too kind")
		say("P.525 has no floors and no shadowing: those of P.1238-10, office, stand in (floors of %s, shadowing %g dB of 1.8–2 GHz)", floors.name, m.Sigma())
	}
	if l := m.line(mhz).lf; l.extended {
		say("the floor loss is tabulated for %s; each further floor adds %g dB%s", upTo(len(l.first)), l.step, stepFrom(l))
	}
	return out
}

func upTo(floors int) string {
	if floors == 1 {
		return "one floor"
	}
	return fmt.Sprintf("up to %d floors", floors)
}

// stepFrom says where the step beyond the table is from.
func stepFrom(l floorLoss) string {
	if len(l.first) == 1 {
		return ", as at 1.8–2 GHz"
	}
	return ", like the last one"
}
