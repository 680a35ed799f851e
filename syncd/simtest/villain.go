package simtest

import (
	"slices"
	"time"

	"pairwalk/events"
	"pairwalk/events/seal"
	"pairwalk/syncd/member"
)

// This file is a member in good standing that has gone bad. In a third of the
// worlds there is one: its process goes on as it was, and beside it its keys seal
// whatever it likes. What it says that its role allows is believed, as it would be
// on paper; what it may not say never counts, and none of it harms the others' log.

// crook is the member that has gone bad, nil where nobody has.
func (w *world) crook() *host {
	if w.rogue == nil && w.evil {
		if i := slices.IndexFunc(w.hosts, func(h *host) bool { return h.n == 1 }); i >= 0 {
			w.rogue = w.hosts[i]
		}
	}
	return w.rogue
}

// liar is its key.
func (w *world) liar() events.Key {
	if v := w.crook(); v != nil {
		return v.key
	}
	return ""
}

// mayWrong lists what a villain may do now.
func (w *world) mayWrong(may func(Fault, bool, int, func())) {
	v := w.crook()
	able := v != nil && w.hosts[0].m != nil
	for _, x := range []struct {
		fault Fault
		do    func(*world, *host)
	}{
		{Backdated, (*world).backdates}, {FarAhead, (*world).goesAhead}, {Usurped, (*world).usurps}, {VoidOther, (*world).voidsOthers},
		{Junk, (*world).floods}, {Strangers, (*world).bringsStrangers}, {Apart, (*world).tellsApart}, {Replayed, (*world).replays},
		{Phantom, (*world).seesPhantoms}, {Withheld, (*world).withholds},
	} {
		may(x.fault, able, 1, func() {
			w.inject(x.fault)
			w.tell("%s goes bad: %s", v.name, x.fault)
			x.do(w, v)
		})
	}
	may(Revoked, able && !v.outlaw, 1, func() { w.revokes(v) })
	w.mayRob(may)
}

// begins is a pen at the start of a fresh feed, with its first line written.
func (h *host) begins() *pen {
	p := h.takesPen()
	p.writes(events.FeedStarted{Why: events.NewFeed}, nil)
	return p
}

// claim is field work as a villain tells it.
func (h *host) claim() events.Payload {
	return one(h.w, []events.Payload{h.pairing(), events.DeviceUnpaired{Device: h.pairing().Device, Why: "reset"}, events.PowerOff{Of: h.circuit()}, events.NoteAdded{Of: events.Site(), Text: "nothing to see"}})
}

// backdates tells of what it says was logged, or happened, long ago.
func (w *world) backdates(v *host) {
	p := v.begins()
	ago := w.between(time.Minute, 30*24*time.Hour)
	p.writes(v.claim(), func(e *events.Event) {
		e.HLC.L, e.Wall.At = e.HLC.L.Add(-ago), e.Wall.At.Add(-ago)
		e.Mono.Ms = max(0, e.Mono.Ms-ago.Milliseconds())
	})
	p.writes(v.claim(), func(e *events.Event) {
		at := e.Wall.At.Add(-ago)
		e.Told = events.NewTold(events.Some(events.Interval{From: at, To: at}), "")
	})
	w.hands(v, p)
}

// goesAhead has clocks of years to come, and lies of how they stand to the lead's.
func (w *world) goesAhead(v *host) {
	p := v.begins()
	ahead := w.between(time.Hour, 20*365*24*time.Hour)
	bend := func(e *events.Event) {
		e.HLC.L, e.Wall.At = e.HLC.L.Add(ahead), e.Wall.At.Add(ahead)
		e.Mono.Ms += ahead.Milliseconds()
	}
	p.writes(v.claim(), bend)
	mine, theirs := v.stamp(), w.hosts[0].stamp()
	p.writes(events.ClockCompared{
		Other: w.hosts[0].key, Mine: readingOf(mine), Theirs: readingOf(theirs), Offset: -ahead.Milliseconds(), RoundTrip: 1,
	}, nil)
	w.hands(v, p)
}

func readingOf(s events.Stamp) events.Reading { return events.Reading{Wall: s.Wall.At, Mono: s.Mono} }

// usurps says what only a lead may, or only who works on the site.
func (w *world) usurps(v *host) {
	p := v.begins()
	lead := w.hosts[0]
	for _, x := range []events.Payload{
		events.SettingsChanged{Set: map[events.SettingKey]string{events.SettleMinutes: "1"}},
		events.MemberRevoked{Key: lead.key, Why: "gone bad"},
		events.MemberRevoked{Key: w.whom(w.hosts).key, Why: "gone bad"},
		events.SettingsChanged{Set: map[events.SettingKey]string{events.ClockReference: string(v.key)}},
		v.claim(),
	} {
		if w.dice.IntN(3) > 0 {
			p.writes(x, nil)
		}
	}
	w.hands(v, p)
}

