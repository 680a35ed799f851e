package spectrum

import (
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// Basis says what a plan's amounts of disturbance between hubs rest on.
type Basis string

// The bases of a plan.
const (
	Predicted Basis = "predicted" // places and a propagation model
	Assumed   Basis = "assumed"   // for some hubs there are no places: those that may be neighbours are taken to disturb each other alike
	None      Basis = "none"      // there are no two hubs
)

// Options say what a plan may do.
type Options struct {
	Move  bool // also change the channel of hubs with paired devices
	Apart bool // no two systems that hear each other may share a channel
}

// Plan is a mesh channel for every hub that speaks mesh. Amounts are in thousandths
// of a device.
type Plan struct {
	Hubs       []Assignment // in the site's order
	Cost       int64
	LowerBound int64 // no plan under the same rules costs less
	NowCost    int64 // of the present channels; a hub without one counts as on the usual one
	Exact      bool  // the cost is proved to be the least
	Basis      Basis
	Fewest     Spread // Span + 1 channels, were no two systems to share that hear each other
	Notes      []string
}

// Assignment is one hub's channel.
type Assignment struct {
	Hub     events.HubID
	Now     int // present channel, 0 if the log has none
	Plan    int
	Kept    bool // it was not free to move
	Why     string
	Moves   []string // what a change costs, empty where there is none
	Cost    int64    // its share: Wi-Fi on its channel, and half of every pair with another hub on it
	NowCost int64
	Wifi    []Wifi // for every channel that may be planned, rising
}

// Wifi is how much surveyed Wi-Fi disturbs a hub's system on a channel.
type Wifi struct {
	Channel   int
	Disturbed int64
}

// planner is what a plan is made from.
type planner struct {
	site     *projection.Site
	opts     Options
	rules    rules
	list     []*system
	between  between
	channels []int     // every number that comes up
	wifi     [][]int64 // by system and channel
	air      air
	notes    []string
}

// For plans the channels of a site: those on which its systems and the surveyed
// Wi-Fi disturb each other least. With Options.Apart the error is a [*Clash] where
// no plan keeps apart all that hear each other.
func For(s *projection.Site, o Options) (Plan, error) {
	p, starOnly := newPlanner(s, o)
	if len(p.list) == 0 {
		p.note("no hub on the schedule speaks mesh: there is nothing to plan")
		return Plan{Basis: None, Exact: true, Fewest: Spread{Exact: true}, Notes: p.notes}, nil
	}
	p.tell(starOnly)
	fewest := Fewest(p.between.apart())
	r, err := p.solve(fewest)
	if err != nil {
		return Plan{}, err
	}
	present := make([]int, len(p.list))
	for i, x := range p.list {
		present[i] = p.rules.present(x)
	}
	plan := Plan{
		Cost: p.cost(r.Channel), LowerBound: r.LowerBound, NowCost: p.cost(present), Exact: r.Exact,
		Basis: p.basis(), Fewest: fewest,
	}
	for i := range p.list {
		plan.Hubs = append(plan.Hubs, p.assign(i, r.Channel, present))
	}
	p.tellOutside(r.Channel)
	plan.Notes = p.notes
	return plan, nil
}

func newPlanner(s *projection.Site, o Options) (p *planner, starOnly []events.HubID) {
	p = &planner{site: s, opts: o}
	p.list, starOnly = systems(s)
	var notes []string
	p.rules, notes = newRules(s)
	p.note(notes...)
	e, notes := newEars(s)
	p.note(notes...)
	p.between = listen(e, p.list)
	p.channels = p.rules.channels(p.list)
	p.hearWifi(newAir(s, e))
	if p.basis() == Predicted || p.somePlaced() {
		p.note("between hubs: "+e.pred.Describe(), "walls between hubs are not counted one by one")
	}
	return p, starOnly
}

func (p *planner) note(notes ...string) {
	for _, n := range notes {
		if !slices.Contains(p.notes, n) {
			p.notes = append(p.notes, n)
		}
	}
}

func (p *planner) somePlaced() bool {
	n := 0
	for _, x := range p.list {
		if len(x.placed) > 0 {
			n++
		}
	}
	return n > 1
}

func (p *planner) basis() Basis {
	if len(p.list) < 2 {
		return None
	}
	for _, row := range p.between.assumed {
		if slices.Contains(row, true) {
			return Assumed
		}
	}
	return Predicted
}

// problem is the site as the solver wants it, with these channels open to whoever
// may move.
func (p *planner) problem(open []int) Problem {
	q := Problem{Hubs: len(p.list), Channels: p.channels, Alone: p.wifi, Pair: p.between.pair}
	for _, x := range p.list {
		may := make([]bool, len(p.channels))
		fixed, stays := p.rules.stays(x, p.opts)
		for k, c := range p.channels {
			may[k] = stays && c == fixed || !stays && slices.Contains(open, c)
		}
		q.Allowed = append(q.Allowed, may)
		q.Prefer = append(q.Prefer, p.rules.present(x))
	}
	return q
}

// share is what hub i answers for, on these channels: Wi-Fi, and half of what it
// and each other on its channel do to each other.
func (p *planner) share(i int, channel []int) int64 {
	k, _ := slices.BinarySearch(p.channels, channel[i])
	sum := p.wifi[i][k]
	for j, c := range channel {
		if j != i && c == channel[i] {
			w := p.between.pair[i][j]
			sum += w / 2
			if i < j {
				sum += w % 2 // so that the shares add up
			}
		}
	}
	return sum
}

func (p *planner) cost(channel []int) int64 {
	sum := int64(0)
	for i := range channel {
		sum += p.share(i, channel)
	}
	return sum
}

// alone is what it would cost all if hub i alone were on channel c.
func (p *planner) alone(i, c int, channel []int) int64 {
	k, _ := slices.BinarySearch(p.channels, c)
	sum := p.wifi[i][k]
	for j, other := range channel {
		if j != i && other == c {
			sum += p.between.pair[i][j]
		}
	}
	return sum
}
