package main

import (
	"fmt"
	"strings"

	"pairwalk/events"
	"pairwalk/projection/checks"
	"pairwalk/syncd/member"
)

type logPlanned struct {
	Room  string   `arg:"" help:"Which room."`
	Test  string   `required:"" enum:"occupancy,vacancy,daylight,time-switch,manual,egress,answer,other" help:"Which test: ${enum}."`
	Limit []string `help:"What it is to be held against, where that is not as the settings say: off_within=15min, auto_on=40%, override_within=2h, average=1fc, minimum=0.1fc, max_to_min=40; or any name that ends in its unit, and a whole number." placeholder:"NAME=VALUE" sep:"none"`
	Note  string   `help:"More about it."`
}

func (logPlanned) Help() string {
	return "Example: pairwalk log planned 3.12 --test occupancy --limit off_within=15min\n\n" +
		"What a room is to pass. A later plan of the same test in the same room replaces this one; withdraw it with void.\n" +
		checks.CautionEgress
}

func (c *logPlanned) Run(a *app) error {
	return a.cli.Log.enter(a, func(m *member.Member) ([]events.Payload, error) {
		room, err := roomOf(m, c.Room)
		if err != nil {
			return nil, err
		}
		p := events.TestPlanned{Room: room, Test: events.TestKind(c.Test), Note: c.Note}
		for _, text := range c.Limit {
			name, value, err := checks.ParseLimit(text)
			if err != nil {
				return nil, usef("%w", err)
			}
			if _, twice := p.Limits[name]; twice {
				return nil, usef("%s is given twice", name)
			}
			if p.Limits == nil {
				p.Limits = map[string]int64{}
			}
			p.Limits[name] = value
		}
		return []events.Payload{p}, nil
	})
}

// roomOf finds a room on the schedule.
func roomOf(m *member.Member, name string) (events.RoomID, error) {
	room := events.RoomID(strings.TrimPrefix(name, "room:"))
	s := m.Now()
	for _, r := range s.Rooms {
		if r.Room == room {
			return room, nil
		}
	}
	for i := range s.Devices {
		if s.Devices[i].Room == room && room != "" {
			return room, nil
		}
	}
	if len(s.Rooms) == 0 {
		return "", fmt.Errorf("no room %q is on the schedule; import one with a column room", name)
	}
	names := make([]string, len(s.Rooms))
	for i, r := range s.Rooms {
		names[i] = string(r.Room)
	}
	return "", fmt.Errorf("no room %q is on the schedule; there are %s", name, listTags(names))
}

type logCheck struct {
	Subject    string `arg:"" help:"A room or device."`
	Test       string `required:"" enum:"occupancy,vacancy,daylight,time-switch,manual,egress,answer,other" help:"Which test: ${enum}."`
	Pass       bool   `xor:"verdict" help:"It passed."`
	Fail       bool   `xor:"verdict" help:"It failed."`
	Reading    string `help:"What was read, with its unit."`
	Instrument string `help:"With what."`
	Limit      string `help:"What it was held against; the plan's and the settings' unless given."`
	Note       string `help:"More about it."`
}

func (logCheck) Help() string {
	return "Example: pairwalk log check 3.12 --test occupancy --pass --reading \"off after 14 min\"\n\n" +
		"Which tests are owed, and against which limits, is what pairwalk checks lists."
}

func (c *logCheck) Run(a *app) error {
	if !c.Pass && !c.Fail {
		return usef("say how it went: --pass or --fail")
	}
	return a.cli.Log.enterSubject(a, c.Subject, func(m *member.Member, of events.Subject) (events.Payload, error) {
		p := events.CheckDone{Of: of, Test: events.TestKind(c.Test), Pass: c.Pass, Reading: c.Reading, Instrument: c.Instrument, Limit: c.Limit, Note: c.Note}
		if p.Limit == "" {
			p.Limit = checks.LimitWords(checks.LimitsOf(m.Now(), of, p.Test))
		}
		return p, nil
	})
}
