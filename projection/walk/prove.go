package walk

import (
	"fmt"

	"pairwalk/events"
	"pairwalk/projection"
)

// tests suggests the planned tests that a room has not passed, once nothing in it
// is left to pair or to push.
func (p *plan) tests() {
	for _, plan := range p.site.Plans {
		hub, emergency, open := p.room(plan.Room)
		if open || p.passed(plan) {
			continue
		}
		x := Step{
			Act: Check, Subject: events.Room(plan.Room), Hub: hub, Cautions: []string{CautionPush},
			Why: fmt.Sprintf("the %s test is planned and not passed", plan.Test),
		}
		if emergency {
			x.Cautions = []string{CautionEmergency, CautionPush}
		}
		p.add(check, x)
	}
}

// room is the hub of a room's first device, whether an emergency one is in it, and
// whether a device is left to pair, to push or to be let alone. An emergency one
// that nobody may pair yet does not keep the others from their test.
func (p *plan) room(r events.RoomID) (hub events.HubID, emergency, open bool) {
	for i := range p.site.Devices {
		d := &p.site.Devices[i]
		if d.Room != r || d.Struck != nil {
			continue
		}
		if hub == "" {
			hub = d.Hub
		}
		emergency = emergency || d.Emergency
		if d.Emergency && d.Paired == nil {
			continue
		}
		open = open || d.Wants(projection.NeedPair) || d.Wants(projection.NeedPush) || !workable(d)
	}
	return hub, emergency, open
}

// passed goes by the last check of that test in that room.
func (p *plan) passed(plan projection.Plan) bool {
	pass := false
	for _, c := range p.site.Checks {
		if c.Of == events.Room(plan.Room) && c.Test == plan.Test {
			pass = c.Pass
		}
	}
	return pass
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

func faultWords(f projection.Fault) string {
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
