package callback

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/between"
	"pairwalk/projection/mesh"
)

// inquiry is a question at work: the facts it is judged by, and what was worked
// out from them once for all judges.
type inquiry struct {
	Question
	history *projection.History
	*view
	reading *between.Reading
	asked   bool                                      // somebody said of what time
	today   events.Instant                            // when the question is asked
	seen    []projection.Told                         // in view, whenever it happened
	told    []projection.Told                         // in view, up to the end of the time asked about
	devices []*projection.Device                      // asked about
	offs    map[events.Subject][]projection.Cause     // supplies that are off, and every entry since that says so
	gone    map[events.HubID]map[events.Tag][]finding // what paths found, by hub
	broken  []projection.Conflict
	points  []mesh.SinglePoint
	weak    []*projection.Link
	lacks   map[events.Ref]*view
	ground  *mesh.Ground             // the last one, which the next is mended from
	sites   map[events.Instant]*view // views of the past, worked out once
	facts   map[events.Instant]*projection.Site
}

// view is facts and who is on the air.
type view struct {
	site *projection.Site
	net  *mesh.Net
}

// onNoDay is when a question is asked that does not say when: on a day that is
// nobody's, so that every time carries its own.
const onNoDay events.Instant = 1

// viewOf takes facts for what they are, with times as they are told today.
func (x *inquiry) viewOf(s *projection.Site) *view {
	if x.ground == nil {
		x.ground = mesh.Survey(s)
	} else {
		x.ground = x.ground.Mend(s)
	}
	return &view{s, x.ground.Net(s, mesh.What{Now: x.today})}
}

func newInquiry(h *projection.History, q Question) *inquiry {
	x := &inquiry{Question: q, history: h, gone: map[events.HubID]map[events.Tag][]finding{}, sites: map[events.Instant]*view{}, facts: map[events.Instant]*projection.Site{}, lacks: map[events.Ref]*view{}}
	x.today = cmp.Or(q.Now, onNoDay)
	x.asked = q.From.Known || q.To.Known
	x.view = x.viewOf(h.At(x.moment()))
	x.reading = between.ReadSite(h, x.site)
	x.told = h.Told(x.moment())
	if !x.To.Known {
		x.To = x.site.Moment.When
	}
	if x.Now == 0 {
		x.Now = x.To.Value
	}
	x.resolve()
	x.begin()
	x.switchedOff()
	return x
}

func (x *inquiry) moment() projection.Moment {
	return projection.Moment{When: x.To, Known: x.Known}
}

// resolve finds the devices that the subject stands for. A device may be named by
// an earlier tag; what was struck is asked about only by its own name.
func (x *inquiry) resolve() {
	for i := range x.site.Devices {
		d := &x.site.Devices[i]
		if tag, ok := x.About.Tag(); ok {
			_, taken := x.site.Device(tag)
			if d.Device == tag || !taken && slices.Contains(d.Was, tag) {
				x.devices = append(x.devices, d)
				x.About = events.Device(d.Device)
			}
		} else if d.Struck == nil && x.site.Within(d, x.About) {
			x.devices = append(x.devices, d)
		}
	}
}

// homeOf is the hub a device is paired to, else the one it is scheduled on.
func homeOf(d *projection.Device) events.HubID {
	if d.Paired != nil {
		return d.Paired.Hub
	}
	return d.Hub
}

// begin is the start of the time asked about, where nobody gave one: handover, or
// else when the first of the devices was last seen to work.
func (x *inquiry) begin() {
	if x.From.Known {
		return
	}
	x.From.Known = true
	if s := x.handover(); s != nil {
		x.From.Value = s.Signed.At
		return
	}
	for _, d := range x.devices {
		if seen := proof(d); seen != nil && (x.From.Value == 0 || seen.At < x.From.Value) {
			x.From.Value = seen.At
		}
	}
}

// proof is what last showed that a device works: it was heard, or took a push.
func proof(d *projection.Device) *projection.Cause {
	seen := d.Heard
	if d.Pushed != nil && (seen == nil || d.Pushed.After(*seen)) {
		seen = &d.Pushed.Cause
	}
	return seen
}

// switchedOff keeps which supplies are off, with every entry that says so and no
// later one that lights them. One may stand in the log twice.
func (x *inquiry) switchedOff() {
	x.offs = map[events.Subject][]projection.Cause{}
	for i := range x.told {
		t := &x.told[i]
		if t.Withdrawn != "" || t.Quarantined != "" || len(t.Subjects) == 0 {
			continue
		}
		switch t.Event.Payload.(type) {
		case events.PowerOff:
			x.offs[t.Subjects[0]] = append(x.offs[t.Subjects[0]], t.Cause)
		case events.PowerOn:
			delete(x.offs, t.Subjects[0])
		}
	}
}

