package checkup

import (
	"fmt"
	"time"

	"pairwalk/projection"
)

// clockSlack is how far clocks may be apart before it is worth a look, the same as
// a meeting tells people of.
const clockSlack = time.Minute

func (r Readings) clock(x *told) {
	switch {
	case r.BadUp != "":
		x.add(Finding{Kind: "clock.made-up", State: Wrong, Words: fmt.Sprintf("A made-up clock is asked for that is none: %s.", r.BadUp), Do: "Take it away; until then every other command is refused.", Run: "!unset PAIRWALK_CLOCK"})
	case r.MadeUp != "":
		r.madeUp(x)
	}
	if r.Now.Mono.Known() {
		x.well("clock.boot", "This device has a clock that only runs forward, so waits can be proven.")
	} else {
		x.add(Finding{Kind: "clock.boot", State: Look, Words: "No clock that only runs forward is read on this system, so no settle wait is ever proven here.", Do: "Ask for the push verdict on a colleague's device, or wait by your own watch."})
	}
}

// madeUp is for practice: a real site is never opened by it.
func (r Readings) madeUp(x *told) {
	for _, s := range r.Sites {
		if !s.Practice && s.Name != "" {
			x.add(Finding{Kind: "clock.made-up", State: Wrong, Words: fmt.Sprintf("PAIRWALK_CLOCK=%s makes up the time, and %s is a real site: every other command on it is refused.", r.MadeUp, s.called()), Do: "Take it away.", Run: "!unset PAIRWALK_CLOCK"})
			return
		}
	}
	x.add(Finding{Kind: "clock.made-up", State: Look, Words: fmt.Sprintf("PAIRWALK_CLOCK=%s makes up the time.", r.MadeUp), Do: "That is for practice; take it away when you are done.", Run: "!unset PAIRWALK_CLOCK"})
}

func (o *Opened) clock(x *told) {
	o.stepped(x)
	o.past(x)
	o.apart(x)
	switch {
	case o.Zone == "":
		x.well("clock.zone", "The site has not said yet in which zone its times are told; until its log is here, they are in UTC.")
	case o.Zoned:
		x.well("clock.zone", fmt.Sprintf("Times are told in %s.", o.Zone))
	default:
		x.add(Finding{Kind: "clock.zone", State: Look, Words: fmt.Sprintf("The site's zone %s is not known to this program: its times are told in UTC.", o.Zone), Do: "Update pairwalk."})
	}
}

// stepped holds the wall clock against the one that only runs forward, since the
// site was first opened in this boot.
func (o *Opened) stepped(x *told) {
	if !o.Now.Mono.Known() || o.Since.Mono.Boot != o.Now.Mono.Boot {
		return
	}
	moved := time.Duration(o.Now.Base()-o.Since.Base()) * time.Millisecond
	age := o.Now.Mono.Ms - o.Since.Mono.Ms
	slack := time.Duration(projection.BaseSlack+projection.Drift(age)) * time.Millisecond
	if moved.Abs() <= slack+2*time.Second { // what is steered slowly is no step
		x.well("clock.steady", fmt.Sprintf("The wall clock has run evenly for %s, since this site was first opened after the start of the device.", lasting(time.Duration(age)*time.Millisecond)))
		return
	}
	way := "forward"
	if moved < 0 {
		way = "back"
	}
	x.add(Finding{Kind: "clock.steady", State: Look, Words: fmt.Sprintf("The wall clock was set %s by %s since this site was first opened after the start of the device.", way, lasting(moved)), Do: "Make sure that it is right now. Waits are counted by another clock; the next meeting compares them again, and until then new entries can't be placed among colleagues'."})
}

// past finds a wall clock that is behind what was said already.
func (o *Opened) past(x *told) {
	now := o.Now.Wall.At
	switch {
	case o.Mine > now.Add(clockSlack):
		x.add(Finding{Kind: "clock.past", State: Wrong, Words: fmt.Sprintf("This device's clock is %s behind the last entry that was made on it: it shows a time that is past.", lasting(o.Mine.Sub(now))), Do: "Set the clock right, date and zone too, before you record anything."})
	case o.Newest.At > now.Add(clockSlack):
		x.add(Finding{Kind: "clock.past", State: Look, Words: fmt.Sprintf("The newest entry of %s bears a time %s from now: one of the two clocks is wrong.", o.Newest.By, lasting(o.Newest.At.Sub(now))), Do: "Compare both with a clock you trust, and set the wrong one right."})
	default:
		x.well("clock.past", "The clock is not behind the last entries here.")
	}
}

func (o *Opened) apart(x *told) {
	for _, c := range o.Apart {
		which := "ahead of"
		if c.By < 0 {
			which = "behind"
		}
		x.add(Finding{Kind: "clock.apart", State: Look, Words: fmt.Sprintf("When last compared, %s's clock was %s %s this device's.", c.Name, lasting(c.By), which), Do: "Set the wrong one right; entries stand at the right time all the same."})
	}
}
