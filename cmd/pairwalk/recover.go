package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"

	"pairwalk/events/invite"
	"pairwalk/syncd/member"
)

type recoverCmd struct {
	Name     string `arg:"" optional:"" help:"What the site is called, where no --log says it."`
	As       string `required:"" help:"Your name." placeholder:"PERSON"`
	Contact  string `help:"How to reach you."`
	Sheet    string `required:"" help:"The twelve words of the recovery sheet; - asks for them, so that no list of processes or history of commands shows them." placeholder:"WORDS"`
	Log      string `help:"A bundle from anybody who has the log: it says what the site is called, and is taken in at once." placeholder:"FILE"`
	Zone     string `help:"The site's time zone, where no --log says it."`
	Practice bool   `help:"The site is a made-up one, for training; where no --log says it."`
}

func (recoverCmd) Help() string {
	return "Example: pairwalk recover --as Ann --sheet - --log bo.log\n         pairwalk recover \"Lime Works\" --as Ann --sheet -\n\nFor when every lead's device is lost. Then revoke the lost devices, and exchange with the others: until they have heard of it, they take the old lead's word."
}

func (c *recoverCmd) Run(a *app) error {
	if (c.Name == "") == (c.Log == "") {
		return usef("give the site's name, or a bundle of it with --log FILE")
	}
	text, err := a.sheet(c.Sheet)
	if err != nil {
		return err
	}
	root, err := invite.RootFromSheet(text)
	if err != nil {
		return err
	}
	h, err := a.home()
	if err != nil {
		return err
	}
	m, err := c.recover(a, h, root)
	if err != nil {
		return err
	}
	defer m.Close()
	if a.cli.JSON {
		leads := []string{}
		for _, x := range m.OtherLeads() {
			leads = append(leads, m.Now().MemberName(x.Key))
		}
		return a.printJSON(map[string]any{"v": member.AnswerVersion, "site": m.Info(), "other_leads": leads})
	}
	c.words(a, m)
	return nil
}

func (c *recoverCmd) recover(a *app, h *member.Home, root invite.Root) (*member.Member, error) {
	if c.Log == "" {
		zone, err := zoneOf(c.Zone, a.env)
		if err != nil {
			return nil, err
		}
		return h.Recover(a.ctx, root, member.Opening{Name: c.Name, Person: c.As, Contact: c.Contact, Zone: zone, Practice: c.Practice})
	}
	f, err := a.file(c.Log)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	m, got, err := h.RecoverFrom(a.ctx, root, c.As, c.Contact, f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", called(c.Log), err)
	}
	if !a.cli.JSON {
		a.received(got)
	}
	return m, nil
}

// words say what to do next.
func (c *recoverCmd) words(a *app, m *member.Member) {
	a.printf("You are a lead of %s again, on this device.\n", m.Info().Name)
	if c.Log == "" {
		a.printf("\nNext: take in a bundle from anybody who has the log:\n  %s bundle in FILE\n", a.name)
		a.printf("and revoke the lost device: %s members revoke NAME --why \"…\" --sheet -\n", a.name)
		a.keysWords()
		return
	}
	for i, x := range m.OtherLeads() {
		if i == 0 {
			a.println("\nWhoever holds one of these leads' devices is a lead too, until you revoke it:")
		}
		a.printf("  %s members revoke %s --why \"device lost\" --sheet -\n", a.name, quoted(m.Now().MemberName(x.Key)))
	}
	a.println("\nRevoke before you exchange: what you have heard of them by then still counts. If somebody")
	a.printf("else has used the device already, name the last good entry with --last (%s history shows them).\n", a.name)
	a.println("Then call at everybody: they can't call at this device before they have heard of it.")
	a.printf("  %s sync HOST:PORT\n", a.name)
	a.println("And invite a second lead, so that the site does not hang on one device.")
	a.keysWords()
}

// sheet is the recovery sheet as it was given, or as it is typed or piped in.
func (a *app) sheet(given string) (string, error) {
	if given != "-" {
		return given, nil
	}
	fmt.Fprintln(a.stderr, "The twelve words of the recovery sheet:")
	return sheetFrom(a.input())
}

const sheetMost = 64 << 10

// sheetFrom reads until there are twelve words, in one line or in many as on the
// sheet.
func sheetFrom(r io.Reader) (string, error) {
	in := bufio.NewReader(io.LimitReader(r, sheetMost))
	var text string
	for {
		line, err := in.ReadString('\n')
		text += line
		if _, bad := invite.RootFromSheet(text); bad == nil || len(strings.Fields(text)) == 12 || errors.Is(err, io.EOF) {
			return text, nil
		}
		if err != nil {
			return "", fmt.Errorf("read the recovery sheet: %w", err)
		}
	}
}
