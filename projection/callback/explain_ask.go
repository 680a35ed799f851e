package callback

import (
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// mostQuestions is how many questions go on a telephone call, the telling ones
// first (common practice, no source).
const mostQuestions = 8

// ask lists what to ask on the telephone: what tells the causes apart first, then
// what the log can't know.
func (x *inquiry) ask(causes []Cause) []string {
	var out []string
	named := map[events.CircuitID]bool{}
	say := func(words string) {
		if words != "" && !slices.Contains(out, words) && len(out) < mostQuestions {
			out = append(out, words)
		}
	}
	for i := range causes[:min(3, len(causes))] {
		c := &causes[i]
		if c.fit > 0 {
			say(x.tells(c))
		}
		if c.Subject.Class == events.OfCircuit {
			named[events.CircuitID(c.Subject.ID)] = true
		}
	}
	for _, words := range x.bySymptom(named) {
		say(words)
	}
	return out
}

// bySymptom lists what to ask whatever the log says. Where there is light, nobody is
// asked after breakers and dark rooms.
func (x *inquiry) bySymptom(named map[events.CircuitID]bool) []string {
	const moved = "Was furniture or shelving moved, a fitting replaced, or was there building work?"
	switch x.Symptom {
	case WrongLevel:
		return []string{"Which level is it, and which should it be? Does it change when a button is pressed?", x.oneOrAll(), x.control(),
			"Is it so at every hour, or with daylight, or when somebody comes in?", "Did anybody change a level or a scene, or hold a button down?", moved}
	case AlwaysOn:
		return []string{"Does it stay on at every hour, and with nobody there? Was it ever dark since?", x.oneOrAll(), x.control(),
			"Does anything move in the sight of the sensor: a fan, a blind, warm air, somebody next door?", "Did anybody change a setting, or bridge a wall switch?", moved}
	}
	when := "Since when exactly, and was it all of them at once?"
	if x.Symptom == Intermittent {
		when = "At which times does it come and go: with a door, a machine, people, the time of day?"
	}
	return []string{x.sharing(named), x.nextDoor(named), when, x.oneOrAll(), x.control(), "Did anybody switch off a breaker, or a wall switch that is labelled to stay on?", moved}
}

// tells asks what would bear one cause out, or rule it out.
func (x *inquiry) tells(c *Cause) string {
	lit := x.Symptom == WrongLevel || x.Symptom == AlwaysOn
	switch c.Kind {
	case ByPower, ByPathCircuit, ByHubPower, ByLastPath, ByCuts:
		if c.Subject.Class == events.OfCircuit && lit {
			return ""
		}
		if c.Subject.Class == events.OfCircuit {
			if rooms := x.roomsOn(events.CircuitID(c.Subject.ID), false); rooms != "" {
				return fmt.Sprintf("Are the lights of %s (%s) on?", rooms, c.Subject.Words())
			}
			return fmt.Sprintf("Is the breaker labelled %s on? Only look, don't switch it: somebody may be working on it.", c.Subject.ID)
		}
		return fmt.Sprintf("Does %s, %s, answer?", c.Subject.Words(), x.where(c.Subject))
	case ByPathRouter, BySingle:
		if c.Subject.Class == events.OfCircuit {
			return fmt.Sprintf("Is the breaker labelled %s on? Only look, don't switch it: somebody may be working on it.", c.Subject.ID)
		}
		return fmt.Sprintf("Is %s, %s, lit and in its place? Was it replaced?", c.Subject.Words(), x.where(c.Subject))
	case ByHubLost, ByNewChannel, ByPushFailed:
		return fmt.Sprintf("Does anything else on hub %s answer?", c.Subject.ID)
	case ByReplaced, BySerial, ByUnpaired:
		return fmt.Sprintf("Did anybody replace or reset %s, and what does the label on it say?", someOf(c.Devices))
	case ByHeld:
		return fmt.Sprintf("Is anybody still working on %s?", c.Subject.Words())
	case ByMissed, ByNotPaired:
		return fmt.Sprintf("Has anybody worked on %s since?", someOf(c.Devices))
	case ByEarlyPush, ByNotMerged, ByNotListed, ByOldProgram, ByNotPushed:
		return fmt.Sprintf("Did %s ever do what it should?", someOf(c.Devices))
	case ByFailedCheck:
		p, _ := c.main.Event.Payload.(events.CheckDone)
		if p.Reading != "" {
			return fmt.Sprintf("The %s test of %s failed at %s: %s. Is it the same now?", p.Test, p.Of.Words(), x.clock(c.main.At), p.Reading)
		}
		return fmt.Sprintf("The %s test of %s failed at %s. What does it do now?", p.Test, p.Of.Words(), x.clock(c.main.At))
	case ByOpenFault:
		if p, ok := c.main.Event.Payload.(events.FaultFound); ok {
			return fmt.Sprintf("Is it still so: \"%s\"? Did anybody come to mend it?", p.Symptom)
		}
		return "Did anybody come to mend it?"
	case ByWeakLink, ByMoved:
		return "What stands in the way there now that did not before: shelving, a door, a wall?"
	}
	return ""
}

// where says where a device is, as the schedule has it.
func (x *inquiry) where(s events.Subject) string {
	tag, _ := s.Tag()
	d, ok := x.site.Device(tag)
	switch {
	case ok && d.Room != "":
		return "in room " + string(d.Room)
	case ok && d.Floor != "":
		return "on floor " + string(d.Floor)
	}
	return "as the plan shows it"
}

// roomsOn names the rooms that a circuit feeds, if the schedule knows; those asked
// about only if wanted.
func (x *inquiry) roomsOn(id events.CircuitID, asked bool) string {
	var rooms []events.RoomID
	for i := range x.site.Devices {
		d := &x.site.Devices[i]
		if d.Room == "" || !x.site.Within(d, events.Circuit(id)) || slices.Contains(rooms, d.Room) || !asked && x.asksOf(d.Room) {
			continue
		}
		rooms = append(rooms, d.Room)
	}
	slices.SortFunc(rooms, events.ByName[events.RoomID])
	switch len(rooms) {
	case 0:
		return ""
	case 1:
		return "room " + string(rooms[0])
	}
	return "rooms " + someOf(rooms)
}

func (x *inquiry) asksOf(room events.RoomID) bool {
	return slices.ContainsFunc(x.devices, func(d *projection.Device) bool { return d.Room == room })
}

// nextDoor asks for the circuits that the way home runs over, as it was when the
// device was last seen to work.
func (x *inquiry) nextDoor(named map[events.CircuitID]bool) string {
	for _, d := range x.devices {
		r, ok := x.net.Reach(d.Device)
		if seen := proof(d); (!ok || r.Path == nil) && seen != nil {
			r, ok = x.at(seen.At).net.Reach(d.Device)
		}
		if !ok || len(r.Path) < 3 {
			continue
		}
		for _, t := range r.Path[1 : len(r.Path)-1] {
			router, known := x.site.Device(t)
			if !known || router.Circuit == "" || router.Circuit == d.Circuit || named[router.Circuit] {
				continue
			}
			if rooms := x.roomsOn(router.Circuit, false); rooms != "" {
				return fmt.Sprintf("Are the lights of %s (circuit %s) on?", rooms, router.Circuit)
			}
		}
	}
	return "Is the next room dark as well?"
}

// sharing asks after what is on the same circuit, or else after the circuit itself.
func (x *inquiry) sharing(named map[events.CircuitID]bool) string {
	for _, d := range x.devices {
		if d.Circuit == "" || named[d.Circuit] {
			continue
		}
		if rooms := x.roomsOn(d.Circuit, false); rooms != "" {
			return fmt.Sprintf("Does the light in %s, on the same circuit %s, work?", rooms, d.Circuit)
		}
		if d.Power == events.Mains {
			return fmt.Sprintf("Is the breaker labelled %s, which feeds %s, on? Only look, don't switch it: somebody may be working on it.", d.Circuit, d.Device)
		}
	}
	return ""
}

func (x *inquiry) oneOrAll() string {
	if len(x.devices) > 1 {
		return fmt.Sprintf("All %d of them, or only some, and which?", len(x.devices))
	}
	return "Only that one, or others in the room too?"
}

// control asks for a wall control in the rooms asked about.
func (x *inquiry) control() string {
	for i := range x.site.Devices {
		d := &x.site.Devices[i]
		if d.Is == events.WallControl && d.Struck == nil && d.Room != "" && x.asksOf(d.Room) && !(len(x.devices) == 1 && x.devices[0] == d) {
			return fmt.Sprintf("Does the wall control %s in room %s do anything?", d.Device, d.Room)
		}
	}
	return "Does the wall control there do anything?"
}