// voidsOthers withdraws what others said.
func (w *world) voidsOthers(v *host) {
	p := v.begins()
	for _, hub := range hubs {
		for _, ref := range w.truth.told(hub) {
			if ref.Feed.Key() != v.key && v.has(ref) && w.dice.IntN(2) == 0 {
				p.writes(events.EventVoided{Event: ref, Why: events.DidNotHappen}, nil)
			}
		}
	}
	w.hands(v, p)
}

// floods begins one feed after the other.
func (w *world) floods(v *host) {
	var pens []*pen
	for range 2 + w.dice.IntN(6) {
		p := v.begins()
		for range w.dice.IntN(3) {
			p.writes(v.claim(), nil)
		}
		pens = append(pens, p)
	}
	w.hands(v, pens...)
}

// bringsStrangers hands over the feed of somebody who never joined.
func (w *world) bringsStrangers(v *host) {
	p := v.penOf(w.freshKey())
	p.writes(events.FeedStarted{Why: events.NewFeed}, nil)
	p.writes(v.claim(), nil)
	w.hands(v, p)
}

// tellsApart goes on with one feed in two ways, and shows each to others: with one
// of its own that it has just begun, or with the one that its process goes on with.
func (w *world) tellsApart(v *host) {
	p := v.begins()
	if w.dice.IntN(3) == 0 {
		p = v.ownLines()
	}
	p.writes(v.claim(), nil)
	other := &pen{h: v, key: p.key, feed: p.feed, lines: slices.Clone(p.lines[:len(p.lines)-1])}
	p.writes(v.claim(), nil)
	other.writes(v.claim(), nil)
	v.old = true
	w.ledger.doubly[p.feed] = true
	for i, o := range w.others(v) {
		if o.bus != v.bus {
			o.takesFile(v, []*pen{p, other}[i%2])
		}
	}
}

// ownLines is a pen on the feed that a member's process goes on with, as far as its
// disk has it without a hole.
func (h *host) ownLines() *pen {
	p := h.takesPen()
	said := h.lines()
	p.feed = said[slices.IndexFunc(said, func(e *events.Event) bool { return e.Member() == h.key })].Feed
	for {
		found := false
		for _, e := range h.lines() {
			if n := len(p.lines); e.Feed == p.feed && e.Seq == events.Seq(n+1) && (n == 0 || e.Prev == p.lines[n-1].Hash()) {
				v, err := seal.Open([]byte(h.w.ledger.bytes[e.Ref()]))
				if err != nil {
					return p
				}
				p.lines, found = append(p.lines, v), true
				break
			}
		}
		if !found {
			return p
		}
	}
}

// replays says another's words as its own, id and all.
func (w *world) replays(v *host) {
	p := v.begins()
	for _, e := range v.lines() {
		if e.Member() != v.key && e.Understood() && w.dice.IntN(8) == 0 && !e.Kind().IsRecord() {
			p.writes(e.Payload, func(mine *events.Event) { mine.ID, mine.HLC, mine.Told = e.ID, e.HLC, e.Told })
		}
	}
	w.hands(v, p)
}

// seesPhantoms claims to have seen entries that do not exist.
func (w *world) seesPhantoms(v *host) {
	p := v.begins()
	of := one(w, v.lines())
	p.writes(v.claim(), func(e *events.Event) {
		e.Seen = []events.Ref{{Feed: of.Feed, Seq: of.Seq + events.Seq(1+w.dice.IntN(1000)), Hash: events.Hash8{byte(w.dice.IntN(256)), 1}}}
	})
	p.writes(v.claim(), func(e *events.Event) {
		e.Seen = []events.Ref{{Feed: events.NewFeedID(w.hosts[0].key, [8]byte{9}), Seq: 7, Hash: events.Hash8{7}}}
	})
	w.hands(v, p)
}

// withholds hands over what is before and after a line, and never the line.
func (w *world) withholds(v *host) {
	p := v.begins()
	for range 3 + w.dice.IntN(4) {
		p.writes(v.claim(), nil)
	}
	at := 1 + w.dice.IntN(len(p.lines)-2)
	p.holes = map[events.FeedID][]events.Head{p.feed: {p.lines[at].Head()}}
	p.lines = slices.Delete(p.lines, at, at+1)
	w.hands(v, p)
}

// revokes ends a member's say, by the lead.
func (w *world) revokes(h *host) bool {
	lead := w.hosts[0]
	if lead.m == nil || lead.disk.dead || w.broken != nil {
		return false
	}
	who, known := lead.m.Now().Member(h.key)
	if !known {
		return false
	}
	_, err := lead.m.Revoke(w.ctx, who, member.Revoking{Why: "gone bad"})
	w.tell("%s revokes %s", lead.name, h.name)
	if lead.wrote("revoke", err) {
		w.inject(Revoked)
	}
	h.outlaw = true
	lead.after()
	return err == nil
}
