package simtest

import (
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// This file is the work that ends in a push: everything that it needs besides
// waiting.

func (h *host) lifts() {
	for _, hold := range h.m.Now().Holds {
		if h.m != nil && !h.disk.dead {
			h.say(events.HoldLifted{Of: hold.Of})
		}
	}
}

// counts says whether a member's own word counts, as far as it knows.
func (h *host) counts() bool {
	me, joined := h.m.Now().Member(h.key)
	return joined && (me.Standing == projection.Admitted || me.Standing == projection.Provisional)
}

// merges brings the records home and tells so.
func (h *host) merges() {
	r, err := h.m.Records()
	if err != nil || !h.counts() { // what nobody counts can't be merged either
		return // nothing is paired
	}
	_, err = h.m.Exported(h.w.ctx, r)
	h.w.tell("%s exports %s", h.name, r.Export)
	if h.wrote("export", err) {
		_, err = h.m.Merged(h.w.ctx, r.Export, "", member.Entry{})
		h.wrote("merge", err)
	}
}

// resolves closes every conflict; one may close another, or bring one up.
func (h *host) resolves() {
	done := map[string]bool{}
	for {
		open := slices.DeleteFunc(member.AllConflicts(h.m.Now()), func(c projection.Conflict) bool { return done[c.Key] })
		if len(open) == 0 {
			return
		}
		c, stands := open[0], ""
		if len(c.Offers) > 0 {
			stands = one(h.w, c.Offers).Stands
		}
		_, err := h.m.Resolve(h.w.ctx, c.Key, stands, "looked at the label")
		h.w.tell("%s resolves %s: %q stands", h.name, c.Key, stands)
		if !h.wrote("resolve", err) {
			return
		}
		done[c.Key] = true
	}
}

// asks calls everybody up about a hub, and takes down what they say, which is
// true: when they last paired something there that has not been heard here.
func (h *host) asks() {
	hub := one(h.w, hubs)
	var said []events.Payload
	var last []events.Instant
	for _, p := range h.w.others(h) {
		if p.bus == h.bus || p.outlaw || p.like != nil {
			continue
		}
		x := events.MemberAsked{Member: p.key, Hub: hub, Through: h.stamp().Wall.At}
		at := h.w.truth.unheard(p.key, hub, h)
		if at > 0 {
			x.Last = events.Some(h.typed(h.w.now.Sub(at)))
		}
		said, last = append(said, x), append(last, at)
	}
	for i, e := range h.say(said...) {
		if last[i] > 0 {
			h.w.truth.wrote(hub, "", e.Ref(), last[i])
		}
	}
}

// unheard is when a member last paired something on a hub that somebody else has
// not heard of.
func (t *truth) unheard(by events.Key, hub events.HubID, to *host) events.Instant {
	last := events.Instant(0)
	for ref, at := range t.pairings[hub] {
		if ref.Feed.Key() == by && !to.has(ref) && at > last {
			last = at
		}
	}
	return last
}

// bringsHome does everything that a push needs besides waiting.
func (h *host) bringsHome() {
	for _, do := range []func(*host){(*host).restoresAll, (*host).lifts, (*host).resolves, (*host).readies, (*host).merges, (*host).asks} {
		if h.m == nil || h.disk.dead || h.w.broken != nil {
			return
		}
		do(h)
	}
	if h.m != nil && !h.disk.dead {
		h.judge()
	}
}

// readies sees that hubs are ready, and hold a program: of that too the only entry
// may be destroyed.
func (h *host) readies() {
	for _, hub := range h.m.Now().Hubs {
		if !h.disk.dead && hub.Program == "" {
			h.say(events.HubLoaded{Hub: hub.Hub, Program: "r1", All: true})
		}
		if !h.disk.dead && (hub.Ready == nil || hub.Channels[events.Mesh].Changed != nil) {
			h.say(events.HubReady{Hub: hub.Hub})
		}
	}
}

// restoresAll switches on what is off.
func (h *host) restoresAll() {
	for _, c := range h.m.Now().Circuits {
		if c.Off != nil && !h.disk.dead {
			h.say(events.PowerOn{Of: events.Circuit(c.ID)})
		}
	}
}
