package walk

import (
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/checks"
	"pairwalk/projection/mesh"
	"pairwalk/projection/settle"
)

// Next ranks what a member could usefully do now, by the judgements of the site's
// hubs, by its book of checks and, where places or links are known, by the ground
// and the net of this moment; either of these may be nil. It is empty if nothing is
// open.
func Next(s *projection.Site, me events.Key, judged []settle.Judgement, book checks.Book, g *mesh.Ground, n *mesh.Net) []Step {
	p := newPlan(s, me)
	p.air = newAir(s, me, g, n)
	p.holds()
	p.conflicts()
	for _, h := range p.hubs {
		j := settle.Judgement{Hub: h.Hub, Verdict: settle.Nothing}
		if i := slices.IndexFunc(judged, func(j settle.Judgement) bool { return j.Hub == h.Hub }); i >= 0 {
			j = judged[i]
		}
		p.hub(h, j)
	}
	p.tests(book)
	p.faults()
	p.power()
	return p.sorted()
}

// holds asks whether a hold of one's own is over, and after everything else about
// those of others.
func (p *plan) holds() {
	for _, h := range p.site.Holds {
		x := Step{Act: Lift, Subject: h.Of, Cautions: []string{CautionHold}}
		who := ""
		if h.Who != "" {
			who = ", for " + h.Who
		}
		if h.Placed.Member() == p.me {
			x.Why = fmt.Sprintf("you placed this hold (%s%s): lift it if that is over", h.Why, who)
			p.put(mine, lift, x)
			continue
		}
		x.Why = fmt.Sprintf("%s placed this hold (%s%s): ask whether it is over", p.site.DoneBy(h.Placed.Event), h.Why, who)
		p.put(word, lift, x)
	}
}

func (p *plan) conflicts() {
	for _, c := range p.site.Conflicts {
		x := Step{Act: Resolve, Subject: events.Site(), Why: c.Why + ": say which stands"}
		if len(c.Subjects) > 0 {
			x.Subject = c.Subjects[0]
		}
		for _, s := range c.Subjects {
			if id, ok := s.Hub(); ok && (x.Hub == "" || p.mine[id]) {
				x.Hub = id
			}
		}
		p.add(resolve, x)
	}
}

// hub suggests what one hub wants: to be made ready, walked, brought home, pushed
// and proved.
func (p *plan) hub(h *projection.Hub, j settle.Judgement) {
	open := p.open(h)
	p.ready(h, j, open)
	p.walk(h, j, open)
	if !slices.ContainsFunc(open, untouched) {
		p.finish(h, j)
	}
	p.prove(h)
}

// ready holds to R2: the hub first, then the devices.
func (p *plan) ready(h *projection.Hub, j settle.Judgement, open []*projection.Device) {
	var why []string
	for _, r := range j.Reasons {
		switch r.Kind {
		case settle.NotReady, settle.NoProgram, settle.NotListed, settle.NewChannel:
			if r.For == settle.Blocked {
				why = append(why, r.Words)
			}
		}
	}
	if j.Verdict == settle.Nothing && len(open) > 0 && h.Ready == nil {
		why = append(why, fmt.Sprintf("%d devices are to be paired to it, and it is not logged ready", len(open)))
	}
	var lacking []string
	for _, d := range open {
		if !h.Holding(d.Device) {
			lacking = append(lacking, string(d.Device))
		}
	}
	if n := len(lacking); n > 0 {
		why = append(why, fmt.Sprintf("its program has to list every device before it is paired; %s is missing%s", lacking[0], more(n-1)))
	}
	if len(why) > 0 {
		p.add(ready, Step{Act: Ready, Subject: events.Hub(h.Hub), Hub: h.Hub, Why: strings.Join(why, "; ")})
	}
}

func more(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf(", and %d more", n)
}

// finish suggests what is left to do on a hub once nothing untouched is left to
// pair there: records exported before would miss what is paired later, an answer
// would go stale, and the wait would begin anew.
func (p *plan) finish(h *projection.Hub, j settle.Judgement) {
	at := events.Hub(h.Hub)
	for _, r := range j.Reasons {
		switch r.Kind {
		case settle.NotExported:
			p.add(home, Step{Act: Export, Subject: at, Hub: h.Hub, Why: r.Words})
		case settle.NotMerged:
			p.add(home, Step{Act: Merge, Subject: at, Hub: h.Hub, Why: r.Words})
		case settle.Settling, settle.NoClock:
			p.put(idle, push, Step{Act: Wait, Subject: at, Hub: h.Hub, Why: r.Words})
		case settle.Unheard:
			if j.Verdict == settle.Ask {
				p.add(ask, Step{Act: Ask, Subject: r.Subjects[len(r.Subjects)-1], Hub: h.Hub, Why: r.Words})
			}
		}
	}
	if j.Verdict == settle.Ready {
		x := Step{Act: Push, Subject: at, Hub: h.Hub, Why: "push may go, as far as this device has heard", Cautions: []string{CautionPush}}
		if missed := p.missed(h); len(missed) > 0 {
			x.Why += fmt.Sprintf("; %s missed the last one", names(missed))
		}
		if slices.ContainsFunc(p.paired[h.Hub], func(d *projection.Device) bool { return d.Emergency }) {
			x.Cautions = []string{CautionEmergency, CautionPush}
		}
		p.add(push, x)
	}
}

// missed lists the devices of a hub that did not take the last push.
func (p *plan) missed(h *projection.Hub) []events.Tag {
	var out []events.Tag
	for _, d := range p.paired[h.Hub] {
		if d.Missed != nil && d.Struck == nil {
			out = append(out, d.Device)
		}
	}
	return out
}

// prove suggests devices to check, and serials to read.
func (p *plan) prove(h *projection.Hub) {
	for _, d := range p.paired[h.Hub] {
		if !workable(d) {
			continue
		}
		x := Step{Subject: events.Device(d.Device), Hub: h.Hub}
		if d.Wants(projection.NeedCheck) {
			x.Act, x.Why, x.Cautions = Check, "it took its program; see that the hub hears it, since paired is not reachable", []string{CautionPush}
			r := check
			if shaky := p.air.shaky(d); shaky != "" {
				x.Why += "; this one first, its way home is weak: " + shaky
				r = doubt
			}
			p.willing(d, r, x)
		}
		if d.Wants(projection.NeedSerial) {
			x.Act, x.Why, x.Cautions = Serial, "it is paired, and nobody wrote down its serial: read it from the label", nil
			p.willing(d, read, x)
		}
	}
}

// workable says whether hands may be laid on a device now.
func workable(d *projection.Device) bool {
	return !d.Has(projection.FlagHold) && !d.Has(projection.FlagDark) && d.Struck == nil
}
