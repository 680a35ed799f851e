package settle

import (
	"fmt"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
)

// wait finds when the settle time is over, and says whether it is still to come.
func (j *judge) wait() bool {
	start, any := j.lastPairing()
	if !any {
		return false
	}
	settle := j.site.Settings.Span(events.SettleMinutes, time.Minute).Milliseconds()
	end := j.power(start+settle, settle)
	if end <= j.clock.now {
		j.noClock(settle)
		return false
	}
	j.out.At = events.Some(j.clock.wall(end))
	left := (time.Duration(end-j.clock.now) * time.Millisecond).Round(time.Second)
	r := Reason{Kind: Settling, Words: fmt.Sprintf("%s is settling: %s to go since %s; do star devices or another hub meanwhile", j.hub.Hub, left, j.fromWords()), Subjects: []events.Subject{events.Hub(j.hub.Hub)}}
	if j.out.From != nil {
		r.Events = []events.Ref{j.out.From.Ref()}
	}
	j.say(r)
	return true
}

func (j *judge) noClock(settle int64) {
	if !j.clock.proves {
		j.say(Reason{Kind: NoClock, Words: fmt.Sprintf("this device has no clock that proves a wait; make sure by a watch that %s have passed since the last pairing", time.Duration(settle)*time.Millisecond)})
	}
}

func (j *judge) fromWords() string {
	p := j.out.From
	switch {
	case p == nil:
		return "a pairing that a colleague told of"
	case p.Quarantined != "":
		return fmt.Sprintf("%s was paired (an entry in quarantine, which counts here)", p.Device)
	case p.Void != nil:
		return fmt.Sprintf("%s was paired (an entry withdrawn by somebody else or for a detail, which counts here)", p.Device)
	}
	return fmt.Sprintf("%s was paired", p.Device)
}

// lastPairing is the latest reading at which a mesh device can have been paired
// on the hub.
func (j *judge) lastPairing() (at int64, any bool) {
	for i := range j.hub.Pairings {
		p := &j.hub.Pairings[i]
		if p.Radio == events.Star || p.Void != nil && p.Void.Own && p.Void.Why == events.DidNotHappen {
			continue
		}
		if t := j.clock.latest(p.Event, upper(p.Event)); !any || t > at {
			at, any, j.out.From = t, true, p
		}
	}
	for _, a := range j.hub.Asked {
		if !a.Last.Known {
			continue
		}
		if t := j.clock.latest(a.Event, events.Some(a.Last.Value.To)); !any || t > at {
			at, any, j.out.From = t, true, nil
		}
	}
	return at, any
}

// power moves the end of the wait past every return of power, and blocks while
// it is off since the last pairing. An outage that began after the wait was over
// is only told of.
func (j *judge) power(end, settle int64) int64 {
	off := map[events.Subject]projection.PowerChange{}
	for _, change := range j.hub.Power {
		if !change.On {
			off[change.Of] = change
			continue
		}
		lost, was := off[change.Of]
		delete(off, change.Of)
		if was && j.surelyAfter(lost, end) {
			continue
		}
		end = max(end, j.clock.latest(change.Event, upper(change.Event))+settle)
	}
	for _, change := range j.hub.Power {
		if still, ok := off[change.Of]; ok && still.Ref() == change.Ref() {
			j.dark(change, end)
		}
	}
	return end
}

// surelyAfter says whether power was lost only after a reading.
func (j *judge) surelyAfter(lost projection.PowerChange, end int64) bool {
	from, known := j.clock.since(lost.Event, lower(lost.Event))
	return known && from >= end
}

// dark says what an outage that goes on means for the push.
func (j *judge) dark(change projection.PowerChange, end int64) {
	r := Reason{Subjects: []events.Subject{change.Of}, Events: []events.Ref{change.Ref()}}
	before := j.out.From != nil && j.out.From.Cause.After(change.Cause)
	if before || j.surelyAfter(change, end) {
		r.Kind = PowerWasOff
		r.Words = fmt.Sprintf("%s is off, says the log; devices on it will miss the push", change.Of.Words())
	} else {
		r.Kind = PowerOff
		r.Words = fmt.Sprintf("%s went off while %s was settling; the wait starts again when it is back: log power-on %s", change.Of.Words(), j.hub.Hub, change.Of.ID)
	}
	j.say(r)
}
