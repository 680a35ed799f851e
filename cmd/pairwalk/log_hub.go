package main

import (
	"fmt"
	"strings"

	"pairwalk/events"
	"pairwalk/syncd/member"
)

type logReady struct {
	Hub string `arg:"" help:"Which hub."`
}

func (logReady) Help() string { return "Example: pairwalk log ready H2" }

func (c *logReady) Run(a *app) error {
	return a.cli.Log.enterAbout(a, []string{c.Hub}, func(m *member.Member) ([]events.Payload, error) {
		hub, err := hubOf(m, c.Hub)
		return []events.Payload{events.HubReady{Hub: hub}}, err
	})
}

type logLost struct {
	Hub string `arg:"" help:"Which hub."`
	Why string `required:"" help:"What is known of why."`
}

func (logLost) Help() string {
	return "Example: pairwalk log lost H2 --why \"no answer on the network\""
}

func (c *logLost) Run(a *app) error {
	return a.cli.Log.enterAbout(a, []string{c.Hub}, func(m *member.Member) ([]events.Payload, error) {
		hub, err := hubOf(m, c.Hub)
		return []events.Payload{events.HubLost{Hub: hub, Why: c.Why}}, err
	})
}

type logChannel struct {
	Hub     string `arg:"" help:"Which hub."`
	Channel int    `arg:"" help:"The channel's number."`
	Radio   string `default:"mesh" enum:"mesh,star" help:"Which of its radios: ${enum}."`
}

func (logChannel) Help() string {
	return "Example: pairwalk log channel H2 20\n\nChoose the channel before pairing; a later change needs a fresh push."
}

func (c *logChannel) Run(a *app) error {
	return a.cli.Log.enter(a, func(m *member.Member) ([]events.Payload, error) {
		hub, err := hubOf(m, c.Hub)
		if err != nil {
			return nil, err
		}
		if c.Radio == string(events.Mesh) {
			if _, err := events.ParseChannels(fmt.Sprint(c.Channel)); err != nil {
				return nil, fmt.Errorf("mesh channel: %w", err)
			}
		}
		return []events.Payload{events.HubChannel{Hub: hub, Radio: events.Radio(c.Radio), Channel: c.Channel}}, nil
	})
}

type logLoaded struct {
	Hub     string `arg:"" help:"Which hub."`
	Program string `required:"" help:"The program's name, such as r7."`
	Lists   string `help:"A text file with the tags the program lists, one a line; all scheduled devices unless given." placeholder:"FILE"`
}

func (logLoaded) Help() string {
	return "Example: pairwalk log loaded H2 --program r7 --lists r7-devices.txt\n\nA program should list every device before it is paired."
}

func (c *logLoaded) Run(a *app) error {
	return a.cli.Log.enter(a, func(m *member.Member) ([]events.Payload, error) {
		hub, err := hubOf(m, c.Hub)
		if err != nil {
			return nil, err
		}
		p := events.HubLoaded{Hub: hub, Program: events.Program(c.Program), All: c.Lists == ""}
		if c.Lists != "" {
			text, err := a.readFile(c.Lists)
			if err != nil {
				return nil, err
			}
			if p.Lists, err = m.Tags(strings.Join(strings.Fields(string(text)), ",")); err != nil {
				return nil, fmt.Errorf("%s: %w", c.Lists, err)
			}
		}
		return []events.Payload{p}, nil
	})
}

type logPushed struct {
	Hub     string `arg:"" help:"Which hub."`
	Program string `required:"" help:"The program that was sent out."`
	Missed  string `help:"Devices that did not take it: 2-101,2-110..2-112." placeholder:"TAGS"`
	Tried   string `help:"Only these were tried; all of the hub's unless given." placeholder:"TAGS"`
}

func (logPushed) Help() string {
	return "Example: pairwalk log pushed H2 --program r7 --missed 2-114,2-117\n\nAsk first: pairwalk settle H2"
}

func (c *logPushed) Run(a *app) error {
	return a.cli.Log.enter(a, func(m *member.Member) ([]events.Payload, error) {
		hub, err := hubOf(m, c.Hub)
		if err != nil {
			return nil, err
		}
		p := events.PushDone{Hub: hub, Program: events.Program(c.Program)}
		if p.Missed, err = tagsOf(m, c.Missed); err != nil {
			return nil, err
		}
		p.Tried, err = tagsOf(m, c.Tried)
		return []events.Payload{p}, err
	})
}

// tagsOf reads a list of tags that may be empty.
func tagsOf(m *member.Member, text string) ([]events.Tag, error) {
	if text == "" {
		return nil, nil
	}
	return m.Tags(text)
}

type logPushFailed struct {
	Hub string `arg:"" help:"Which hub."`
	Why string `required:"" help:"Why."`
}

func (logPushFailed) Help() string {
	return "Example: pairwalk log push-failed H2 --why \"hub restarted in the middle\""
}

func (c *logPushFailed) Run(a *app) error {
	return a.cli.Log.enterAbout(a, []string{c.Hub}, func(m *member.Member) ([]events.Payload, error) {
		hub, err := hubOf(m, c.Hub)
		return []events.Payload{events.PushFailed{Hub: hub, Why: c.Why}}, err
	})
}

type logMerged struct {
	Hub    string `arg:"" optional:"" help:"For which hub; the whole site unless given."`
	Export string `help:"Which export; the last one unless given." placeholder:"ID"`
}

func (logMerged) Help() string { return "Example: pairwalk log merged H2" }

func (c *logMerged) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		var hub events.HubID
		if c.Hub != "" {
			var err error
			if hub, err = hubOf(m, c.Hub); err != nil {
				return err
			}
		}
		x, err := a.cli.Log.entry(a, m, events.RecordsMerged{Export: "x"})
		if err != nil {
			return err
		}
		e, err := m.Merged(a.ctx, c.Export, hub, x)
		if err != nil {
			return err
		}
		return a.said(m, e)
	})
}

type logAsked struct {
	Member string `arg:"" help:"Whom you asked."`
	Hub    string `arg:"" help:"About which hub."`
	Last   string `required:"" help:"When they last paired anything on it: a time, or none (that you have not heard of)." placeholder:"TIME"`
}

func (logAsked) Help() string {
	return "Example: pairwalk log asked Bo H2 --last none\n         pairwalk log asked Bo H2 --last 11:20"
}

func (c *logAsked) Run(a *app) error {
	return a.cli.Log.enter(a, func(m *member.Member) ([]events.Payload, error) {
		who, err := m.Person(c.Member)
		if err != nil {
			return nil, err
		}
		hub, err := hubOf(m, c.Hub)
		if err != nil {
			return nil, err
		}
		p := events.MemberAsked{Member: who.Key, Hub: hub, Through: a.world.Now().Wall.At}
		if c.Last != "none" {
			x, err := (&logCmd{When: c.Last}).entry(a, m, p)
			if err != nil {
				return nil, fmt.Errorf("--last: %w, or none", err)
			}
			p.Last = x.When
		}
		return []events.Payload{p}, nil
	})
}
