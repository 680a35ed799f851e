package walk

import (
	"cmp"
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/settle"
)

// Act is something to do.
type Act string

// The acts.
const (
	Lift    Act = "lift"
	Ask     Act = "ask"
	Resolve Act = "resolve"
	GetHub  Act = "ready"
	Merge   Act = "merge"
	Push    Act = "push"
	Pair    Act = "pair"
	Read    Act = "read-serial"
	Check   Act = "check"
	Mend    Act = "mend"
	Wait    Act = "wait"
)

// Step is one thing to do, and why.
type Step struct {
	Act      Act
	Subject  events.Subject
	Hub      events.HubID
	How      events.How // of a pairing
	Why      string
	Cautions []string
}

// rank is the order of usefulness; the lower the sooner.
type rank int

const (
	now     rank = iota // stands in everybody's way, and takes a minute
	push                // people wait for it
	prepare             // without it the walk can't begin
	walkOn              // the walk itself
	home                // records, once the walk on a hub is done
	tidy                // serials, checks
	again               // what did not work before
	repair              // faults
	careful             // emergency devices, after a word with the authority
	idle                // nothing but to wait
)

type ranked struct {
	Step
	rank rank
	mine bool // on a hub that I am assigned to, or nobody of me is
}

// Next ranks what a member could usefully do now. The judgements are those of
// all the site's hubs.
func Next(s *projection.Site, me events.Key, judged []settle.Judgement) []Step {
	p := &planner{site: s, me: me}
	p.holds()
	for _, j := range judged {
		p.hub(j)
	}
	p.conflicts()
	p.faults()
	slices.SortStableFunc(p.steps, func(a, b ranked) int {
		return cmp.Or(cmp.Compare(a.rank, b.rank), cmp.Compare(order(a.mine), order(b.mine)))
	})
	out := make([]Step, len(p.steps))
	for i, x := range p.steps {
		out[i] = x.Step
	}
	return out
}

func order(mine bool) int {
	if mine {
		return 0
	}
	return 1
}

type planner struct {
	site  *projection.Site
	me    events.Key
	steps []ranked
}

func (p *planner) add(r rank, x Step) {
	p.steps = append(p.steps, ranked{x, r, p.mine(x.Hub)})
}

// mine says whether a hub is for this member to do: assigned to it, or assigned
// to none.
func (p *planner) mine(hub events.HubID) bool {
	any := false
	for i := range p.site.Hubs {
		h := &p.site.Hubs[i]
		if _, assigned := h.Assigned[p.me]; assigned {
			any = true
			if h.Hub == hub {
				return true
			}
		}
	}
	return !any || hub == ""
}

// holds suggests to lift what this member placed.
func (p *planner) holds() {
	for _, h := range p.site.Holds {
		if h.Placed.Member() == p.me {
			p.add(now, Step{Act: Lift, Subject: h.Of, Why: fmt.Sprintf("you placed this hold (%s); is it over?", h.Why), Cautions: []string{CautionHold}})
		}
	}
}

// hub suggests what one hub wants: to be made ready, walked, brought home,
// pushed and checked.
func (p *planner) hub(j settle.Judgement) {
	h, ok := p.site.Hub(j.Hub)
	if !ok || h.Struck != nil {
		return
	}
	subject := events.Hub(h.Hub)
	open := p.open(h)
	switch j.Verdict {
	case settle.Ready:
		p.add(push, Step{Act: Push, Subject: subject, Hub: h.Hub, Why: "push may go, as far as this device has heard", Cautions: []string{CautionPush}})
	case settle.Ask:
		for _, x := range j.Ask {
			p.add(now, Step{Act: Ask, Subject: events.Member(x.Member), Hub: h.Hub, Why: fmt.Sprintf("paired anything on %s lately? Only %s keeps the push back", h.Hub, p.site.MemberName(x.Member))})
		}
		if len(j.Ask) == 0 {
			p.add(push, Step{Act: Push, Subject: subject, Hub: h.Hub, Why: "time the wait with a watch, then push", Cautions: []string{CautionPush}})
		}
	case settle.Blocked:
		p.blocked(h, j, len(open) > 0)
	}
	if h.Ready == nil && len(open) > 0 && j.Verdict != settle.Blocked {
		p.add(prepare, Step{Act: GetHub, Subject: subject, Hub: h.Hub, Why: fmt.Sprintf("%d devices wait to be paired to it, and it is not logged ready (R2)", len(open))})
	}
	p.walk(h, j, open)
	p.finish(h)
	if j.Verdict == settle.Wait && len(open) == 0 {
		p.add(idle, Step{Act: Wait, Subject: subject, Hub: h.Hub, Why: "it is settling, and nothing else on it is open"})
	}
}

