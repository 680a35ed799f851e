package simtest

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/settle"
)

// heals ends every fault and waits until the exchange is quiet. Whoever was
// passed over for a while is asked again, so it may take some beats.
func (w *world) heals() {
	w.calm = true
	for _, h := range w.hosts {
		if h.disk != nil {
			h.disk.fuse = -1
		}
	}
	for _, h := range w.hosts {
		h.short = shortage{}
		if h.m != nil && h.disk.said > 0 {
			h.opensAnew()
		}
		if h.m == nil && h.wakes != nil {
			h.wakes()
		}
		h.renews()
		for _, o := range w.hosts {
			if o.n < h.n {
				w.join(o, h)
			}
		}
	}
	before := w.report.Messages
	bound := w.bound()
	w.quieten(bound)
	for beat := 0; w.broken == nil && !w.same(); beat++ {
		if beat == beats {
			w.breaks(w.stops(), "after %d beats they still do not have the same: %s", beats, w.standings())
			return
		}
		w.carriesOver()
		for _, h := range w.hosts {
			h.beat()
			h.after()
		}
		w.quieten(bound)
	}
	w.report.Healing = max(w.report.Healing, w.report.Messages-before)
}

// beats is how many more haves a healing may take: a peer at fault is passed over
// for a number of them that doubles.
const beats = 70

// bound is how many messages quiet may take: for each way between two, the samples
// and a have, and for each of some feeds tips that grew and a few pulls; and of each photo that
// was taken what is held, and a few pieces, for each who has to fetch it.
func (w *world) bound() int {
	n := len(w.hosts)
	return 100*n*n + 40*n*w.report.Photos
}

// same says whether all have the same, and know it of each other.
func (w *world) same() bool {
	first := w.hosts[0].m.Have()
	for _, h := range w.hosts {
		if !h.m.Have().Same(first) || !maps.EqualFunc(h.held, w.hosts[0].held, either) {
			return false
		}
		for _, p := range w.others(h) {
			if w.link(h, p).up && !h.m.Towards(p.bus).Same {
				return false
			}
		}
	}
	return w.pictured()
}

// either is that both hold an entry, with its signature as it was or not.
func either(bool, bool) bool { return true }

func (w *world) standings() string {
	var out string
	for _, h := range w.hosts[1:] {
		out += w.differences(w.hosts[0], h)
	}
	for _, h := range w.hosts {
		if holes := h.m.Have().Holes; len(holes) > 0 {
			out += fmt.Sprintf("%s lacks %v; ", h.name, holes)
		}
	}
	for _, h := range w.hosts {
		for _, o := range w.others(h) {
			if s := h.m.Towards(o.bus); !s.Same {
				b, _ := json.Marshal(s)
				out += h.name + " towards " + o.name + " " + string(b) + "; "
			}
			if x := h.m.Showing(o.bus); x.Want+x.Lack > 0 || !x.Said {
				b, _ := json.Marshal(x)
				out += h.name + " shows " + o.name + " " + string(b) + "; "
			}
		}
	}
	return out
}

// agrees sees that all hold the same and say the same, now, of the past, and of
// what each knew.
func (w *world) agrees() {
	w.trulyPictured()
	w.judges()
	first := w.hosts[0]
	asked := []projection.Moment{{}}
	for range 2 {
		asked = append(asked, projection.At(begin.Add(w.between(0, w.now.Sub(begin)))))
	}
	for range 2 {
		who := w.whom(w.hosts)
		known := projection.Known{Member: who.key}
		if w.dice.IntN(2) == 0 {
			known.At = events.Some(begin.Add(w.between(0, w.now.Sub(begin))))
		}
		asked = append(asked, projection.Moment{Known: known})
	}
	for _, h := range w.hosts[1:] {
		if w.broken != nil {
			return
		}
		w.ledger.confirm(h)
		if !maps.EqualFunc(h.held, first.held, either) {
			w.breaks(Agreed, "%s and %s do not hold the same: %s", h.name, first.name, w.differences(h, first))
			return
		}
		for _, m := range asked {
			if a, b := first.status(m), h.status(m); a != b {
				w.breaks(Agreed, "%s and %s do not say the same of %+v:\n%s\n%s", first.name, h.name, m, a, b)
				return
			}
		}
	}
}

