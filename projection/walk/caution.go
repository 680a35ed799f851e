package walk

import (
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// Cautions, said where the work can hurt someone. CautionMains cites U.S. OSHA 29
// CFR 1910.333(b).
const (
	CautionPermit    = "Local codes and licensed practice govern. This log is a record, not a permit to work."
	CautionMains     = "Opening a fitting, driver or switch box is work on mains wiring: only qualified persons, after isolation, lockout and an absence-of-voltage test. Dimmed or switched to off is not isolated: a control device must never be the only means of disconnection (29 CFR 1910.333(b))."
	CautionEmergency = "Emergency and egress lighting: do not pair, dim or disable it until the authority having jurisdiction has said what is required."
	CautionPower     = "\"Switched off\" or \"power off\" in the log is an entry, not isolation. Prove absence of voltage."
	CautionHold      = "A hold is not a lockout. Prove absence of voltage."
	CautionPush      = "Before a push or a switching test, warn people on ladders and stairs: lights may change."
	CautionHeight    = "Working at height and in occupied buildings: local rules apply."
)

// Reminders of good practice (common practice, no source), said with a suggestion.
const (
	remindStay    = "stay beside it until it confirms"                                             // R5
	remindRefused = "are you close enough? is it paired already? is it a device that never pairs?" // R6
)

// CautionsOf lists what to mind about an entry.
func CautionsOf(s *projection.Site, p events.Payload) []string {
	var out []string
	switch p := p.(type) {
	case events.PowerOff, events.PowerOn:
		out = append(out, CautionPower)
	case events.HoldPlaced:
		out = append(out, CautionHold)
	case events.PushDone:
		out = append(out, CautionPush)
	case events.CheckDone:
		out = append(ofTest(p.Test), CautionPush)
	case events.TestPlanned:
		out = ofTest(p.Test)
	case events.DeviceReplaced, events.FaultFound:
		out = append(out, CautionMains)
	}
	for _, x := range p.Subjects() {
		tag, _ := x.Tag()
		if d, known := s.Device(tag); known && d.Emergency && !slices.Contains(out, CautionEmergency) {
			out = append(out, CautionEmergency)
		}
	}
	return out
}

// ofTest is what to mind about a functional test of that kind.
func ofTest(kind events.TestKind) []string {
	if kind == events.TestEgress {
		return []string{CautionEmergency}
	}
	return nil
}
