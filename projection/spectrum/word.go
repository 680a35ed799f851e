package spectrum

import (
	"fmt"
	"slices"

	"pairwalk/events"
)

// hearWifi works out what Wi-Fi does on every channel, and tells of what it is not
// known.
func (p *planner) hearWifi(a air) {
	p.air = a
	unknown := 0
	for _, x := range p.list {
		sums, n := a.disturbed(x, p.channels)
		p.wifi = append(p.wifi, sums)
		unknown += n
	}
	switch {
	case len(p.list) == 0:
	case len(p.site.Surveys) == 0:
		p.note("no Wi-Fi was surveyed: nothing is known of it")
	case unknown > 0:
		p.note(fmt.Sprintf("of Wi-Fi around %s nothing is known: their floor is not known or not surveyed", counted(unknown, "hub or device", "hubs and devices")))
	}
}

// openTo adds channels to those that come up.
func (p *planner) openTo(more []int) {
	p.channels = append(slices.Clone(p.channels), more...)
	slices.Sort(p.channels)
	p.channels = slices.Compact(p.channels)
	p.wifi = nil
	for _, x := range p.list {
		sums, _ := p.air.disturbed(x, p.channels)
		p.wifi = append(p.wifi, sums)
	}
}

// tell notes what the amounts between hubs rest on.
func (p *planner) tell(starOnly []events.HubID) {
	if len(starOnly) > 0 {
		p.note(fmt.Sprintf("%s not planned for: star radio only", listed(starOnly)))
	}
	var nowhere, partly []events.HubID
	for _, x := range p.list {
		switch len(x.placed) {
		case 0:
			nowhere = append(nowhere, x.hub.Hub)
		case len(x.members):
		default:
			partly = append(partly, x.hub.Hub)
		}
	}
	if len(p.list) < 2 {
		return
	}
	if len(nowhere) > 0 {
		who := "of " + listed(nowhere)
		if len(nowhere) == len(p.list) {
			who = "at all"
		}
		p.note(fmt.Sprintf("no places %s: hubs on the same level or the next, or of which no level is known, are taken to disturb each other alike", who))
	}
	if len(partly) > 0 {
		p.note(fmt.Sprintf("some devices of %s have no place: they count like the others of their hub on average", listed(partly)))
	}
	if p.between.quiet() {
		p.note("no two hubs are likely to hear each other: the usual channel serves")
	}
}

// quiet says whether no two systems hear each other.
func (b between) quiet() bool {
	return !slices.ContainsFunc(b.likely, func(row []bool) bool { return slices.Contains(row, true) })
}

// tellWeak notes what became of the channel that is to be had last.
func (p *planner) tellWeak(avoided bool) {
	switch {
	case !p.rules.last:
	case avoided:
		p.note(fmt.Sprintf("channel %d is left out: in North America it often needs reduced power", weak))
	default:
		p.note(fmt.Sprintf("channel %d is planned for because nothing else is left: in North America it often needs reduced power", weak))
	}
}

// tellOutside notes who is on a channel that may not be planned.
func (p *planner) tellOutside(plan []int) {
	for i, x := range p.list {
		present := p.rules.present(x)
		switch {
		case x.now == 0 && x.paired > 0:
			p.note(fmt.Sprintf("%s has %s paired and no channel in the log: it is taken to be on %d, the usual one; look, and log it", x.hub.Hub, counted(x.paired, "device", "devices"), present))
		case x.now == 0:
			continue
		}
		switch {
		case !isMesh(present):
			p.note(fmt.Sprintf("%s is logged on %d, which is no mesh channel (11 to 26): look, and log the right one", x.hub.Hub, present))
		case !slices.Contains(p.rules.allowed, present) && plan[i] == present:
			p.note(fmt.Sprintf("%s stays on %d, which is not allowed (allowed_channels), because it has devices paired", x.hub.Hub, present))
		case !slices.Contains(p.rules.allowed, present):
			p.note(fmt.Sprintf("%s is on %d, which is not allowed (allowed_channels)", x.hub.Hub, present))
		case p.rules.last && present == weak:
			p.note(fmt.Sprintf("%s is on %d, which in North America often needs reduced power", x.hub.Hub, present))
		}
	}
}

// assign tells one hub's part of the plan.
func (p *planner) assign(i int, channel, present []int) Assignment {
	x := p.list[i]
	_, stays := p.rules.stays(x, p.opts)
	a := Assignment{
		Hub: x.hub.Hub, Now: x.now, Plan: channel[i], Kept: stays,
		Cost: p.share(i, channel), NowCost: p.share(i, present),
		Why: p.why(i, channel, stays), Moves: p.moves(x, channel[i]),
	}
	for k, c := range p.channels {
		if slices.Contains(p.rules.allowed, c) {
			a.Wifi = append(a.Wifi, Wifi{c, p.wifi[i][k]})
		}
	}
	return a
}

// why says what speaks for a hub's channel: against the one it would rather have.
func (p *planner) why(i int, channel []int, stays bool) string {
	x, c, rather := p.list[i], channel[i], p.rules.present(p.list[i])
	name := fmt.Sprintf("its present channel, %d,", rather)
	if x.now == 0 {
		name = fmt.Sprintf("the usual channel, %d,", rather)
	}
	here, there := p.alone(i, c, channel), p.alone(i, rather, channel)
	switch {
	case stays:
		return fmt.Sprintf("stays: %s paired on it", counted(x.paired, "device", "devices"))
	case c == rather && here == 0 && x.now == 0:
		return "the usual channel; nothing known disturbs it there"
	case c == rather && here == 0:
		return "its present channel; nothing known disturbs it there"
	case c == rather:
		return fmt.Sprintf("%s is as good as any: %s disturbed there", name, p.these(here))
	case !slices.Contains(p.rules.allowed, rather):
		return fmt.Sprintf("%s is not allowed; here %s disturbed", name, p.these(here))
	case p.rules.last && rather == weak:
		return fmt.Sprintf("%s often needs reduced power in North America; here %s disturbed", name, p.these(here))
	case p.opts.Apart && here >= there:
		return fmt.Sprintf("%s would be shared with hubs that hear it or leave others none", name)
	case here >= there:
		return fmt.Sprintf("so that others have a better one; here %s disturbed", p.these(here))
	}
	return fmt.Sprintf("on %s %s would be disturbed; here %s", name, p.these(there), devices(here))
}

func (p *planner) these(thousandths int64) string {
	if thousandths == 1000 {
		return "1.0 device"
	}
	return devices(thousandths) + " devices"
}

// moves lists what a change of channel costs.
func (p *planner) moves(x *system, to int) []string {
	switch {
	case x.now == 0 && x.paired == 0 || p.rules.present(x) == to:
		return nil
	case x.paired == 0:
		return []string{
			"no device is paired yet: set the channel and log it",
			"the hub is to be seen and logged ready on it, before pairing",
		}
	}
	minutes := p.site.Settings.Int(events.PushMinutes)
	return []string{
		fmt.Sprintf("%s paired on %d: none answers until a push has taken it along", counted(x.paired, "device is", "devices are"), p.rules.present(x)),
		fmt.Sprintf("a fresh push, about %d min (push_minutes), and again for whoever misses it", minutes),
		"the hub logged on its new channel, and ready again",
		"choose channels before pairing; a change after it blocks until the push (common practice, no source)",
	}
}
