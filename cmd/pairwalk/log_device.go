package main

import (
	"fmt"
	"regexp"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// enterDevice records what a verb tells of one device, after its listing where
// it is new.
func (c *logCmd) enterDevice(a *app, tag string, tell func(m *member.Member, d *projection.Device) (events.Payload, error)) error {
	return c.enter(a, func(m *member.Member) ([]events.Payload, error) {
		listing, d, err := c.device(a, m, tag)
		if err != nil {
			return nil, err
		}
		p, err := tell(m, d)
		return append(listing, p), err
	})
}

type logFitted struct {
	Tag    string `arg:"" help:"Which position."`
	Serial string `arg:"" help:"The serial on the unit's label."`
	Source string `default:"typed" enum:"scan,typed,paper" help:"Where the serial is from: ${enum}."`
}

func (logFitted) Help() string { return "Example: pairwalk log fitted 2-114 SN-0042 --source scan" }

func (c *logFitted) Run(a *app) error {
	return a.cli.Log.enterDevice(a, c.Tag, func(_ *member.Member, d *projection.Device) (events.Payload, error) {
		return events.DeviceFitted{Device: d.Device, Serial: events.Serial(c.Serial), Source: events.Source(c.Source)}, nil
	})
}

type logPaired struct {
	Tag    string  `arg:"" help:"Which device."`
	Serial *string `arg:"" optional:"" help:"The serial on its label."`
	How    string  `help:"How: button, broadcast or label; by its kind unless given."`
	Label  string  `help:"The label's text, in place of the serial. Only a plain serial is taken: labels may hold secrets." placeholder:"TEXT"`
	To     string  `help:"The hub, if not the one it is scheduled on." placeholder:"HUB"`
}

func (logPaired) Help() string {
	return "Example: pairwalk log paired 2-114 SN-0042 --how button\n\nStay beside the device until it confirms."
}

func (c *logPaired) Run(a *app) error {
	return a.cli.Log.enterDevice(a, c.Tag, func(m *member.Member, d *projection.Device) (events.Payload, error) {
		serial, err := c.serial()
		if err != nil {
			return nil, err
		}
		hub := d.Hub
		if c.To != "" {
			if hub, err = hubOf(m, c.To); err != nil {
				return nil, err
			}
		}
		if hub == "" {
			return nil, fmt.Errorf("%s is scheduled on no hub; say which one it joined with --to HUB", d.Device)
		}
		how := events.How(c.How)
		if how == "" && d.Is != "" {
			how = d.Is.How()
		}
		return events.DevicePaired{Device: d.Device, Hub: hub, Serial: serial, How: how}, nil
	})
}

// plainSerial is what a serial may look like where a whole label is given: a
// label can also hold an install code or a passcode, which must never get into a
// log.
var plainSerial = regexp.MustCompile(`^[A-Za-z]{0,6}[-. ]?[0-9][0-9A-Za-z.-]{0,14}$`)

func (c *logPaired) serial() (events.Serial, error) {
	switch {
	case c.Serial != nil && *c.Serial == "":
		return "", usef("the serial is empty; write it, or leave it out")
	case c.Label == "" && c.Serial == nil:
		return "", nil
	case c.Label == "":
		return events.Serial(*c.Serial), nil
	case c.Serial != nil:
		return "", usef("give the serial or --label, not both")
	case !plainSerial.MatchString(c.Label):
		return "", fmt.Errorf("this label is more than a plain serial, and may hold a secret; type the serial that is printed on it")
	}
	return events.Serial(c.Label), nil
}

type logRefused struct {
	Tag  string `arg:"" help:"Which device."`
	Why  string `required:"" enum:"no-answer,already-paired,never-pairs,out-of-reach,other" help:"Why: ${enum}."`
	Note string `help:"More about it."`
}

func (logRefused) Help() string {
	return "Example: pairwalk log refused 2-114 --why no-answer\n\nFirst: are you close enough? Is it paired already? Does its kind pair at all?"
}

func (c *logRefused) Run(a *app) error {
	return a.cli.Log.enterDevice(a, c.Tag, func(_ *member.Member, d *projection.Device) (events.Payload, error) {
		return events.DeviceRefused{Device: d.Device, Why: events.RefusedWhy(c.Why), Note: c.Note}, nil
	})
}

type logSkipped struct {
	Tags string `arg:"" help:"Which devices: 3-010 or 3-010..3-014."`
	Why  string `required:"" enum:"no-access,no-power,not-fitted,damaged,other" help:"Why: ${enum}."`
	Note string `help:"More about it."`
}

func (logSkipped) Help() string {
	return "Example: pairwalk log skipped 3-010..3-014 --why no-access --note \"room locked, key with the caretaker\""
}

func (c *logSkipped) Run(a *app) error {
	return a.cli.Log.enter(a, func(m *member.Member) ([]events.Payload, error) {
		tags, err := m.Tags(c.Tags)
		if err != nil {
			return nil, err
		}
		out := make([]events.Payload, len(tags))
		for i, t := range tags {
			out[i] = events.DeviceSkipped{Device: t, Why: events.SkippedWhy(c.Why), Note: c.Note}
		}
		return out, nil
	})
}

type logUnpaired struct {
	Tag string `arg:"" help:"Which device."`
	Why string `required:"" help:"Why."`
}

func (logUnpaired) Help() string {
	return "Example: pairwalk log unpaired 2-114 --why \"reset by mistake\""
}

func (c *logUnpaired) Run(a *app) error {
	return a.cli.Log.enterDevice(a, c.Tag, func(_ *member.Member, d *projection.Device) (events.Payload, error) {
		return events.DeviceUnpaired{Device: d.Device, Why: c.Why}, nil
	})
}

type logReplaced struct {
	Tag    string `arg:"" help:"Which position."`
	Serial string `arg:"" help:"The serial of the new unit."`
	Why    string `required:"" help:"Why."`
}

func (logReplaced) Help() string {
	return "Example: pairwalk log replaced 2-114 SN-0099 --why \"dead on arrival\"\n\nThe position counts as unpaired until the new unit is paired."
}

func (c *logReplaced) Run(a *app) error {
	return a.cli.Log.enterDevice(a, c.Tag, func(_ *member.Member, d *projection.Device) (events.Payload, error) {
		return events.DeviceReplaced{Device: d.Device, Old: d.Serial, New: events.Serial(c.Serial), Why: c.Why}, nil
	})
}

type logHeard struct {
	Tags string `arg:"" help:"Which devices: 2-114 or 2-101..2-118."`
	RSSI *int   `name:"rssi" help:"How strongly, in dBm."`
}

func (logHeard) Help() string { return "Example: pairwalk log heard 2-101..2-118" }

func (c *logHeard) Run(a *app) error {
	return a.cli.Log.enter(a, func(m *member.Member) ([]events.Payload, error) {
		tags, err := m.Tags(c.Tags)
		if err != nil {
			return nil, err
		}
		s := m.Now()
		out := make([]events.Payload, len(tags))
		for i, t := range tags {
			d, _ := s.Device(t)
			p := events.DeviceHeard{Device: t, Hub: d.Hub, RSSI: maybe(c.RSSI)}
			if d.Paired != nil {
				p.Hub = d.Paired.Hub
			}
			out[i] = p
		}
		return out, nil
	})
}

// maybe is a flag's value that may not have been given.
func maybe(p *int) events.Maybe[int] {
	if p == nil {
		return events.Maybe[int]{}
	}
	return events.Some(*p)
}

type logMeasured struct {
	From string   `arg:"" help:"Who was sending: a device or hub."`
	To   string   `arg:"" help:"Who was listening."`
	RSSI *int     `name:"rssi" help:"Signal strength in dBm."`
	PDR  *float64 `name:"pdr" help:"Share of packets that arrived, 0 to 1."`
	LQI  *int     `name:"lqi" help:"Link quality, 0 to 255; not comparable between makes of radio."`
}

func (logMeasured) Help() string { return "Example: pairwalk log measured 2-114 2-110 --rssi=-71" }

func (c *logMeasured) Run(a *app) error {
	return a.cli.Log.enter(a, func(m *member.Member) ([]events.Payload, error) {
		s := m.Now()
		for _, end := range []string{c.From, c.To} {
			_, hub := s.Hub(events.HubID(end))
			if _, device := s.Device(events.Tag(end)); !hub && !device {
				return nil, fmt.Errorf("%s is neither a device nor a hub of this site%s", end, nearest(s, end))
			}
		}
		p := events.LinkMeasured{A: events.Tag(c.From), B: events.Tag(c.To), RSSI: maybe(c.RSSI), LQI: maybe(c.LQI)}
		if c.PDR != nil {
			p.PDR = events.Some(int64(*c.PDR * 1e6))
		}
		return []events.Payload{p}, nil
	})
}

type logPlaced struct {
	Tag      string  `arg:"" help:"Which device or hub."`
	X        float64 `arg:"" help:"x on the plan, in m."`
	Y        float64 `arg:"" help:"y on the plan, in m."`
	Z        float64 `arg:"" help:"Height above the site's datum, in m."`
	Accuracy float64 `help:"How well that is known, in m."`
}

func (logPlaced) Help() string {
	return "Example: pairwalk log placed 2-114 12.4 3.0 9.7 --accuracy 0.5\n         pairwalk log placed -- B1-007 12.4 3.0 -2.5   (-- before a number below zero)"
}

func (c *logPlaced) Run(a *app) error {
	return a.cli.Log.enter(a, func(m *member.Member) ([]events.Payload, error) {
		s := m.Now()
		_, hub := s.Hub(events.HubID(c.Tag))
		if _, device := s.Device(events.Tag(c.Tag)); !hub && !device {
			return nil, fmt.Errorf("%s is neither a device nor a hub of this site%s", c.Tag, nearest(s, c.Tag))
		}
		mm := func(m float64) int64 { return int64(m * 1000) }
		return []events.Payload{events.DevicePlaced{Device: events.Tag(c.Tag), Place: events.Point{X: mm(c.X), Y: mm(c.Y), Z: mm(c.Z)}, Accuracy: mm(c.Accuracy)}}, nil
	})
}
