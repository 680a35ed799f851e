package spectrum_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/radio"
	"pairwalk/projection/spectrum"
)

// drawn is a site by chance, with what a dumb oracle needs of it.
type drawn struct {
	*job
	allowed []int
	hubs    []drawnHub
	surveys []drawnSurvey
}

type drawnHub struct {
	id      events.HubID
	now     int
	paired  int
	members []events.Point
}

type drawnSurvey struct {
	x     int64
	heard []events.AccessPoint
}

// drawSite makes up to 6 hubs and 5 channels on one floor, with devices, Wi-Fi,
// present channels and pairings.
func drawSite(t *testing.T, seed uint64) *drawn {
	dice := rand.New(rand.NewPCG(seed, 3))
	d := &drawn{job: newJob(t)}
	for len(d.allowed) < 1+dice.IntN(5) {
		if c := 11 + dice.IntN(16); !slices.Contains(d.allowed, c) {
			d.allowed = append(d.allowed, c)
		}
	}
	slices.Sort(d.allowed)
	text := ""
	for _, c := range d.allowed {
		text += fmt.Sprintf(",%d", c)
	}
	d.set(events.AllowedChannels, text[1:])
	spread := []float64{20, 100, 300}[dice.IntN(3)]
	for i := range 1 + dice.IntN(6) {
		h := drawnHub{id: events.HubID(fmt.Sprintf("H%d", i+1))}
		x, y := spread*dice.Float64(), spread*dice.Float64()
		d.hub(h.id, m(x, y, 1), "1")
		h.members = append(h.members, m(x, y, 1).Value)
		var tags []events.Tag
		for range dice.IntN(5) {
			u, v := x+20*dice.Float64(), y+20*dice.Float64()
			tags = append(tags, d.list(h.id, 1, m(u, v, 3), "1")...)
			h.members = append(h.members, m(u, v, 3).Value)
		}
		if dice.IntN(2) == 0 {
			h.now = 11 + dice.IntN(16)
			d.channel(h.id, h.now)
		}
		if dice.IntN(3) == 0 {
			d.pair(h.id, tags...)
			h.paired = len(tags)
		}
		d.hubs = append(d.hubs, h)
	}
	for range dice.IntN(3) {
		s := drawnSurvey{x: int64(dice.IntN(300_000))}
		for range dice.IntN(4) {
			s.heard = append(s.heard, events.AccessPoint{Channel: 1 + dice.IntN(13), Width: []int{20, 22, 40}[dice.IntN(3)], RSSI: -100 + dice.IntN(50)})
		}
		if !slices.ContainsFunc(d.surveys, func(o drawnSurvey) bool { return o.x == s.x }) {
			d.survey("08:30", "1", float64(s.x)/1000, s.heard...)
			d.surveys = append(d.surveys, s)
		}
	}
	return d
}

// chance is that of a level above the noise, by the default radio.
func chance(e radio.Estimate) float64 {
	p := radio.Mesh()
	e.Mean -= p.NoiseDBm() + p.NoiseFigure
	lo, hi := e.Chance()
	return (lo + hi) / 2
}

// pairOf listens from everybody to everybody.
func (d *drawn) pairOf(a, b drawnHub) (devices float64) {
	model, _ := radio.ModelByID("p1238-10-office")
	pred := radio.NewPredictor(model, radio.Mesh(), radio.Fit{})
	for _, two := range [][2]drawnHub{{a, b}, {b, a}} {
		for _, ear := range two[0].members {
			best := 0.0
			for _, from := range two[1].members {
				gap := math.Sqrt(math.Pow(float64(ear.X-from.X), 2)+math.Pow(float64(ear.Y-from.Y), 2)+math.Pow(float64(ear.Z-from.Z), 2)) / 1000
				best = max(best, chance(pred.Received(radio.Between{Metres: gap})))
			}
			devices += best
		}
	}
	return devices
}

// wifiOf asks of every device where it was surveyed nearest.
func (d *drawn) wifiOf(h drawnHub, channel int) (devices float64) {
	if len(d.surveys) == 0 {
		return 0
	}
	for _, at := range h.members {
		near := slices.MinFunc(d.surveys, func(a, b drawnSurvey) int {
			return int(max(a.x-at.X, at.X-a.x) - max(b.x-at.X, at.X-b.x))
		})
		quiet := 1.0
		for _, p := range near.heard {
			hit := false
			for off := -2; off <= 2; off += 4 {
				centre := p.Channel
				if p.Width == 40 {
					centre += off
				}
				mhz := 2407 + 5*float64(centre) // 802.11-2020 Table E-4
				ours := 2405 + 5*float64(channel-11)
				hit = hit || (p.Width < 40 || centre >= 3 && centre <= 11) && math.Abs(mhz-ours) < float64(p.Width)/2+1
			}
			if hit {
				quiet *= 1 - chance(radio.Estimate{Mean: float64(p.RSSI) - 10*math.Log10(float64(p.Width)/2), Spread: 10})
			}
		}
		devices += 1 - quiet
	}
	return devices
}

