package spectrum

import (
	"fmt"
	"strings"

	"pairwalk/events"
)

// Clash says that no plan keeps apart all systems that hear each other, and what
// may be given up for one.
type Clash struct {
	Allowed []int          // channels that may be planned
	Needed  int            // channels that would do if every hub might move
	Least   int            // channels that are needed at least
	Proved  bool           // that there is no such plan, rather than that none was found
	More    bool           // with all channels of the band there is a plan
	Stay    []events.HubID // hubs that may not move, if letting them helps
	Both    bool           // it takes both: more channels, and letting hubs move
	Pair    [2]events.HubID
	Shared  int   // the channel that Pair share and may not leave, 0 if it is not that
	Cost    int64 // of the best plan that lets some share, in thousandths of a device
}

// Error names the constraints of which one has to be given up.
func (e *Clash) Error() string {
	var b strings.Builder
	b.WriteString("no plan keeps every two hubs that hear each other on different channels")
	if !e.Proved {
		b.WriteString(" (none was found; it is not proved that there is none)")
	}
	if e.Shared != 0 {
		fmt.Fprintf(&b, ": %s and %s both stay on %d, with devices paired", e.Pair[0], e.Pair[1], e.Shared)
	}
	needed := fmt.Sprintf("%d allowed (%s), %d would do", len(e.Allowed), listed(e.Allowed), e.Needed)
	if e.Least == e.Needed {
		needed = fmt.Sprintf("%d allowed (%s), %d needed", len(e.Allowed), listed(e.Allowed), e.Needed)
	}
	var ways []string
	if e.More {
		ways = append(ways, "allow more channels (allowed_channels: "+needed+")")
	}
	if len(e.Stay) > 0 && !e.Both {
		ways = append(ways, fmt.Sprintf("let hubs with paired devices move (%s)", listed(e.Stay)))
	}
	if e.Both {
		ways = append(ways, fmt.Sprintf("both allow more channels (allowed_channels: %s) and let hubs with paired devices move (%s)", needed, listed(e.Stay)))
	}
	ways = append(ways, fmt.Sprintf("let some share a channel; then %s devices are disturbed at the least found", devices(e.Cost)))
	fmt.Fprintf(&b, ". Give up one: %s", strings.Join(ways, "; or "))
	return b.String()
}

// devices writes thousandths of a device as a number of devices.
func devices(thousandths int64) string {
	return fmt.Sprintf("%d.%d", (thousandths+50)/1000, (thousandths+50)%1000/100)
}

// solve finds the plan. The weak channel is opened only where nothing else is left.
func (p *planner) solve(fewest Spread) (Result, error) {
	open := p.rules.open()
	if !p.opts.Apart {
		r, err := Least(p.problem(open))
		p.tellWeak(len(open) < len(p.rules.allowed))
		return r, err
	}
	r, ok, proved, err := p.separate(open)
	if err == nil && !ok && len(open) < len(p.rules.allowed) {
		open = p.rules.allowed
		r, ok, proved, err = p.separate(open)
	}
	if err != nil || ok {
		p.tellWeak(len(open) < len(p.rules.allowed))
		return r, err
	}
	return r, p.clash(fewest, proved)
}

// separate solves with all that hear each other apart, and says whether that can
// be, and if not whether that is proved.
func (p *planner) separate(open []int) (r Result, ok, proved bool, err error) {
	q := p.problem(open)
	ban := int64(1) // more than everything else together
	for i, row := range q.Pair {
		worst := int64(0)
		for _, w := range q.Alone[i] {
			worst = max(worst, w)
		}
		ban += worst
		for _, w := range row[:i] {
			ban += w
		}
	}
	q.Pair = table[int64](q.Hubs)
	for i, row := range p.between.pair {
		copy(q.Pair[i], row)
		for j, likely := range p.between.likely[i] {
			if likely {
				q.Pair[i][j] += ban
			}
		}
	}
	r, err = Least(q)
	return r, r.Cost < ban, r.LowerBound >= ban, err
}

// clash finds out what would help.
func (p *planner) clash(fewest Spread, proved bool) error {
	e := &Clash{Allowed: p.rules.allowed, Needed: fewest.Span + 1, Least: fewest.LowerBound + 1, Proved: proved}
	var stay []events.HubID
	for i, x := range p.list {
		fixed, stays := p.rules.stays(x, p.opts)
		if !stays {
			continue
		}
		stay = append(stay, x.hub.Hub)
		for j, y := range p.list[:i] {
			other, too := p.rules.stays(y, p.opts)
			if too && other == fixed && p.between.likely[i][j] && e.Shared == 0 {
				e.Pair, e.Shared = [2]events.HubID{y.hub.Hub, x.hub.Hub}, fixed
			}
		}
	}
	works := func(all, move bool) bool {
		try := *p
		try.opts.Move = p.opts.Move || move
		open := p.rules.allowed
		if all {
			open = nil
			for c := 11; c <= 26; c++ {
				open = append(open, c)
			}
			try.openTo(open)
		}
		_, ok, _, err := try.separate(open)
		return err == nil && ok
	}
	e.More = works(true, false)
	switch {
	case len(stay) == 0:
	case works(false, true):
		e.Stay = stay
	case !e.More && works(true, true):
		e.Stay, e.Both = stay, true
	}
	if r, err := Least(p.problem(p.rules.allowed)); err == nil {
		e.Cost = r.Cost
	}
	return e
}
