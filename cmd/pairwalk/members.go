package main

import (
	"fmt"
	"strings"

	"pairwalk/events"
	"pairwalk/syncd/member"
)

type membersCmd struct {
	List   membersListCmd   `cmd:"" default:"1" help:"The team, and what each has heard of whom."`
	Admit  membersAdmitCmd  `cmd:"" help:"Say that a member came rightly."`
	Revoke membersRevokeCmd `cmd:"" help:"End a member's say."`
	Assign membersAssignCmd `cmd:"" help:"Put a member on a hub, or take them off."`
}

type membersListCmd struct{}

func (membersListCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		doc := m.Members()
		if a.cli.JSON {
			return a.printJSON(doc)
		}
		t := table{head: []string{"member", "role", "standing", "entries", "has heard"}}
		for _, x := range doc.Members {
			name := x.Name
			if x.You {
				name += " (you)"
			}
			standing := x.Standing
			if x.Why != "" {
				standing += ": " + x.Why
			}
			t.add(name, x.Role, standing, fmt.Sprint(x.Entries), heardWords(x.Heard))
		}
		a.table(&t)
		if doc.Unsent > 0 {
			a.printf("\n%s of yours on this device that nobody else is known to hold.\n", plural(doc.Unsent, "entry"))
		}
		for i, r := range m.Refusals() {
			if i == 0 {
				a.println("\nRefused at this device:")
			}
			a.printf("  %s from %s: %s; last %s\n", plural(r.Count, "caller"), r.From, r.Why, clock(m.Now(), r.Last, a.world.Now().Wall.At))
		}
		return nil
	})
}

func heardWords(heard map[string]int) string {
	var parts []string
	for _, name := range sorted(heard) {
		parts = append(parts, fmt.Sprintf("%d of %s", heard[name], name))
	}
	if len(parts) == 0 {
		return "nobody yet"
	}
	return strings.Join(parts, ", ")
}

type membersAdmitCmd struct {
	Member string `arg:"" help:"Whom."`
}

func (membersAdmitCmd) Help() string { return "Example: pairwalk members admit Bo" }

func (c *membersAdmitCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		who, err := m.Person(c.Member)
		if err != nil {
			return err
		}
		e, err := m.Admit(a.ctx, who)
		if err != nil {
			return err
		}
		return a.said(m, e)
	})
}

type membersRevokeCmd struct {
	Member string `arg:"" help:"Whom."`
	Why    string `required:"" help:"Why."`
	Last   string `help:"Their last entry that still counts, where somebody else has their device since: its id, or the last characters of it. All that counts here unless given. Revoking again with a later one lets more count; an earlier one changes nothing." placeholder:"ENTRY"`
	Sheet  string `help:"The twelve words of the recovery sheet, to revoke a lead; - asks for them." placeholder:"WORDS"`
}

func (membersRevokeCmd) Help() string {
	return "Example: pairwalk members revoke Bo --why \"phone lost\"\n         pairwalk members revoke Ann --why \"laptop stolen\" --last K3TQ9Z --sheet -\n\nWhat they had said as far as it is known here still counts; anything later does not, whatever its clock says."
}

func (c *membersRevokeCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		who, err := m.Person(c.Member)
		if err != nil {
			return err
		}
		how := member.Revoking{Why: c.Why}
		if c.Last != "" {
			if how.Last, err = m.Entry(c.Last); err != nil {
				return err
			}
		}
		if how.Sheet, err = a.sheet(c.Sheet); err != nil {
			return err
		}
		e, err := m.Revoke(a.ctx, who, how)
		if err != nil {
			return err
		}
		if err := a.said(m, e); err != nil || a.cli.JSON || how.Last == nil {
			return err
		}
		if now, known := m.Now().Member(who.Key); known && now.Cut[how.Last.Feed].Seq > how.Last.Seq {
			a.println("  " + a.warn("an earlier revocation lets more of theirs count, and that can't be taken back: withdraw each entry that is not theirs (pairwalk void)"))
		}
		return nil
	})
}

type membersAssignCmd struct {
	Member string `arg:"" help:"Whom."`
	Hub    string `arg:"" help:"To which hub."`
	End    bool   `help:"Take them off it."`
}

func (membersAssignCmd) Help() string { return "Example: pairwalk members assign Bo H2" }

func (c *membersAssignCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		who, err := m.Person(c.Member)
		if err != nil {
			return err
		}
		hub, err := hubOf(m, c.Hub)
		if err != nil {
			return err
		}
		return a.record(m, member.Entry{Payload: events.HubAssigned{Hub: hub, Member: who.Key, Ended: c.End}})
	})
}