// at is the facts of a moment of the past, as known to whom the question says.
func (x *inquiry) at(when events.Instant) *view {
	if x.sites[when] == nil {
		x.sites[when] = x.viewOf(x.siteAt(when))
	}
	return x.sites[when]
}

// siteAt is the facts alone, which cost less than who reached whom.
func (x *inquiry) siteAt(when events.Instant) *projection.Site {
	if v := x.sites[when]; v != nil {
		return v.site
	}
	if x.facts[when] == nil {
		x.facts[when] = x.history.At(projection.Moment{When: events.Some(when), Known: x.Known})
	}
	return x.facts[when]
}

// all lists what is in view, whenever it happened.
func (x *inquiry) all() []projection.Told {
	if x.seen == nil {
		x.seen = x.history.Told(projection.Moment{Known: x.Known})
	}
	return x.seen
}

// without is the facts as they would be had some entries not been made, with all
// else that is in view. An entry left out may be the one that shows what its author
// had heard, so the view is settled before that.
func (x *inquiry) without(refs ...events.Ref) *view {
	x.all()
	rest := projection.History{Site: x.history.Site}
	for i := range x.seen {
		if e := x.seen[i].Event; !slices.Contains(refs, e.Ref()) {
			rest.Add(*e)
		}
	}
	return x.viewOf(rest.At(projection.Moment{When: x.site.Moment.When})) // also where the newest entry is left out
}

// clock writes a time in the site's zone: with its day, unless that is the day on
// which the question is asked.
func (x *inquiry) clock(at events.Instant) string {
	const day = len(time.DateOnly)
	when := x.reading.Clock(at)
	if when[:day] == x.reading.Clock(x.today)[:day] {
		return when[day+1:]
	}
	return when
}

// days counts whole days up to now.
func (x *inquiry) days(since events.Instant) int {
	return max(0, int(x.Now.Sub(since)/(24*time.Hour)))
}

// handover is the newest signature for the whole site.
func (x *inquiry) handover() *projection.Signature {
	var newest *projection.Signature
	for i := range x.site.Signed {
		s := &x.site.Signed[i]
		if s.Of == events.Site() && (newest == nil || s.Signed.After(newest.Signed)) {
			newest = s
		}
	}
	return newest
}

// silence counts what was logged since handover. An entry logged later about an
// earlier time was logged since all the same.
func (x *inquiry) silence() *Silence {
	signed := x.handover()
	if signed == nil {
		return nil
	}
	s := &Silence{Signed: *signed, Days: x.days(signed.Signed.At)}
	all := x.all()
	i := slices.IndexFunc(all, func(t projection.Told) bool { return t.Ref() == signed.Signed.Ref() })
	if i < 0 {
		return s
	}
	mark := &all[i]
	for i := range all {
		t := &all[i]
		later := t.Said > mark.Said || t.Event.Feed == mark.Event.Feed && t.Event.Seq > mark.Event.Seq
		if !later || t.Event.Kind().IsRecord() || t.Withdrawn != "" || t.Quarantined != "" {
			continue
		}
		s.Entries++
		if t.At >= x.From.Value && t.At <= x.To.Value {
			s.Within++
		}
		if s.Newest == nil || t.Said >= s.Newest.Said {
			s.Newest = t
		}
	}
	return s
}

func (x *inquiry) head(s *Silence) string {
	switch {
	case s == nil && x.asked:
		return fmt.Sprintf("Not handed over by %s: up to then the log has no signature for the whole site.", x.clock(x.To.Value))
	case s == nil:
		return "Never handed over: the log has no signature for the whole site."
	}
	since := fmt.Sprintf("handover: %s (signed %s by %s as %s)", counted(s.Days, "day"), x.clock(s.Signed.Signed.At), s.Signed.Signer, s.Signed.As)
	if s.Newest == nil {
		return "Nothing logged since " + since + "."
	}
	words := fmt.Sprintf("%s logged since %s; the newest %s: %s, by %s.", counted(s.Entries, "entry"), since, x.clock(s.Newest.Said), inShort(s.Newest.Event.Payload), s.Newest.By)
	switch {
	case !x.asked:
	case s.Within == 0:
		words += " None of that is of the time asked about."
	case s.Within < s.Entries:
		words += fmt.Sprintf(" Of the time asked about: %d.", s.Within)
	}
	return words
}

// inShort is what an entry says, without what a test was held against.
func inShort(p events.Payload) string {
	if c, ok := p.(events.CheckDone); ok {
		c.Limit = ""
		return c.String()
	}
	return p.String()
}

// about lists what an entry is about, by today's names.
func (x *inquiry) about(ref events.Ref) []events.Subject {
	t, _ := x.reading.Told(ref)
	return t.Subjects
}

// said is an entry in view, with its time.
func (x *inquiry) said(ref events.Ref) (projection.Cause, bool) {
	t, ok := x.reading.Told(ref)
	return t.Cause, ok
}
