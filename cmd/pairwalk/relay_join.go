package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/syncd/member"
	"pairwalk/syncd/relay"
)

type relayJoinCmd struct {
	officeFlags
	Token string `arg:"" help:"The invite; - reads it from standard input."`
	Out   string `help:"Write the relay's introduction there, for a lead whose device can't be reached from here." placeholder:"FILE"`
	Force bool   `help:"Replace a file that is there."`
}

func (relayJoinCmd) Help() string {
	return "Example: pairwalk relay join pairwalk1… --out kiln-relay.pairwalk\n\n" +
		"A lead makes the invite: pairwalk invite --role relay. The lead's device has to hear of the relay before it calls there: " +
		"either it serves while you join and is reached from here, or it takes in the introduction: pairwalk bundle in FILE. " +
		"Everybody else hears of it from the lead."
}

func (c *relayJoinCmd) Run(a *app) error {
	token, err := a.relayInvite(c.Token)
	if err != nil {
		return err
	}
	office, err := c.office(a, a.waitingLog())
	if err != nil {
		return err
	}
	defer office.Close()
	site, err := office.Join(a.ctx, token)
	if err != nil {
		return err
	}
	m, err := office.Open(a.ctx, site)
	if err != nil {
		return err
	}
	heard := a.introduce(m, token)
	var wrote error
	if c.Out != "" {
		wrote = a.writeFile(c.Out, c.Force, func(f io.Writer) error {
			_, err := m.BundleOut(a.ctx, f)
			return err
		})
	}
	if err := errors.Join(wrote, m.Close()); err != nil {
		return err
	}
	return c.joined(a, token, heard)
}

func (c *relayJoinCmd) joined(a *app, token invite.Token, heard string) error {
	if a.cli.JSON {
		return a.printJSON(map[string]any{"v": member.AnswerVersion, "site": token.Site, "name": token.SiteName, "practice": token.Practice, "as": c.As, "heard": heard, "file": c.Out})
	}
	a.printf("The relay is on %s%s as %s.\n", token.SiteName, practiceWords(token.Practice), c.As)
	switch {
	case heard != "":
		a.printf("%s has heard of it; members hear of it from there.\n", heard)
	case c.Out != "":
		a.printf("Nobody of the site has heard of it yet: send a lead %s, who runs\n  %s bundle in %s\n", c.Out, a.name, c.Out)
	default:
		a.printf("Nobody of the site has heard of it yet, and none could be reached from here. Write its introduction, and have a lead take it in:\n  %s --site %s bundle out FILE\n", a.command("pairwalk"), quoted(token.SiteName))
	}
	a.printf("Then members call at the relay's address: %s sync HOST:PORT, or %s serve --call HOST:PORT\n", a.name, a.name)
	return nil
}

// relayInvite reads an invite that makes a relay.
func (a *app) relayInvite(text string) (invite.Token, error) {
	token, err := a.invitation(text)
	if err != nil {
		return token, err
	}
	if token.Grant.Role != events.RelayRole {
		return token, fmt.Errorf("that invite makes a %s; ask a lead for one that makes a relay: %s invite --role relay", token.Grant.Role, a.name)
	}
	return token, nil
}

// introduce calls where the invite says that somebody is, and returns who holds the
// relay's join then, "" if nobody does.
func (a *app) introduce(m *member.Member, token invite.Token) string {
	if len(token.Meet) == 0 {
		return ""
	}
	ctx, cancel := context.WithTimeout(a.ctx, reachPatience)
	defer cancel()
	t, err := meet(ctx, m, "", nil)
	if err != nil {
		return ""
	}
	defer t.Close()
	news, stop := t.news()
	defer stop()
	for _, x := range token.Meet {
		t.visit(x.Addr)
	}
	tick := time.NewTicker(250 * time.Millisecond) // a standing may change without a notice
	defer tick.Stop()
	for ctx.Err() == nil {
		for _, p := range t.Peers() {
			if p.Same {
				return m.NameOf(p.Key)
			}
		}
		select {
		case <-ctx.Done():
		case <-news:
		case <-tick.C:
		}
	}
	return ""
}

type relaySitesCmd struct{ officeFlags }

func (relaySitesCmd) Help() string { return "Example: pairwalk relay sites" }

func (c *relaySitesCmd) Run(a *app) error {
	office, err := c.office(a, a.waitingLog())
	if err != nil {
		return err
	}
	defer office.Close()
	seats, bad := office.Sites(a.ctx)
	if a.cli.JSON {
		docs := make([]map[string]any, len(seats))
		for i, s := range seats {
			docs[i] = map[string]any{"id": s.Site, "name": s.Name, "practice": s.Practice}
		}
		return errors.Join(a.printJSON(map[string]any{"v": member.AnswerVersion, "sites": docs}), bad)
	}
	if len(seats) == 0 && bad == nil {
		a.printf("The relay is on no site. A lead invites it: %s invite --role relay\nand it joins: %s relay join TOKEN\n", a.name, a.name)
		return nil
	}
	a.seats(seats)
	return bad
}

func (a *app) seats(seats []relay.Seat) {
	t := table{head: []string{"site", "kind", "id"}}
	for _, s := range seats {
		kind := "real"
		if s.Practice {
			kind = "practice"
		}
		t.add(s.Name, kind, string(s.Site[:8]))
	}
	a.table(&t)
}
