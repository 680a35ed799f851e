package simtest

import (
	"slices"
	"time"

	"pairwalk/events"
	"pairwalk/projection/settle"
)

// The site's settings, which nobody changes; with what drifts away meanwhile.
const (
	settleTime  = 10 * time.Minute
	heard       = time.Minute + time.Second
	answerLasts = 15*time.Minute + time.Second
)

// truth knows when what the log tells of truly happened.
type truth struct {
	pairings map[events.HubID]map[events.Ref]events.Instant // of mesh devices, also told by voice
	written  map[events.Ref]events.Instant                  // when an entry that was written later truly happened
	untrue   map[events.Ref]events.Ref                      // what its own author says did not happen, and where
	said     map[events.HubID]map[events.Ref]events.Instant // when each pairing was logged, by its hub
	answers  []answer
	star     map[events.Tag]bool
}

// answer is what a member said by voice about a hub, as somebody took it down.
type answer struct {
	by  events.Key
	hub events.HubID
	ref events.Ref
	at  events.Instant
}

func newTruth() truth {
	return truth{
		pairings: map[events.HubID]map[events.Ref]events.Instant{},
		said:     map[events.HubID]map[events.Ref]events.Instant{},
		written:  map[events.Ref]events.Instant{},
		untrue:   map[events.Ref]events.Ref{},
		star:     map[events.Tag]bool{},
	}
}

// learn takes in a line that is new to everybody.
func (t *truth) learn(w *world, e *events.Event) {
	b, known := w.boots[e.Mono.Boot]
	if !known {
		return
	}
	at := b.when(e.Mono.Ms)
	switch p := e.Payload.(type) {
	case events.DevicePaired:
		if e.Member() == w.liar() {
			return // it may say what it likes of its own work
		}
		note(t.said, p.Hub, e.Ref(), at)
		if !t.star[p.Device] && !e.When().Known {
			note(t.pairings, p.Hub, e.Ref(), at)
		}
	case events.MemberAsked:
		t.answers = append(t.answers, answer{p.Member, p.Hub, e.Ref(), at})
	case events.EventVoided:
		if _, twice := t.untrue[p.Event]; !twice && p.Why == events.DidNotHappen && p.Event.Feed.Key() == e.Member() {
			t.untrue[p.Event] = e.Ref()
		}
	}
}

// wrote notes when something truly happened whose time was typed. An entry that
// is not noted so, since its process died as it was made, is not judged by.
func (t *truth) wrote(hub events.HubID, tag events.Tag, ref events.Ref, at events.Instant) {
	t.written[ref] = at
	if !t.star[tag] {
		note(t.pairings, hub, ref, at)
	}
}

func note(times map[events.HubID]map[events.Ref]events.Instant, hub events.HubID, ref events.Ref, at events.Instant) {
	if times[hub] == nil {
		times[hub] = map[events.Ref]events.Instant{}
	}
	times[hub][ref] = at
}

// of is when an entry truly happened, if that is known.
func (t *truth) of(w *world, e *events.Event) (at events.Instant, known bool) {
	if e.When().Known {
		at, known = t.written[e.Ref()]
		return at, known
	}
	return w.boots[e.Mono.Boot].when(e.Mono.Ms), true
}

// stands says whether a device's log has an entry, and not its author's word that
// it is untrue.
func (t *truth) stands(h *host, ref events.Ref) bool {
	void, withdrawn := t.untrue[ref]
	return h.has(ref) && !(withdrawn && h.has(void))
}

// youngest is when the last pairing on a hub happened, of those in a device's log
// that count.
func (t *truth) youngest(h *host, hub events.HubID) (last events.Instant, ref events.Ref) {
	for r, at := range t.pairings[hub] {
		if t.stands(h, r) && (at > last || at == last && r.Compare(ref) > 0) {
			last, ref = at, r
		}
	}
	return last, ref
}

// hidden is when a member logged its first pairing on a hub that it has and another
// lacks; 0 if there is none, or the other can't know that the member works there.
func (t *truth) hidden(by, from *host, hub events.HubID) events.Instant {
	first, works := events.Instant(0), false
	for ref, at := range t.said[hub] {
		if ref.Feed.Key() != by.key {
			continue
		}
		works = works || t.stands(from, ref)
		if by.has(ref) && !from.has(ref) && (first == 0 || at < first) {
			first = at
		}
	}
	if !works {
		return 0
	}
	return first
}

// answered is when a member last spoke of a hub, as far as another has it in its
// log.
func (t *truth) answered(by, to *host, hub events.HubID) events.Instant {
	last := events.Instant(0)
	for _, a := range t.answers {
		if a.by == by.key && a.hub == hub && to.has(a.ref) {
			last = max(last, a.at)
		}
	}
	return last
}

// judge holds every judgement of a member against the truth.
func (h *host) judge() {
	js, err := h.m.Settle()
	if err != nil {
		h.w.breaks(NotEarly, "%s can't judge: %v", h.name, err)
		return
	}
	if h == h.w.rogue && h.w.report.Injected[FarAhead] > 0 {
		return // it lied to its own log of how clocks stand
	}
	for _, j := range js {
		h.w.holds(h, j)
		h.w.names(h, j)
	}
}

// names sees that a judgement names everybody who may know more: whoever is at
// work on the hub, has logged a pairing there more than a minute ago that has not
// been heard, and has not spoken of the hub for a quarter of an hour.
func (w *world) names(h *host, j settle.Judgement) {
	if j.Verdict == settle.Nothing || w.adrift {
		return
	}
	for _, c := range w.others(h) {
		at := w.truth.hidden(c, h, j.Hub)
		if !c.plain() || c == w.rogue || c.robbed || at == 0 || w.now.Sub(at) < heard || w.now.Sub(w.truth.answered(c, h, j.Hub)) < answerLasts {
			continue
		}
		w.report.Unheard++
		if !slices.ContainsFunc(j.Ask, func(a settle.Asked) bool { return a.Member == c.key }) {
			w.breaks(Heard, "%s says %s of %s, and not to ask %s, who logged a pairing there at %s (true time) that %s has not heard of",
				h.name, j.Verdict, j.Hub, c.name, at.Time().Format("15:04:05.000"), h.name)
		}
	}
}

// holds says whether the wait that a judgement speaks of is long enough.
func (w *world) holds(h *host, j settle.Judgement) {
	last, ref := w.truth.youngest(h, j.Hub)
	if j.Verdict == settle.Nothing || last == 0 {
		return
	}
	w.report.Judged++
	over := w.now
	if j.At.Known {
		over = h.clock.reach(j.At.Value)
	}
	if j.Verdict == settle.Ready {
		w.report.Ready++
	}
	if age := over.Sub(last); age < settleTime {
		w.breaks(NotEarly, "%s says %s, and that the wait for %s is over at %s (true time), when entry %d of %s is %s old: %+v",
			h.name, j.Verdict, j.Hub, over.Time().Format("15:04:05.000"), ref.Seq, w.nameOf(ref.Feed.Key()), age, j.Reasons)
	}
}
