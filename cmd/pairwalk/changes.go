package main

import (
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

type changesCmd struct {
	T1      string `arg:"" name:"t1" help:"The first moment: 14:05, yesterday 17:00, -2h, a date for the start of that day, or RFC 3339."`
	T2      string `arg:"" optional:"" name:"t2" help:"The second; leave out for the last entry known here."`
	Floor   string `help:"Only what is on this floor." xor:"about"`
	Hub     string `help:"Only this hub and its devices." xor:"about"`
	Room    string `help:"Only what is in this room." xor:"about"`
	Subject string `help:"Only this device with what it hangs on, circuit, room, floor or hub." xor:"about"`
	KnownBy string `help:"The first moment as known to this member: what did they not know?" placeholder:"MEMBER"`
	KnownAt string `help:"With --known-by: as they knew it at this time." placeholder:"TIME"`
}

func (changesCmd) Help() string {
	return "Example: pairwalk changes \"yesterday 17:00\" --floor 2\n\n" +
		"Net differences, each under the entry that did it, with both its times and who is known to have heard of it by the second moment. " +
		"What went and came back in between is told last: an intermittent complaint lives there. Where the first moment is the later one, it reads backwards."
}

func (c *changesCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		from, to, err := c.moments(a, m)
		if err != nil {
			return err
		}
		about, err := c.about(m)
		if err != nil {
			return err
		}
		doc, err := m.Changes(from, to, about)
		if err != nil {
			return err
		}
		if a.cli.JSON {
			return a.printJSON(doc)
		}
		a.differs(doc, c.T2 == "")
		return nil
	})
}

func (c *changesCmd) moments(a *app, m *member.Member) (from, to projection.Moment, err error) {
	text := func(t string) string { return strings.Replace(t, trueMinus, "-", 1) }
	first := momentFlags{At: text(c.T1), KnownBy: c.KnownBy, KnownAt: c.KnownAt}
	if from, err = first.moment(a, m); err != nil {
		return from, to, err
	}
	second := momentFlags{At: text(c.T2)}
	to, err = second.moment(a, m)
	return from, to, err
}

func (c *changesCmd) about(m *member.Member) (events.Subject, error) {
	switch {
	case c.Floor != "":
		return events.Floor(events.FloorID(c.Floor)), nil
	case c.Hub != "":
		return events.Hub(events.HubID(c.Hub)), nil
	case c.Room != "":
		return events.Room(events.RoomID(c.Room)), nil
	case c.Subject != "":
		return m.Subject(c.Subject)
	}
	return events.Subject{}, nil
}

// differs prints differences entry by entry, up to the last one if toLast; devices to which an entry did the
// same share a line.
func (a *app) differs(doc member.ChangesAnswer, toLast bool) {
	a.printf("%s\nfrom %s, as known to %s\nto   %s, as known to %s\n", a.bold("what differs: "+aboutWords(doc.Subject)),
		short(doc.From.When), doc.From.Known, short(doc.To.When), doc.To.Known)
	switch {
	case doc.From.When > doc.To.When && toLast:
		a.printf("\nThe first moment is later than the last entry, which is of %s: nothing was logged after it. This reads backwards.\n", short(doc.To.When))
	case len(doc.Changes) == 0:
		a.println("\nNothing differs.")
	}
	for _, g := range gathered(doc.Changes) {
		a.gathering(g)
	}
	for i, p := range doc.Passing {
		if i == 0 {
			a.printf("\n%s\n", a.bold("came and went in between"))
		}
		a.printf("  %s\n", oneLine(p.Words))
		if len(p.Touched) > 0 {
			a.printf("    %s\n", strings.Join(member.TagRanges(p.Touched), ", "))
		}
	}
	for i, c := range doc.Cautions {
		if i == 0 {
			a.println()
		}
		a.println(a.warn(c))
	}
}

func aboutWords(subject string) string {
	if x, err := events.ParseSubject(subject); err == nil {
		return x.Words()
	}
	return subject
}