// least tries every assignment that the rules let pass.
func (d *drawn) least(move bool) (best float64, present float64) {
	may := make([][]int, len(d.hubs))
	now := make([]int, len(d.hubs))
	for i, h := range d.hubs {
		if now[i] = h.now; h.now == 0 {
			now[i] = 25
		}
		if may[i] = d.allowed; h.paired > 0 && !move {
			may[i] = now[i : i+1]
		}
	}
	pair := map[[2]int]float64{}
	wifi := map[[2]int]float64{}
	for i, h := range d.hubs {
		for j := range i {
			pair[[2]int{i, j}] = d.pairOf(h, d.hubs[j])
		}
		for c := 11; c <= 26; c++ {
			wifi[[2]int{i, c}] = d.wifiOf(h, c)
		}
	}
	cost := func(at []int) (sum float64) {
		for i, c := range at {
			sum += wifi[[2]int{i, c}]
			for j := range i {
				if at[j] == c {
					sum += pair[[2]int{i, j}]
				}
			}
		}
		return sum
	}
	best = math.Inf(1)
	at := make([]int, len(d.hubs))
	var each func(i int)
	each = func(i int) {
		if i == len(at) {
			best = min(best, cost(at))
			return
		}
		for _, c := range may[i] {
			at[i] = c
			each(i + 1)
		}
	}
	each(0)
	return best, cost(now)
}

// A dumb oracle shares no code with the planner but the radio's formulas; it works
// in floating point, so that a plan may differ by what is rounded on the way.
func TestPlansCostWhatBruteForceFinds(t *testing.T) {
	for seed := range uint64(300) {
		d := drawSite(t, seed)
		rounding := float64(2 + len(d.hubs)*len(d.hubs))
		s := d.Now()
		for _, o := range []spectrum.Options{plain, move} {
			p := planOf(t, s, o)
			best, present := d.least(o.Move)
			require.InDelta(t, 1000*best, float64(p.Cost), rounding, "seed %d", seed)
			require.InDelta(t, 1000*present, float64(p.NowCost), rounding, "seed %d", seed)
			require.LessOrEqual(t, float64(p.LowerBound), 1000*best+rounding, "seed %d", seed)
			require.True(t, p.Exact, "seed %d", seed)
			for i, a := range p.Hubs {
				h := d.hubs[i]
				require.Equal(t, h.id, a.Hub)
				require.Equal(t, h.now, a.Now)
				require.Equal(t, h.paired > 0 && !o.Move, a.Kept, "seed %d", seed)
				if a.Kept {
					require.True(t, a.Plan == h.now || h.now == 0 && a.Plan == 25, "seed %d: %s stays", seed, h.id)
				} else {
					require.Contains(t, d.allowed, a.Plan, "seed %d", seed)
				}
				require.Len(t, a.Wifi, len(d.allowed))
				for _, w := range a.Wifi {
					require.InDelta(t, 1000*d.wifiOf(h, w.Channel), float64(w.Disturbed), 2, "seed %d", seed)
				}
			}
		}
		require.Equal(t, planOf(t, s, plain), planOf(t, d.Now(), plain), "seed %d: told again it is the same", seed)
	}
}

// With Apart no two share that hear each other, as the oracle has it; or there is
// no such assignment.
func TestApartKeepsApart(t *testing.T) {
	refused := 0
	for seed := range uint64(300) {
		d := drawSite(t, seed)
		p, err := spectrum.For(d.Now(), apart)
		hear := func(i, j int) bool {
			for _, two := range [][2]drawnHub{{d.hubs[i], d.hubs[j]}, {d.hubs[j], d.hubs[i]}} {
				for _, ear := range two[0].members {
					if d.pairOf(drawnHub{members: []events.Point{ear}}, two[1]) == 0 {
						continue
					}
					one := two[1]
					best := 0.0
					for _, from := range one.members {
						best = max(best, d.pairOf(drawnHub{members: []events.Point{ear}}, drawnHub{members: []events.Point{from}})/2)
					}
					if best >= 0.5 {
						return true
					}
				}
			}
			return false
		}
		if err == nil {
			for i := range p.Hubs {
				for j := range i {
					require.False(t, p.Hubs[i].Plan == p.Hubs[j].Plan && hear(i, j), "seed %d: %d and %d", seed, i, j)
				}
			}
			continue
		}
		refused++
		require.False(t, d.separable(hear), "seed %d: %v", seed, err)
	}
	require.Greater(t, refused, 30, "else nothing is tried")
}

func (d *drawn) separable(hear func(i, j int) bool) bool {
	at := make([]int, len(d.hubs))
	var each func(i int) bool
	each = func(i int) bool {
		if i == len(at) {
			return true
		}
		may := d.allowed
		if h := d.hubs[i]; h.paired > 0 {
			may = []int{h.now}
			if h.now == 0 {
				may = []int{25}
			}
		}
		for _, c := range may {
			at[i] = c
			fits := true
			for j := range i {
				fits = fits && (at[j] != c || !hear(i, j))
			}
			if fits && each(i+1) {
				return true
			}
		}
		return false
	}
	return each(0)
}
