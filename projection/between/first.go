package between

import (
	"fmt"

	"pairwalk/events"
	"pairwalk/projection"
)

// firstWord puts the first entry that said a thing in the place of one that only
// said it again: a breaker that was found off twice went off before the first.
func (c *comparison) firstWord(x *Change, k key, f fact) {
	own := x.Cause
	if len(own.Subjects) == 0 {
		return
	}
	var first events.Ref
	for _, ref := range c.newsOf(own.Subjects[0]) {
		if ref == own.Ref() {
			break
		}
		said, speaks := says(c.late.look(ref), k, f)
		switch {
		case speaks && said != f.words:
			first = events.Ref{}
		case speaks && first.IsZero():
			first = ref
		}
	}
	if !first.IsZero() && c.did(first, k, f) {
		x.Cause = c.entry(first)
	}
}

// newsOf lists the entries that speak first of a subject, count at the second moment
// and did not at the first, in the order of site time.
func (c *comparison) newsOf(of events.Subject) []events.Ref {
	if c.spoken == nil {
		c.spoken = map[events.Subject][]events.Ref{}
		for i := range c.late.upto {
			if !c.late.all.Stands(i) || c.late.Site.Moment.Known == c.early.Site.Moment.Known && c.late.all.Point(i) <= c.early.Site.Moment.When.Value {
				continue
			}
			subjects, ref := c.late.all.Subjects(i), c.late.all.Event(i).Ref()
			if len(subjects) > 0 && c.late.counts(ref) && c.news(ref) {
				c.spoken[subjects[0]] = append(c.spoken[subjects[0]], ref)
			}
		}
	}
	return c.spoken[of]
}

// did says whether a fact is as at the end from an entry on, and was not before.
func (c *comparison) did(ref events.Ref, k key, f fact) bool {
	l := c.climb()
	i := l.rungWith(ref)
	if i < 0 {
		return false
	}
	s := seeker{l, k, f, true}
	return s.asAtEnd(i) && (l.rungs[i].view != nil || !s.same(l.just(i)))
}

// stood says whether a fact was as at the end before an entry already.
func (c *comparison) stood(ref events.Ref, k key, f fact) bool {
	l := c.climb()
	i := l.rungWith(ref)
	s := seeker{l, k, f, true}
	return i >= 0 && l.rungs[i].view == nil && s.same(l.just(i))
}

// says is what an entry by itself says of a fact, in that fact's words, if it
// speaks of it at all; f is the fact as it stands.
func says(t *projection.Told, k key, f fact) (words string, speaks bool) {
	switch p := t.Event.Payload.(type) {
	case events.DeviceListed:
		if k.what == OnHub {
			return dash(string(p.Hub)), true
		}
		return rowSays(k, deviceColumns(p), p.Place)
	case events.HubListed:
		return rowSays(k, hubColumns(p), p.Place)
	case events.DeviceStruck, events.HubStruck:
		return "struck", k.what == Listed && k.detail == ""
	case events.DevicePlaced:
		return metres(p.Place), k.what == Placed
	case events.DeviceFitted:
		return serialSays(k, p.Serial)
	case events.DeviceReplaced:
		return serialSays(k, p.New)
	case events.DevicePaired:
		return pairingSays(p, k, f)
	case events.DeviceUnpaired:
		return "", k.what == OnHub
	case events.DeviceRefused:
		return "refused", k.what == Mark
	case events.DeviceSkipped:
		return "skipped", k.what == Mark
	case events.LinkMeasured:
		return p.String(), k.what == Measured
	case events.HubAssigned:
		return pick(p.Ended, anyway[Assigned], f.words), k.what == Assigned && k.detail == string(p.Member)
	}
	return hubSays(t, k)
}

func serialSays(k key, serial events.Serial) (words string, speaks bool) {
	if k.what == State {
		return string(projection.Fitted), true
	}
	return string(serial), k.what == Serial
}

func pairingSays(p events.DevicePaired, k key, f fact) (words string, speaks bool) {
	switch k.what {
	case OnHub:
		return string(p.Hub), true
	case State:
		below := f.words == string(projection.Listed) || f.words == string(projection.Fitted)
		return pick(below, string(projection.Paired), f.words), true
	}
	return string(p.Serial), k.what == Serial && p.Serial != ""
}

func rowSays(k key, columns [][2]string, place events.Maybe[events.Point]) (words string, speaks bool) {
	switch {
	case k.what == Listed && k.detail == "":
		return "listed", true
	case k.what == Placed && place.Known:
		return metres(place.Value), true
	case k.what != Listed:
		return "", false
	}
	for _, x := range columns {
		if x[0] == k.detail {
			return columnWords(x[0], x[1]), true
		}
	}
	return "", false
}

// hubSays is says for what is about a hub or about power.
func hubSays(t *projection.Told, k key) (words string, speaks bool) {
	switch p := t.Event.Payload.(type) {
	case events.HubChannel:
		return fmt.Sprintf("%s %d", p.Radio, p.Channel), k.what == Channel && k.detail == string(p.Radio)
	case events.HubLoaded:
		return string(p.Program), k.what == Program
	case events.HubReady:
		return "ready", k.what == Ready
	case events.HubLost:
		return "lost: " + p.Why, k.what == Ready
	case events.PowerOff:
		return pick(k.of.Class == events.OfCircuit, "off", "dark"), k.what == Power
	case events.PowerOn:
		return "on", k.what == Power
	case events.PushDone:
		if k.what == State {
			return string(projection.Pushed), true
		}
		return string(p.Program), k.what == Program && k.of.Class == events.OfDevice
	}
	return "", false
}
