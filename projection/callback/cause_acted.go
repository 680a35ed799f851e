package callback

import (
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// acted says who acted after the entries of a cause without having heard of them:
// the push after a pairing, and the pushes and the signature after what went.
func (x *inquiry) acted(c *Cause) []string {
	var out []string
	say := func(act, of projection.Cause) {
		if words, ok := x.unaware(act, of); ok && !slices.Contains(out, words) {
			out = append(out, words)
		}
	}
	for _, e := range c.For { // what stood before, when the main entry was made
		if of, ok := x.said(e.Event); ok && c.main.After(of) {
			say(c.main, of)
		}
	}
	if c.Kind == BySingle {
		return out
	}
	if s := x.handover(); s != nil && s.Signed.After(c.main) {
		say(s.Signed, c.main)
	}
	for _, t := range c.Devices {
		d, _ := x.site.Device(t)
		if h, ok := x.site.Hub(homeOf(d)); ok {
			for _, p := range h.Pushes {
				if p.After(c.main) {
					say(p.Cause, c.main)
				}
			}
		}
	}
	return out
}

// unaware says that whoever made an entry had not heard of another one by then,
// and when they did.
func (x *inquiry) unaware(act, of projection.Cause) (string, bool) {
	who := act.Member()
	if who == of.Member() || of.Event.Kind() == "device.listed" {
		return "", false
	}
	name := x.site.MemberName(who)
	said := fmt.Sprintf("%s logged \"%s\" at %s, when nothing on their device told of \"%s\" at %s", name, act.Event.Payload, x.clock(act.At), of.Event.Payload, x.clock(of.At))
	entry, ok := x.reading.Entry(of.Ref())
	if !ok {
		return "", false
	}
	for _, k := range entry.Knew {
		if k.Member != who {
			continue
		}
		if shown, ok := x.history.Find(k.Shown); ok && knew(act.Event, shown) {
			return "", false
		}
		return fmt.Sprintf("%s; they are first known to have heard of it at %s", said, x.clock(k.At)), true
	}
	return said + "; nothing shows that they have heard of it since", true
}

// knew says whether an entry was made when its author had seen what another of
// theirs shows they had seen.
func knew(act, shown *events.Event) bool {
	if act.Feed == shown.Feed {
		return shown.Seq <= act.Seq
	}
	return !act.HLC.Before(shown.HLC)
}
