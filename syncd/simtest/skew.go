package simtest

import (
	"slices"

	"pairwalk/events"
)

// This file is members of other versions. One that is older takes a kind for
// unknown (member.World.Lacks): it keeps and passes on what it does not
// understand, says what there is without it, and once it is of today's version
// says the same as all. And now and then there is an entry of a kind that nobody
// here knows yet.

// later is a kind of a version to come.
const later events.Kind = "device.polished"

// newest are kinds that an older member may lack. It would miss more of others,
// such as device.paired: an older version that does not know what a pairing is
// was never a log for pairings.
var newest = []events.Kind{"note.added", "hold.placed", "hold.lifted", "hub.channel", "power.off", "power.on", "device.unpaired", "hub.ready", "push.done", "conflict.resolved"}

func (h *host) maySkew(may func(Fault, bool, int, func())) {
	may(Older, h.m != nil && h.n > 0 && h.lacks == nil, 2, func() {
		kind := newest[h.w.dice.IntN(len(newest))]
		h.lacks = []events.Kind{kind}
		h.w.tell("%s is of a version without %s", h.name, kind)
		h.opensAnew()
	})
	may(Newer, h.m != nil && !h.thief, 1, func() {
		if p := h.takesPen(); p != nil {
			h.w.inject(Newer)
			p.writesLater()
			h.w.hands(h, p)
		}
	})
}

// renews is an older member that gets today's version. Up to then it said what
// there is without the kind that it lacks.
func (h *host) renews() {
	lacks := h.lacks
	if lacks == nil || h.m == nil {
		return
	}
	if slices.ContainsFunc(h.lines(), func(e *events.Event) bool { return e.Kind() == lacks[0] }) {
		h.w.inject(Older)
	}
	h.lawful()
	h.lacks = nil
	if h.w.broken == nil {
		h.w.tell("%s gets the version of today", h.name)
		h.opensAnew()
		h.wakes()
	}
}

// speaks leaves out what a version can't say.
func (h *host) speaks(k events.Kind) bool { return !slices.Contains(h.lacks, k) }

// opaque sees that everybody holds what nobody understands, as such.
func (w *world) opaque() {
	for _, h := range w.hosts {
		held, shown := 0, 0
		for _, e := range h.lines() {
			if e.Kind() == later {
				held++
			}
		}
		s := h.m.Now()
		for _, e := range s.NotUnderstood {
			if e.Kind() == later {
				shown++
			}
		}
		for _, doubt := range s.Quarantined {
			if doubt.Event.Kind() == later {
				shown++
			}
		}
		if shown != held {
			w.breaks(Agreed, "%s shows %d entries of a later kind, and holds %d", h.name, shown, held)
		}
	}
}
