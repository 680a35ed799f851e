package simtest

import (
	"context"
	"runtime/debug"
	"time"

	"pairwalk/events"
	"pairwalk/syncd/member"
)

// Run lives through the world of one seed. The error is a *[Broken] where a
// promise was.
func Run(ctx context.Context, seed uint64) (Report, error) { return Replay(ctx, Plan{Seed: seed}) }

// Replay lives through a world without what its plan leaves out.
func Replay(ctx context.Context, plan Plan) (report Report, err error) {
	w := newWorld(ctx, plan)
	defer func() {
		if p := recover(); p != nil {
			w.breaks(NoPanic, "%v\n%s", p, debug.Stack())
			report, err = w.sums()
		}
	}()
	w.opens()
	for i, steps := range w.days {
		if w.broken != nil {
			break
		}
		w.calm = false
		if w.occurs(firstDay + i) {
			w.day(steps)
		} else {
			w.step += steps
		}
		w.heals()
	}
	w.deal(ofEnd, 0)
	if w.broken == nil {
		w.agrees()
	}
	if w.broken == nil {
		w.finishes()
	}
	w.judges()
	if w.broken == nil && w.report.Injected.Sum() == 0 && len(plan.Without) == 0 {
		w.breaks(Injected, "nothing was injected")
	}
	return w.sums()
}

func (w *world) sums() (Report, error) {
	w.report.Members = len(w.hosts)
	w.report.Numbers = w.numbers()
	if w.broken != nil {
		return w.report, w.broken
	}
	w.report.Entries = len(w.hosts[0].held)
	places := map[place]bool{}
	for ref := range w.hosts[0].held {
		places[place{ref.Feed, ref.Seq}] = true
	}
	w.report.Forks = w.report.Entries - len(places)
	return w.report, nil
}

// opens is the lead, who opens the site and invites all but those who come late.
func (w *world) opens() {
	lead := w.newHost(events.Lead)
	w.hosts = append(w.hosts, lead)
	m, _, err := lead.home().Init(w.ctx, member.Opening{Name: siteName, Person: lead.name, Zone: "UTC", Practice: true})
	if err != nil {
		w.breaks(Opens, "open site: %v", err)
		return
	}
	lead.runs(m)
	lead.say(w.schedule()...)
	lead.after()
	w.deal(ofEnd, 1)
	for i := range 1 + w.dice.IntN(len(names)-2) { // there is room for somebody who comes late
		w.deal(ofNumber, firstGuest+i)
		if w.occurs(firstGuest + i) {
			w.comes()
		} else {
			w.taken++ // the seat stays empty, and all others have theirs
		}
	}
}

// comes is somebody who joins by the lead's invite. They are on the lead's
// network, or on nobody's yet.
func (w *world) comes() bool {
	lead := w.hosts[0]
	if lead.m == nil || lead.disk.dead || w.taken == len(names) || w.broken != nil {
		return false
	}
	role := events.Tech
	if w.dice.IntN(5) == 0 {
		role = events.Viewer
	}
	token, err := lead.m.Invite(role, 30*24*time.Hour, "")
	if err != nil {
		w.breaks(Opens, "invite: %v", err)
		return false
	}
	h := w.newHost(role)
	h.token = events.Some(token)
	m, err := h.home().Join(w.ctx, token, h.name, "")
	if err != nil {
		w.breaks(Opens, "join: %v", err)
		return false
	}
	w.hosts = append(w.hosts, h)
	w.tell("%s joins as %s", h.name, role)
	h.runs(m)
	h.after()
	for _, o := range w.others(h) {
		if w.dice.IntN(2) == 0 {
			w.join(o, h)
		}
	}
	return true
}

// day is a stretch of field work, with everything that comes between.
func (w *world) day(steps int) {
	for i := 0; i < steps && w.broken == nil; i++ {
		w.step++
		w.deal(ofStep, w.step)
		w.pass(w.between(time.Second, 3*time.Minute))
		if w.happens(work, 1) {
			w.works()
		}
		if w.happens(trouble, 3) {
			w.mishap()
		}
		if w.happens(saving, 9) {
			w.saves()
		}
		if w.happens(mending, 8) {
			w.mends()
		}
		if w.may[LateJoin] && w.happens(coming, 16) && w.comes() {
			w.inject(LateJoin)
		}
		if i == steps/2 && w.report.Injected.Sum() == 0 && w.happens(setting, 1) {
			w.hosts[0].steps()
		}
	}
	w.deal(ofEnd, 2)
	w.pass(w.between(0, 10*time.Minute))
}
