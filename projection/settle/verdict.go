package settle

import (
	"pairwalk/events"
	"pairwalk/projection"
)

// Verdict is the answer to "may this hub be pushed?".
type Verdict string

// The verdicts.
const (
	Nothing Verdict = "nothing"
	Blocked Verdict = "blocked"
	Wait    Verdict = "wait"
	Ask     Verdict = "ask"
	Ready   Verdict = "ready"
)

// ReasonKind is a sort of reason.
type ReasonKind string

// The reasons. All but the last three block.
const (
	HubNotReady    ReasonKind = "hub-not-ready"
	HubStruck      ReasonKind = "hub-struck"
	NoProgram      ReasonKind = "no-program"
	NotInProgram   ReasonKind = "not-in-program"
	NotMerged      ReasonKind = "not-merged"
	InConflict     ReasonKind = "in-conflict"
	OnHold         ReasonKind = "on-hold"
	ChannelChanged ReasonKind = "channel-changed"
	PowerOff       ReasonKind = "power-off"
	Settling       ReasonKind = "settling"
	PowerWasOff    ReasonKind = "devices-dark"
	NoClock        ReasonKind = "no-clock"
)

// blocks says whether a reason of this kind blocks a push.
func (k ReasonKind) blocks() bool {
	return k != Settling && k != PowerWasOff && k != NoClock
}

// Reason is one thing that stands in the way, or is worth knowing, and what to
// do about it.
type Reason struct {
	Kind     ReasonKind
	Words    string
	Subjects []events.Subject
	Events   []events.Ref
}

// Asked is a colleague to ask, and since when they have not been heard by our
// wall clock; unknown is never.
type Asked struct {
	Member events.Key
	Since  events.Maybe[events.Instant]
}

// HeardThrough is how fresh a colleague's log is here, by our wall clock.
type HeardThrough struct {
	Member  events.Key
	Through events.Instant
}

// Judgement is the verdict on one hub.
type Judgement struct {
	Hub     events.HubID
	Verdict Verdict
	At      events.Maybe[events.Instant] // when the wait ends, by our wall clock as it shows now
	Reasons []Reason
	Ask     []Asked
	Heard   []HeardThrough
	From    *projection.Pairing // the pairing the wait runs from, nil if a told one or none
}

// Local is what only this device knows.
type Local struct {
	Self    events.Key
	Now     events.Stamp
	Opened  events.Stamp                          // when the log was first open in this boot
	Receipt func(events.Ref) (events.Stamp, bool) // when we first had somebody else's entry
	Heard   map[events.Key]Heard
}

// Heard says, by our clocks: we hold all that a member had said at least up to
// this moment.
type Heard struct{ At events.Stamp }

// All judges every hub of a site that is on the schedule or was worked on, in
// the site's order.
func All(s *projection.Site, l Local) []Judgement {
	var out []Judgement
	for i := range s.Hubs {
		out = append(out, Judge(s, s.Hubs[i].Hub, l))
	}
	return out
}

// Judge judges one hub. A hub that the site does not know wants nothing.
func Judge(s *projection.Site, id events.HubID, l Local) Judgement {
	h, ok := s.Hub(id)
	if !ok {
		return Judgement{Hub: id, Verdict: Nothing}
	}
	j := &judge{site: s, hub: h, local: l, clock: newClock(s, l), out: Judgement{Hub: id}}
	wanting := j.wanting()
	if len(wanting) == 0 {
		j.out.Verdict = Nothing
		return j.out
	}
	j.block(wanting)
	waiting := j.wait()
	j.ask()
	j.out.Verdict = j.verdict(waiting)
	return j.out
}

type judge struct {
	site  *projection.Site
	hub   *projection.Hub
	local Local
	clock clock
	out   Judgement
}

func (j *judge) verdict(waiting bool) Verdict {
	for _, r := range j.out.Reasons {
		if r.Kind.blocks() {
			return Blocked
		}
	}
	switch {
	case waiting:
		return Wait
	case len(j.out.Ask) > 0 || !j.clock.proves:
		return Ask
	}
	return Ready
}

// wanting lists the devices of the hub that want a push.
func (j *judge) wanting() []*projection.Device {
	var out []*projection.Device
	for i := range j.site.Devices {
		d := &j.site.Devices[i]
		if d.Paired != nil && d.Paired.Hub == j.hub.Hub && d.Wants(projection.NeedPush) {
			out = append(out, d)
		}
	}
	return out
}

func (j *judge) say(r Reason) { j.out.Reasons = append(j.out.Reasons, r) }
