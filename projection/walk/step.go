package walk

import (
	"cmp"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// Act is something to do.
type Act string

// The acts.
const (
	Lift    Act = "lift-hold"
	Ask     Act = "ask"
	Resolve Act = "resolve"
	Ready   Act = "ready-hub"
	Pair    Act = "pair"
	Export  Act = "export"
	Merge   Act = "merge"
	Push    Act = "push"
	Check   Act = "check"
	Serial  Act = "read-serial"
	Mend    Act = "mend"
	Power   Act = "power"
	Wait    Act = "wait"
)

// Step is one thing to do, and why.
type Step struct {
	Act      Act
	Subject  events.Subject
	Hub      events.HubID // "" if of no hub
	How      events.How   // to pair (R4), "" if the kind of device is not known
	Why      string
	Cautions []string
}

// tier is whose turn it is; rank is the order of usefulness within it.
type (
	tier int
	rank int
)

const (
	mine   tier = iota // on my hubs
	others             // on somebody else's
	word               // needs somebody else's word first
	idle               // nothing but to wait
)

const (
	lift rank = iota
	ask
	resolve
	ready
	pair
	home
	push
	doubt // to check what may well not answer
	check
	read
	again
	mend
)

// plan gathers a member's steps.
type plan struct {
	site  *projection.Site
	me    events.Key
	hubs  []*projection.Hub // in the order they are to be done
	mine  map[events.HubID]bool
	rooms map[events.Subject]events.HubID // see hubOf

	scheduled, paired map[events.HubID][]*projection.Device
	air               air
	steps             []ranked
}

type ranked struct {
	Step
	tier tier
	rank rank
}

func newPlan(s *projection.Site, me events.Key) *plan {
	p := &plan{site: s, me: me, mine: map[events.HubID]bool{}, scheduled: map[events.HubID][]*projection.Device{}, paired: s.PairedByHub()}
	for i := range s.Devices {
		d := &s.Devices[i]
		p.scheduled[d.Hub] = append(p.scheduled[d.Hub], d)
	}
	assigned := false
	for i := range s.Hubs {
		h := &s.Hubs[i]
		if _, yes := h.Assigned[me]; yes {
			assigned = true
		}
		if h.Struck == nil {
			p.hubs = append(p.hubs, h)
		}
	}
	for _, h := range p.hubs {
		_, yes := h.Assigned[me]
		p.mine[h.Hub] = yes || !assigned && len(h.Assigned) == 0
	}
	slices.SortStableFunc(p.hubs, func(a, b *projection.Hub) int {
		return cmp.Compare(b.Active[me].At, a.Active[me].At)
	})
	return p
}

// add puts a step where it belongs by its hub; one of no hub is everybody's.
func (p *plan) add(r rank, x Step) {
	t := mine
	if x.Hub != "" && !p.mine[x.Hub] {
		t = others
	}
	p.put(t, r, x)
}

// put adds a step to a tier. One about an emergency device carries the caution
// whatever the step is.
func (p *plan) put(t tier, r rank, x Step) {
	if tag, ok := x.Subject.Tag(); ok {
		if d, known := p.site.Device(tag); known && d.Emergency {
			x.Cautions = append([]string{CautionEmergency}, x.Cautions...)
		}
	}
	p.steps = append(p.steps, ranked{x, t, r})
}

// willing is the tier of work on a device: on an emergency one it needs the
// authority's word.
func (p *plan) willing(d *projection.Device, r rank, x Step) {
	if d.Emergency {
		x.Why += "; only with the authority's word"
		p.put(word, r, x)
		return
	}
	p.add(r, x)
}

// sorted is the steps, the most useful first.
func (p *plan) sorted() []Step {
	slices.SortStableFunc(p.steps, func(a, b ranked) int {
		return cmp.Or(cmp.Compare(a.tier, b.tier), cmp.Compare(a.rank, b.rank))
	})
	out := make([]Step, len(p.steps))
	for i, x := range p.steps {
		out[i] = x.Step
	}
	return out
}
