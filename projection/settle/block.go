package settle

import (
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// block finds everything that has to be done before a push, other than to wait
// and to ask.
func (m *matter) block() {
	m.blockUnready()
	m.blockProgram()
	m.blockRecords()
	m.blockConflicts()
	m.blockHolds()
	m.blockChannel()
}

func (m *matter) blockUnready() {
	h := m.hub
	switch {
	case h.Struck != nil:
		m.because(Blocked, HubStruck, fmt.Sprintf("%s is struck from the schedule: list it again, or unpair its devices", h.Hub), nil, h.Struck.Ref())
	case h.Lost != nil:
		m.because(Blocked, NotReady, fmt.Sprintf("%s was lost (%s): bring it back, then log it ready", h.Hub, h.LostWhy), nil, h.Lost.Ref())
	case h.Ready == nil:
		m.because(Blocked, NotReady, fmt.Sprintf("%s has never been logged ready: see that it has power, answers and is on its channel, then log it ready", h.Hub), nil)
	}
}

func (m *matter) blockProgram() {
	if m.hub.Program == "" {
		m.because(Blocked, NoProgram, fmt.Sprintf("%s holds no program: load one that lists every device paired to it, and log it loaded", m.hub.Hub), nil)
		return
	}
	var lacking []*projection.Device
	for _, d := range m.paired {
		if !m.hub.Holding(d.Device) {
			lacking = append(lacking, d)
		}
	}
	if len(lacking) == 0 {
		return
	}
	about, names := tagsOf(lacking)
	m.because(Blocked, NotListed, fmt.Sprintf("program %s does not list %s: load one that does, and log it loaded", m.hub.Program, names), about, m.hub.Loaded.Ref())
}

// blockRecords holds to R7: what was paired is in the design file before a push.
func (m *matter) blockRecords() {
	var inside, abroad []*projection.Device
	var insideRefs, abroadRefs []events.Ref
	export := ""
	for _, d := range m.paired {
		switch x, merged := m.brought.home(d.Paired.Ref(), m.hub.Hub); {
		case merged:
		case x == "":
			inside, insideRefs = append(inside, d), append(insideRefs, d.Paired.Ref())
		default:
			abroad, abroadRefs, export = append(abroad, d), append(abroadRefs, d.Paired.Ref()), x
		}
	}
	if about, names := tagsOf(inside); len(inside) > 0 {
		m.because(Blocked, NotExported, fmt.Sprintf("the records of %s have not come home: export them, have the office merge them, and log that", names), about, insideRefs...)
	}
	if about, names := tagsOf(abroad); len(abroad) > 0 {
		m.because(Blocked, NotMerged, fmt.Sprintf("export %s, with %s, is not merged into the design file yet: have the office merge it, and log that", export, names), about, abroadRefs...)
	}
}

// blockConflicts goes by those of identity, which are all that a Site lists.
func (m *matter) blockConflicts() {
	for _, c := range m.site.Conflicts {
		if !slices.ContainsFunc(c.Subjects, m.mine) {
			continue
		}
		m.because(Blocked, InConflict, c.Why+": say which stands", c.Subjects, c.Events...)
		m.reasons[len(m.reasons)-1].Conflict = c.Key
	}
}

// mine says whether a subject is the hub, or a device paired to it or, unpaired,
// scheduled on it.
func (m *matter) mine(s events.Subject) bool {
	if id, ok := s.Hub(); ok {
		return id == m.hub.Hub
	}
	tag, ok := s.Tag()
	if !ok {
		return false
	}
	d, ok := m.site.Device(tag)
	if !ok || d.Paired != nil {
		return ok && d.Paired.Hub == m.hub.Hub
	}
	return d.Hub == m.hub.Hub
}

func (m *matter) blockHolds() {
	for _, hold := range m.site.Holds {
		if !m.under(hold) {
			continue
		}
		who := hold.Who
		if who == "" {
			who = m.site.DoneBy(hold.Placed.Event)
		}
		m.because(Blocked, OnHold, fmt.Sprintf("%s is on hold (%s, for %s): lift the hold once they agree", hold.Of.Words(), hold.Why, who), []events.Subject{hold.Of}, hold.Placed.Ref())
	}
}

// under says whether a hold keeps hands off the hub or a device paired to it. A
// push changes lights in every place they are in.
func (m *matter) under(hold projection.Hold) bool {
	h := m.hub
	switch hold.Of {
	case events.Site(), events.Hub(h.Hub), events.Floor(h.Floor), events.Room(h.Room), events.Circuit(h.Circuit):
		return true
	}
	return slices.ContainsFunc(m.paired, func(d *projection.Device) bool { return hold.Touches(d) })
}

// blockChannel holds to R1. A push cures a change of channel, so the change only
// asks that the hub be called ready again first.
func (m *matter) blockChannel() {
	for _, r := range events.Radios {
		ch := m.hub.Channels[r]
		if ch.Changed == nil || accepted(m.site, channelConflict(m.hub, r, ch).Key) {
			continue
		}
		if ready := m.hub.Ready; ready != nil && ready.After(*ch.Changed) {
			m.because(Ready, NewChannel, fmt.Sprintf("this push carries the change to %s channel %d to the devices", r, ch.Number), nil, ch.Changed.Ref())
			continue
		}
		m.because(Blocked, NewChannel, fmt.Sprintf("%s went to %s channel %d after devices were paired: see that it runs on it and log it ready again, then push", m.hub.Hub, r, ch.Number), nil, ch.Changed.Ref())
	}
}

// accepted says whether somebody resolved a conflict.
func accepted(s *projection.Site, key string) bool {
	return slices.ContainsFunc(s.Resolved, func(r projection.Resolution) bool { return r.Key == key })
}