// differences names the entries that one of two hosts holds alone.
func (w *world) differences(a, b *host) string {
	var alone []string
	for _, pair := range [][2]*host{{a, b}, {b, a}} {
		for ref := range pair[0].held {
			if !pair[1].has(ref) {
				alone = append(alone, fmt.Sprintf("%s alone has entry %d of %s (%s)", pair[0].name, ref.Seq, w.nameOf(ref.Feed.Key()), ref))
			}
		}
	}
	slices.Sort(alone)
	return strings.Join(alone, "; ")
}

// judges sees who was heard, and whether anything is lost that some disk had.
func (w *world) judges() {
	if w.broken != nil {
		return
	}
	for _, ref := range w.ledger.all() {
		if !w.hosts[0].has(ref) && !w.ledger.gone[ref] {
			w.breaks(Kept, "entry %d of %s was on more than the disks that lost it, and nobody has it any more (%s)", ref.Seq, w.nameOf(ref.Feed.Key()), ref)
			return
		}
	}
	for _, h := range w.hosts {
		h.lawful()
		h.forksShow()
	}
	w.opaque()
}

// stops is the promise that is broken where members do not come to agree: a line
// that somebody lacks, and whoever holds it lacks the one before, was stopped by
// that hole.
func (w *world) stops() Promise {
	for _, h := range w.hosts {
		for _, e := range h.lines() {
			before := events.Ref{Feed: e.Feed, Seq: e.Seq - 1, Hash: e.Prev.Short()}
			if e.Seq > 1 && !h.has(before) && slices.ContainsFunc(w.hosts, func(o *host) bool { return !o.has(e.Ref()) }) {
				return Onward
			}
		}
	}
	return Agreed
}

func (h *host) status(m projection.Moment) string {
	b, err := json.Marshal(h.m.Status(m))
	if err != nil {
		h.w.breaks(Agreed, "%s: status: %v", h.name, err)
	}
	return string(b)
}

// finishes ties up every loose end and waits; then push may go everywhere.
func (w *world) finishes() {
	lead := w.hosts[0]
	w.decides()
	for range 2 { // a conflict resolved may bring up another
		lead.bringsHome()
		lead.pairsAnew()
	}
	lead.bringsHome()
	lead.after()
	if w.broken != nil {
		return
	}
	w.heals()
	w.pass(settleTime + heard)
	for _, h := range w.hosts {
		h.beat()
	}
	w.quieten(w.bound())
	for _, h := range w.hosts {
		w.settled(h)
	}
}

// pairsAnew withdraws what no export covers, and pairs it again. An export names
// one head of each feed, so it never covers a pairing on another branch of a
// forked one.
func (h *host) pairsAnew() {
	for _, d := range h.m.Now().Devices {
		if h.w.broken != nil || d.Paired == nil || !h.w.forks(d.Paired.Member()) {
			continue
		}
		_, err := h.m.Void(h.w.ctx, d.Paired.Ref(), events.WrongDetail, "on a branch")
		h.w.tell("%s withdraws the pairing of %s", h.name, d.Device)
		if h.wrote("void", err) {
			h.say(events.DevicePaired{Device: d.Device, Hub: d.Paired.Hub, Serial: d.Serial})
		}
	}
}

// forks says whether a member's feed may have more than one branch.
func (w *world) forks(key events.Key) bool {
	return slices.ContainsFunc(w.hosts, func(h *host) bool { return h.key == key && h.old })
}

// settled sees that nobody waits for ever.
func (w *world) settled(h *host) {
	if w.broken != nil {
		return
	}
	for _, o := range w.others(h) {
		if o.bus != h.bus && !w.link(h, o).up {
			return // it can't hear them all: another device with its keys does, or with theirs
		}
	}
	h.judge()
	js, err := h.m.Settle()
	for _, j := range js {
		if err != nil || j.Verdict != settle.Ready && j.Verdict != settle.Nothing {
			w.breaks(Settled, "%s still says %s of %s: %+v", h.name, j.Verdict, j.Hub, j.Reasons)
		}
	}
}
