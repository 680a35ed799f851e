package settle

import (
	"pairwalk/events"
	"pairwalk/projection"
)

// Verdict says whether a hub may be pushed.
type Verdict string

// The verdicts, in the order in which they win.
const (
	Nothing Verdict = "nothing"
	Blocked Verdict = "blocked"
	Wait    Verdict = "wait"
	Ask     Verdict = "ask"
	Ready   Verdict = "ready"
)

// Local is what only this device knows.
type Local struct {
	Self   events.Key
	Now    events.Stamp // this device's clocks
	Opened events.Stamp // when the journal was first open in this boot

	// Receipt is when we first had an entry that came from elsewhere; false for
	// what was written here. Nil if nothing ever came.
	Receipt func(events.Ref) (events.Stamp, bool)
	// Heard is how fresh each member's log is here; a member may be missing.
	Heard map[events.Key]Heard
}

// Heard says that we hold all that a member had said up to a moment, by our own
// clocks.
type Heard struct{ At events.Stamp }

// Judgement is the verdict on a hub, with its reasons.
type Judgement struct {
	Hub     events.HubID
	Verdict Verdict
	At      events.Maybe[events.Instant] // the wait ends then, by our wall clock; also while blocked
	Reasons []Reason
	Ask     []Asked             // who has not been heard
	Heard   []Hearing           // who has, of those at work on the hub
	Waiting *projection.Pairing // what the wait runs from; nil if from a told pairing or power
}

// Asked is a member to ask, and since when, by our wall clock, they have not been
// heard; unknown for never.
type Asked struct {
	Member events.Key
	Since  events.Maybe[events.Instant]
}

// Hearing says that a member's log is here up to a time by our wall clock.
type Hearing struct {
	Member  events.Key
	Through events.Instant
}

// ReasonKind is a sort of reason.
type ReasonKind string

// The kinds of reason.
const (
	UnknownHub  ReasonKind = "unknown-hub"
	NoNeed      ReasonKind = "no-need"
	HubStruck   ReasonKind = "hub-struck"
	NotReady    ReasonKind = "hub-not-ready"
	NoProgram   ReasonKind = "no-program"
	NotListed   ReasonKind = "not-in-program"
	NotExported ReasonKind = "not-exported"
	NotMerged   ReasonKind = "not-merged"
	InConflict  ReasonKind = "conflict"
	OnHold      ReasonKind = "hold"
	NewChannel  ReasonKind = "channel-changed"
	PowerOff    ReasonKind = "power-off"
	Settling    ReasonKind = "settling"
	NoClock     ReasonKind = "no-clock"
	Unheard     ReasonKind = "unheard"
)

// Reason is one thing that stands in the way, or a remark. Words say what to do
// next.
type Reason struct {
	Kind     ReasonKind
	For      Verdict // the verdict it speaks for; Ready for a remark
	Words    string
	Subjects []events.Subject
	Events   []events.Ref
	Conflict string // the key of the conflict to resolve, if it is one
}

// Judge says whether a hub may be pushed. The site should be that of everything
// known here (the zero moment): a view of the past leaves pairings out.
func Judge(s *projection.Site, hub events.HubID, l Local) Judgement {
	return judge(s, hub, l, s.PairedByHub()[hub], newClock(s, l), newBrought(s))
}

// All judges every hub, in the site's order.
func All(s *projection.Site, l Local) []Judgement {
	out := make([]Judgement, 0, len(s.Hubs))
	c, b, paired := newClock(s, l), newBrought(s), s.PairedByHub()
	for i := range s.Hubs {
		id := s.Hubs[i].Hub
		out = append(out, judge(s, id, l, paired[id], c, b))
	}
	return out
}

func judge(s *projection.Site, id events.HubID, l Local, paired []*projection.Device, c *clock, b *brought) Judgement {
	out := Judgement{Hub: id, Verdict: Nothing}
	h, ok := s.Hub(id)
	if !ok {
		out.Reasons = []Reason{{Kind: UnknownHub, For: Nothing, Words: string(id) + " is not a hub of this site; check its name", Subjects: []events.Subject{events.Hub(id)}}}
		return out
	}
	m := newMatter(s, h, paired, c, b)
	if !m.needsPush() {
		out.Reasons = []Reason{{Kind: NoNeed, For: Nothing, Words: "no device on " + string(id) + " needs a push", Subjects: []events.Subject{events.Hub(id)}}}
		return out
	}
	m.block()
	out.At, out.Waiting = m.wait()
	out.Ask, out.Heard = m.ask(l.Heard)
	out.Reasons = m.reasons
	out.Verdict = Ready
	for _, v := range []Verdict{Ask, Wait, Blocked} {
		for _, r := range m.reasons {
			if r.For == v {
				out.Verdict = v
			}
		}
	}
	return out
}
