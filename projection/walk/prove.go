package walk

import (
	"fmt"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/checks"
)

// tests suggests the functional tests that are owed, once nothing in the room is
// left to pair or to push: planned ones, those the schedule asks for, and of
// occupant sensors those that are drawn. A device that is to answer is said to be
// checked already, and has to before it is tested.
func (p *plan) tests(book checks.Book) {
	for _, r := range book.Rooms {
		for i := range r.Tests {
			if t := &r.Tests[i]; t.Owed() && t.Waits == "" {
				p.test(t)
			}
		}
	}
}

// answers says whether a test is no more than that a device is to answer.
func answers(t *checks.Test) bool {
	return t.Test == events.TestAnswer && t.From == checks.FromSchedule
}

// owedTests counts the functional tests that are still to be passed.
func owedTests(s *projection.Site) int {
	n := 0
	for _, r := range checks.Of(s).Rooms {
		for i := range r.Tests {
			if t := &r.Tests[i]; t.Owed() && !answers(t) {
				n++
			}
		}
	}
	return n
}

func (p *plan) test(t *checks.Test) {
	x := Step{Act: Check, Subject: t.Of, Hub: p.hubOf(t), Why: testWords(t), Cautions: []string{CautionPush}}
	if tag, ok := t.Of.Tag(); ok {
		if d, known := p.site.Device(tag); known && !d.Wants(projection.NeedCheck) {
			p.willing(d, check, x)
		}
		return
	}
	if len(t.Cautions) > 0 {
		x.Cautions = []string{CautionEmergency, CautionPush}
	}
	if t.Test == events.TestEgress {
		x.Why += "; only with the authority's word"
		p.put(word, check, x)
		return
	}
	p.add(check, x)
}

// hubOf is the hub of the first device of a test's room, or of its own.
func (p *plan) hubOf(t *checks.Test) events.HubID {
	if tag, ok := t.Of.Tag(); ok {
		if d, known := p.site.Device(tag); known {
			return d.Hub
		}
		return ""
	}
	if p.rooms == nil {
		p.rooms = hubsOfRooms(p.site)
	}
	return p.rooms[t.Of]
}

// hubsOfRooms names the hub of the first device of each room.
func hubsOfRooms(s *projection.Site) map[events.Subject]events.HubID {
	out := map[events.Subject]events.HubID{}
	for i := range s.Devices {
		d := &s.Devices[i]
		if _, told := out[events.Room(d.Room)]; !told && d.Struck == nil {
			out[events.Room(d.Room)] = d.Hub
		}
	}
	return out
}

// testWords says why a test is to be done.
func testWords(t *checks.Test) string {
	why := fmt.Sprintf("the %s test is owed: %s", t.Test, t.Why)
	if t.From == checks.FromPlan {
		why = fmt.Sprintf("the %s test is planned and not passed", t.Test)
	}
	switch t.State {
	case checks.Failed:
		why += "; it failed, so repeat it"
	case checks.Stale:
		why += "; it was done, and something was paired, reset or pushed since"
	}
	return why
}

func (p *plan) faults() {
	for _, f := range p.site.Faults {
		if !f.Open() {
			continue
		}
		x := Step{Act: Mend, Subject: f.Of, Why: faultWords(f), Cautions: []string{CautionMains}}
		if tag, ok := f.Of.Tag(); ok {
			if d, known := p.site.Device(tag); known {
				x.Hub = d.Hub
			}
		} else if id, ok := f.Of.Hub(); ok {
			x.Hub = id
		}
		p.add(mend, x)
	}
}

func faultWords(f *projection.Fault) string {
	why := fmt.Sprintf("%s fault: %s", f.Severity, f.Symptom)
	if f.Owner != "" {
		why += "; " + f.Owner + " has it"
	}
	return why
}

// power asks after what is off: nothing on it is suggested while it is.
func (p *plan) power() {
	told := map[events.Ref]bool{}
	for i := range p.site.Devices {
		d := &p.site.Devices[i]
		if d.Dark == nil || told[d.Dark.Ref()] || d.Struck != nil || len(d.Needs) == 0 {
			continue
		}
		told[d.Dark.Ref()] = true
		of := d.Dark.Event.Payload.Subjects()[0]
		p.put(word, mend, Step{
			Act: Power, Subject: of, Hub: d.Hub, Cautions: []string{CautionPower},
			Why: fmt.Sprintf("it is off, says the log, and %s waits for it: ask whether it is back, and log power on", d.Device),
		})
	}
}
