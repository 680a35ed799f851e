package main

import (
	"errors"
	"fmt"
	"strings"

	"pairwalk/events"
	"pairwalk/events/label"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// enterDevice records what a verb tells of one device, and of other names, after its
// listing where it is new.
func (c *logCmd) enterDevice(a *app, tag string, names []string, tell func(m *member.Member, d *projection.Device) (events.Payload, error)) error {
	return c.enterAbout(a, append(names, tag), func(m *member.Member) ([]events.Payload, error) {
		listing, d, err := c.device(a, m, tag)
		if err != nil {
			return nil, err
		}
		p, err := tell(m, d)
		return append(listing, p), err
	})
}

type logFitted struct {
	Tag    string  `arg:"" help:"Which position."`
	Serial *string `arg:"" optional:"" help:"The serial on the unit's label."`
	Label  string  `help:"The label's text as scanned, in place of the serial. Secrets in it are left out." placeholder:"TEXT"`
	Source string  `default:"" enum:"scan,typed,paper," help:"Where the serial is from: scan, typed or paper. A label is scanned unless you say so."`
}

func (logFitted) Help() string {
	return "Example: pairwalk log fitted 2-114 SN-0042 --source paper\n         pairwalk log fitted 2-114 --label \"(01)05412345000013(21)AJY3095721P49\""
}

func (c *logFitted) Run(a *app) error {
	return a.enterUnit(c.Tag, unitOf{c.Serial, c.Label}, nil, func(_ *member.Member, d *projection.Device, u unit) (events.Payload, error) {
		if u.serial == "" {
			return nil, errNoSerial
		}
		source := events.Typed
		switch {
		case c.Source != "":
			source = events.Source(c.Source)
		case c.Label != "":
			source = events.Scanned
		}
		return events.DeviceFitted{Device: d.Device, Serial: u.serial, Label: u.label, Source: source}, nil
	})
}

type logPaired struct {
	Tag    string  `arg:"" help:"Which device."`
	Serial *string `arg:"" optional:"" help:"The serial on its label."`
	How    string  `help:"How: button, broadcast or label; by its kind unless given."`
	Label  string  `help:"The label's text as scanned, in place of the serial. Secrets in it are left out." placeholder:"TEXT"`
	To     string  `help:"The hub, if not the one it is scheduled on." placeholder:"HUB"`
}

func (logPaired) Help() string {
	return "Example: pairwalk log paired 2-114 SN-0042 --how button\n\nStay beside the device until it confirms."
}

func (c *logPaired) Run(a *app) error {
	return a.enterUnit(c.Tag, unitOf{c.Serial, c.Label}, []string{c.To}, func(m *member.Member, d *projection.Device, u unit) (events.Payload, error) {
		hub := d.Hub
		if c.To != "" {
			var err error
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
		return events.DevicePaired{Device: d.Device, Hub: hub, Serial: u.serial, How: how}, nil
	})
}

// unitOf is how a unit was named: by a typed serial, or by the text of its label.
type unitOf struct {
	serial *string
	label  string
}

// unit is what of that may go into the log.
type unit struct {
	serial events.Serial // "" where nothing was said
	label  string        // what the label says besides
	notes  []string
}

var errNoSerial = usef("write the serial, or give the label's text with --label")

// read takes a serial as typed, and of a label what may be kept: it can also hold
// an install code or a setup code, which must never get into a log.
func (u unitOf) read() (unit, error) {
	switch {
	case u.serial != nil && *u.serial == "":
		return unit{}, usef("the serial is empty; write it, or leave it out")
	case u.serial != nil && u.label != "":
		return unit{}, usef("give the serial or --label, not both")
	case u.serial != nil:
		if label.IsSecret(*u.serial) {
			return unit{}, errors.New("this is an install code or a Matter code, which is a secret; type the serial printed on the label")
		}
		return unit{serial: events.Serial(*u.serial)}, nil
	case u.label == "":
		return unit{}, nil
	}
	r, err := label.Read(u.label)
	if err != nil {
		return unit{}, err
	}
	if r.Serial == "" {
		return unit{}, fmt.Errorf("nothing was recorded: %s", strings.Join(r.Notes, "; "))
	}
	out := unit{serial: events.Serial(r.Serial), notes: r.Notes}
	if r.Text != r.Serial {
		out.label = r.Text
	}
	return out, nil
}

// enterUnit records what a verb tells of one device and the unit there, and prints
// what there is to say about the unit's label.
func (a *app) enterUnit(tag string, of unitOf, names []string, tell func(m *member.Member, d *projection.Device, u unit) (events.Payload, error)) error {
	var notes []string
	if u, err := of.read(); err == nil {
		names = append(names, string(u.serial))
	}
	err := a.cli.Log.enterDevice(a, tag, names, func(m *member.Member, d *projection.Device) (events.Payload, error) {
		u, err := of.read()
		if err != nil {
			return nil, err
		}
		notes = u.notes
		return tell(m, d, u)
	})
	if err != nil {
		return err
	}
	to := a.stdout
	if a.cli.JSON {
		to = a.stderr // the document stands alone
	}
	for _, n := range notes {
		fmt.Fprintln(to, "  "+a.warn("label: "+n))
	}
	return nil
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
	return a.cli.Log.enterDevice(a, c.Tag, nil, func(_ *member.Member, d *projection.Device) (events.Payload, error) {
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
	return a.cli.Log.enterAbout(a, tagNames(c.Tags), func(m *member.Member) ([]events.Payload, error) {
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

// tagNames are the names in a list of tags; none where it has a range, of which
// nobody knows the tags but from what others there are.
func tagNames(tags string) []string {
	if strings.Contains(tags, "..") {
		return nil
	}
	names := []string{tags}
	for part := range strings.SplitSeq(tags, ",") {
		names = append(names, strings.TrimSpace(part))
	}
	return names
}

type logUnpaired struct {
	Tag string `arg:"" help:"Which device."`
	Why string `required:"" help:"Why."`
}

func (logUnpaired) Help() string {
	return "Example: pairwalk log unpaired 2-114 --why \"reset by mistake\""
}

func (c *logUnpaired) Run(a *app) error {
	return a.cli.Log.enterDevice(a, c.Tag, nil, func(_ *member.Member, d *projection.Device) (events.Payload, error) {
		return events.DeviceUnpaired{Device: d.Device, Why: c.Why}, nil
	})
}

type logReplaced struct {
	Tag    string  `arg:"" help:"Which position."`
	Serial *string `arg:"" optional:"" help:"The serial of the new unit."`
	Label  string  `help:"The text of the new unit's label as scanned, in place of the serial. Secrets in it are left out." placeholder:"TEXT"`
	Why    string  `required:"" help:"Why."`
}

func (logReplaced) Help() string {
	return "Example: pairwalk log replaced 2-114 SN-0099 --why \"dead on arrival\"\n\nThe position counts as unpaired until the new unit is paired."
}

func (c *logReplaced) Run(a *app) error {
	return a.enterUnit(c.Tag, unitOf{c.Serial, c.Label}, nil, func(_ *member.Member, d *projection.Device, u unit) (events.Payload, error) {
		if u.serial == "" {
			return nil, errNoSerial
		}
		return events.DeviceReplaced{Device: d.Device, Old: d.Serial, New: u.serial, Why: c.Why}, nil
	})
}

type logHeard struct {
	Tags string `arg:"" help:"Which devices: 2-114 or 2-101..2-118."`
	RSSI *int   `name:"rssi" help:"How strongly, in dBm."`
}

func (logHeard) Help() string { return "Example: pairwalk log heard 2-101..2-118" }

func (c *logHeard) Run(a *app) error {
	return a.cli.Log.enterAbout(a, tagNames(c.Tags), func(m *member.Member) ([]events.Payload, error) {
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
	return a.cli.Log.enterAbout(a, []string{c.From, c.To}, func(m *member.Member) ([]events.Payload, error) {
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
	return a.cli.Log.enterAbout(a, []string{c.Tag}, func(m *member.Member) ([]events.Payload, error) {
		s := m.Now()
		_, hub := s.Hub(events.HubID(c.Tag))
		if _, device := s.Device(events.Tag(c.Tag)); !hub && !device {
			return nil, fmt.Errorf("%s is neither a device nor a hub of this site%s", c.Tag, nearest(s, c.Tag))
		}
		mm := func(m float64) int64 { return int64(m * 1000) }
		return []events.Payload{events.DevicePlaced{Device: events.Tag(c.Tag), Place: events.Point{X: mm(c.X), Y: mm(c.Y), Z: mm(c.Z)}, Accuracy: mm(c.Accuracy)}}, nil
	})
}