// blocked suggests how to unblock a push. Records come home once the walk on the
// hub is done: an export made now would miss the pairings to come.
func (p *planner) blocked(h *projection.Hub, j settle.Judgement, walking bool) {
	subject := events.Hub(h.Hub)
	for _, r := range j.Reasons {
		switch r.Kind {
		case settle.HubNotReady, settle.NoProgram, settle.NotInProgram, settle.ChannelChanged:
			p.add(prepare, Step{Act: GetHub, Subject: subject, Hub: h.Hub, Why: r.Words})
		case settle.NotMerged:
			when := push
			if walking {
				when = home
			}
			p.add(when, Step{Act: Merge, Subject: subject, Hub: h.Hub, Why: r.Words})
		}
	}
}

// open lists the devices of a hub that could be paired now, in walking order.
func (p *planner) open(h *projection.Hub) []*projection.Device {
	var out []*projection.Device
	for _, tag := range Order(p.site, h.Hub) {
		d, _ := p.site.Device(tag)
		if d.Wants(projection.NeedPair) && !d.Has(projection.FlagHold) && !d.Has(projection.FlagDark) {
			out = append(out, d)
		}
	}
	return out
}

// walk suggests the devices to pair. On a hub that is settling, mesh devices come
// after everything else that can be walked: they would begin the wait again.
func (p *planner) walk(h *projection.Hub, j settle.Judgement, open []*projection.Device) {
	settling := j.Verdict == settle.Wait
	for _, d := range open {
		x := Step{Act: Pair, Subject: events.Device(d.Device), Hub: h.Hub, How: d.Is.How(), Why: whereWords(d)}
		r := walkOn
		switch {
		case d.Emergency:
			r = careful
			x.Why += "; emergency: only with the authority's word"
			x.Cautions = []string{CautionEmergency}
		case d.Refused != nil:
			r = again
			x.Why += "; " + refusedWords(d)
		case d.Skipped != nil:
			r = again
			x.Why += "; " + skippedWords(d)
		case settling && d.Radio == events.Star:
			x.Why += fmt.Sprintf("; star radio, which fills the wait on %s (R9)", h.Hub)
		case settling:
			r = tidy
			x.Why += fmt.Sprintf("; %s is settling, and this would begin its wait again (R8)", h.Hub)
		default:
			x.Why += "; stay beside it until it confirms (R5)"
		}
		p.add(r, x)
	}
}

func whereWords(d *projection.Device) string {
	s := "next from " + string(d.Hub) + " outward"
	if d.Floor != "" {
		s += ", floor " + string(d.Floor)
	}
	if d.Room != "" {
		s += ", room " + string(d.Room)
	}
	return s
}

func refusedWords(d *projection.Device) string {
	p := d.Refused.Event.Payload.(events.DeviceRefused)
	return fmt.Sprintf("it refused (%s): close enough? paired already? a kind that never pairs? (R6)", p.Why)
}

func skippedWords(d *projection.Device) string {
	p := d.Skipped.Event.Payload.(events.DeviceSkipped)
	if p.Note != "" {
		return fmt.Sprintf("it was skipped (%s: %s)", p.Why, p.Note)
	}
	return fmt.Sprintf("it was skipped (%s)", p.Why)
}

// finish suggests serials to read and devices to prove.
func (p *planner) finish(h *projection.Hub) {
	for i := range p.site.Devices {
		d := &p.site.Devices[i]
		if d.Paired == nil || d.Paired.Hub != h.Hub || d.Has(projection.FlagHold) || d.Has(projection.FlagDark) {
			continue
		}
		x := Step{Subject: events.Device(d.Device), Hub: h.Hub}
		if d.Emergency {
			x.Cautions = []string{CautionEmergency}
		}
		switch {
		case d.Wants(projection.NeedSerial):
			x.Act, x.Why = Read, "it is paired, and nobody wrote down its serial"
		case d.Wants(projection.NeedCheck):
			x.Act, x.Why = Check, "it took the program; does it answer its hub? (R10)"
		default:
			continue
		}
		p.add(tidy, x)
	}
}

func (p *planner) conflicts() {
	for _, c := range p.site.Conflicts {
		x := Step{Act: Resolve, Subject: events.Site(), Why: c.Why}
		if len(c.Subjects) > 0 {
			x.Subject = c.Subjects[0]
		}
		for _, s := range c.Subjects {
			if id, ok := s.Hub(); ok {
				x.Hub = id
			}
		}
		p.add(now, x)
	}
}

func (p *planner) faults() {
	for _, f := range p.site.Faults {
		if f.Open() {
			p.add(repair, Step{Act: Mend, Subject: f.Of, Why: fmt.Sprintf("%s fault: %s", f.Severity, f.Symptom), Cautions: []string{CautionMains}})
		}
	}
}
