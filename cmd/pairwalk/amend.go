package main

import (
	"pairwalk/events"
	"pairwalk/syncd/member"
)

type voidCmd struct {
	Event string `arg:"" help:"The entry: its id, or the last characters of it."`
	Why   string `required:"" enum:"did-not-happen,wrong-detail" help:"What was wrong: ${enum}."`
	Note  string `help:"More about it."`
}

func (voidCmd) Help() string {
	return "Example: pairwalk void K3TQ9Z --why did-not-happen --note \"pressed twice\"\n\nNothing is erased: the entry stays, withdrawn. After wrong-detail the settle wait still counts it, for something was paired."
}

func (c *voidCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		e, err := m.Entry(c.Event)
		if err != nil {
			return err
		}
		said, err := m.Void(a.ctx, e.Ref(), events.VoidWhy(c.Why), c.Note)
		if err != nil {
			return err
		}
		return a.said(m, said)
	})
}

type correctCmd struct {
	Event    string   `arg:"" optional:"" help:"The entry: its id, or the last characters of it."`
	Tag      string   `help:"It was this device."`
	Serial   string   `help:"It was this serial."`
	ToHub    string   `help:"It was this hub." placeholder:"HUB"`
	Exchange []string `help:"Two devices that were taken for each other." placeholder:"A,B"`
	Note     string   `help:"More about it."`
}

func (correctCmd) Help() string {
	return "Example: pairwalk correct K3TQ9Z --tag 2-115\n         pairwalk correct --exchange 2-114,2-115"
}

func (c *correctCmd) Run(a *app) error {
	// Two tags may also be written apart: --exchange A B.
	if len(c.Exchange) == 1 && c.Event != "" {
		c.Exchange, c.Event = append(c.Exchange, c.Event), ""
	}
	if (c.Event == "") == (len(c.Exchange) == 0) {
		return usef("give an entry to correct, or --exchange A B")
	}
	if n := len(c.Exchange); n != 0 && n != 2 {
		return usef("--exchange takes two devices: --exchange A B")
	}
	return a.withMember(func(m *member.Member) error {
		if len(c.Exchange) == 2 {
			evs, err := m.Exchange(a.ctx, events.Tag(c.Exchange[0]), events.Tag(c.Exchange[1]), c.Note)
			if err != nil {
				return err
			}
			return a.said(m, evs...)
		}
		e, err := m.Entry(c.Event)
		if err != nil {
			return err
		}
		change := member.Correction{Tag: events.Tag(c.Tag), Serial: events.Serial(c.Serial), Hub: events.HubID(c.ToHub), Note: c.Note}
		if err := m.Knows(events.Device(change.Tag), events.Hub(change.Hub)); err != nil {
			return usef("%w", err)
		}
		evs, err := m.Correct(a.ctx, e.Ref(), change)
		if err != nil {
			return err
		}
		return a.said(m, evs...)
	})
}
