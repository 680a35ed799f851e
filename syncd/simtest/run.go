package simtest

import (
	"context"
	"time"

	"pairwalk/events"
	"pairwalk/syncd/member"
)

// Run lives through the world of one seed. The error is a *[Broken] where a
// promise was.
func Run(ctx context.Context, seed uint64) (Report, error) {
	w := newWorld(ctx, seed)
	w.opens()
	for range 1 + w.dice.IntN(4)/3 {
		if w.broken == nil {
			w.calm = false
			w.day(10 + w.dice.IntN(16))
			w.heals()
		}
	}
	if w.broken == nil {
		w.agrees()
	}
	if w.broken == nil {
		w.finishes()
	}
	if w.broken == nil && w.report.Injected.Sum() == 0 {
		w.breaks(Injected, "nothing was injected")
	}
	return w.sums()
}

func (w *world) sums() (Report, error) {
	w.report.Members = len(w.hosts)
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
	m, _, err := lead.home().Init(w.ctx, member.Opening{Name: "Kiln Lane Works", Person: lead.name, Zone: "UTC", Practice: true})
	if err != nil {
		w.breaks(Opens, "open site: %v", err)
		return
	}
	lead.runs(m)
	lead.say(w.schedule()...)
	lead.after()
	for range 1 + w.dice.IntN(len(names)-2) { // there is room for somebody who comes late
		w.comes()
	}
}

// comes is somebody who joins by the lead's invite. They are on the lead's
// network, or on nobody's yet.
func (w *world) comes() bool {
	lead := w.hosts[0]
	if lead.m == nil || lead.disk.dead || len(w.hosts) == len(names) || w.broken != nil {
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
func (w *world) day(acts int) {
	for i := 0; i < acts && w.broken == nil; i++ {
		w.pass(w.between(time.Second, 3*time.Minute))
		w.works()
		if w.dice.IntN(3) == 0 {
			w.mishap()
		}
		if w.dice.IntN(8) == 0 {
			w.mends()
		}
		if w.allows(LateJoin, 60) && w.comes() {
			w.inject(LateJoin)
		}
		if i == acts/2 && w.report.Injected.Sum() == 0 {
			w.hosts[0].steps()
		}
	}
	w.pass(w.between(0, 10*time.Minute))
}
