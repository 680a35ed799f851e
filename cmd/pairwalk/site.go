package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/syncd/member"
)

type initCmd struct {
	Name     string `arg:"" help:"What the site is called."`
	As       string `required:"" help:"Your name." placeholder:"PERSON"`
	Contact  string `help:"How to reach you."`
	Zone     string `help:"Time zone, such as Europe/Vienna; this machine's unless given."`
	Practice bool   `help:"A made-up job, for training."`
}

func (initCmd) Help() string {
	return "Example: pairwalk init \"Lime Works\" --as Ann\n\nPrints a recovery sheet once. It is the only way back if every lead's device is lost."
}

func (c *initCmd) Run(a *app) error {
	h, err := a.home()
	if err != nil {
		return err
	}
	zone, err := zoneOf(c.Zone, a.env)
	if err != nil {
		return err
	}
	m, root, err := h.Init(a.ctx, member.Opening{Name: c.Name, Person: c.As, Contact: c.Contact, Zone: zone, Practice: c.Practice})
	if err != nil {
		return err
	}
	defer m.Close()
	if a.cli.JSON {
		return a.printJSON(map[string]any{"v": member.AnswerVersion, "site": m.Info(), "recovery": strings.Join(root.Words(), " ")})
	}
	a.printf("Site %s is open, and you, %s, are its lead. Times are in %s.\n\n", c.Name, c.As, zone)
	a.println(root.Sheet())
	a.println("The sheet is shown this once. Copy it to paper and keep it away from this device.")
	a.printf("\nNext: invite a second lead (%s invite --role lead --sheet -), so that the site\n", a.name)
	a.println("does not hang on one device; and take in the schedule:")
	a.printf("  %s import FILE\n", a.name)
	a.keysWords()
	return nil
}

// zoneOf is the zone asked for, else this machine's.
func zoneOf(asked string, env func(string) string) (string, error) {
	zone := asked
	if zone == "" {
		zone = env("TZ")
	}
	if zone == "" {
		if link, err := os.Readlink("/etc/localtime"); err == nil {
			if _, name, ok := strings.Cut(link, "zoneinfo/"); ok {
				zone = name
			}
		}
	}
	if zone == "" || zone == "Local" {
		zone = "UTC"
	}
	if _, err := time.LoadLocation(zone); err != nil {
		return "", fmt.Errorf("time zone %q is not known; give one like Europe/Vienna with --zone", zone)
	}
	return zone, nil
}

type sitesCmd struct{}

func (sitesCmd) Run(a *app) error {
	h, err := a.home()
	if err != nil {
		return err
	}
	sites, err := h.Sites()
	if err != nil {
		return err
	}
	if a.cli.JSON {
		if sites == nil {
			sites = []member.SiteInfo{}
		}
		return a.printJSON(map[string]any{"v": member.AnswerVersion, "sites": sites})
	}
	if len(sites) == 0 {
		a.printf("No site is open here. Open one:   %s init NAME --as YOU\nor join one by an invite:         %s join TOKEN --as YOU\n", a.name, a.name)
		return nil
	}
	t := table{head: []string{"site", "you", "kind", "keys", "id"}}
	for _, s := range sites {
		kind := "real"
		if s.Practice {
			kind = "practice"
		}
		t.add(s.Name, s.Member, kind, keysWord(s), string(s.ID[:8]))
	}
	a.table(&t)
	return nil
}

type setCmd struct {
	Key   string  `arg:"" optional:"" help:"Which setting; leave out to list them."`
	Value *string `arg:"" optional:"" help:"Its new value; leave out to show it."`
}

func (setCmd) Help() string { return "Example: pairwalk set settle_minutes 12" }

func (c *setCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		if c.Value != nil {
			e, err := m.Set(a.ctx, events.SettingKey(c.Key), *c.Value)
			if err != nil {
				return err
			}
			return a.said(m, e)
		}
		return c.list(a, m)
	})
}

func (c *setCmd) list(a *app, m *member.Member) error {
	s := m.Now()
	values := map[string]string{}
	t := table{head: []string{"setting", "value", "unit", "what it is"}}
	for _, x := range events.Settings {
		if c.Key != "" && string(x.Key) != c.Key {
			continue
		}
		v := s.Settings.Value(x.Key)
		values[string(x.Key)] = v
		if v == "" {
			v = "-"
		}
		t.add(string(x.Key), v, x.Unit, x.Doc)
	}
	if len(t.rows) == 0 {
		return fmt.Errorf("no setting %q; list them with: pairwalk set", c.Key)
	}
	if a.cli.JSON {
		return a.printJSON(map[string]any{"v": member.AnswerVersion, "settings": values})
	}
	a.table(&t)
	return nil
}

type inviteCmd struct {
	Role    string        `default:"tech" enum:"lead,tech,viewer,relay" help:"What they may do: ${enum}."`
	Expires time.Duration `default:"48h" help:"How long the invite is good for."`
	Sheet   string        `help:"The twelve words of the recovery sheet, to invite a lead; - asks for them." placeholder:"WORDS"`
	Meet    []string      `help:"Where they can reach a device of yours that serves, or MEMBER@HOST:PORT for another's; while you serve, your own addresses unless given." placeholder:"HOST:PORT"`
	QR      bool          `name:"qr" help:"Draw the invite as a QR code too."`
}

func (inviteCmd) Help() string {
	return "Example: pairwalk invite --role tech --expires 24h\n\nWhoever holds the invite can join: hand it over as you would a key."
}

func (c *inviteCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		var at *meeting
		if a.host != nil {
			at = a.host.meet
		}
		points, err := meetingPoints(m, c.Meet, at)
		if err != nil {
			return err
		}
		sheet, err := a.sheet(c.Sheet)
		if err != nil {
			return err
		}
		token, err := m.Invite(events.Role(c.Role), c.Expires, sheet, points...)
		if err != nil {
			return err
		}
		if a.cli.JSON {
			return a.printJSON(map[string]any{"v": member.AnswerVersion, "role": c.Role, "token": token.String(), "expires": token.Grant.Expires.String()})
		}
		a.printf("Invite to %s as %s, good for %s and for one person:\n\n%s\n\n", m.Info().Name, c.Role, span(c.Expires), token.String())
		if c.QR {
			qr, err := invite.QR(token.String())
			if err != nil {
				return err
			}
			a.println(qr)
		}
		a.println("They run:")
		if events.Role(c.Role) == events.RelayRole {
			a.printf("  %s relay join TOKEN --as THEIR-NAME --out FILE\n", a.name)
		} else {
			a.printf("  %s join TOKEN --as THEIR-NAME\n", a.name)
		}
		a.println(meetingWords(points))
		a.println("It is a key to this site until somebody uses it or it expires.")
		return nil
	})
}

// meetingWords says where a joiner will find somebody.
func meetingWords(points []invite.Meeting) string {
	if len(points) == 0 {
		return "It names no place to meet, since you do not serve: they will need an address, or a bundle."
	}
	var addrs []string
	for _, p := range points {
		addrs = append(addrs, p.Addr)
	}
	return "It tells them to meet at " + strings.Join(addrs, " or ") + "."
}

type joinCmd struct {
	Token   string `arg:"" help:"The invite; - reads it from standard input."`
	As      string `required:"" help:"Your name." placeholder:"PERSON"`
	Contact string `help:"How to reach you."`
}

func (joinCmd) Help() string { return "Example: pairwalk join pairwalk1… --as Bo" }

// invitation reads an invite, from standard input if it is a hyphen.
func (a *app) invitation(text string) (invite.Token, error) {
	if text == "-" {
		b, err := io.ReadAll(io.LimitReader(a.input(), 1<<20))
		if err != nil {
			return invite.Token{}, fmt.Errorf("read invite: %w", err)
		}
		text = string(b)
	}
	return invite.Parse(text)
}

func (c *joinCmd) Run(a *app) error {
	token, err := a.invitation(c.Token)
	if err != nil {
		return err
	}
	h, err := a.home()
	if err != nil {
		return err
	}
	m, err := h.Join(a.ctx, token, c.As, c.Contact)
	if err != nil {
		return err
	}
	defer m.Close()
	if a.cli.JSON {
		return a.printJSON(map[string]any{"v": member.AnswerVersion, "site": m.Info(), "role": token.Grant.Role})
	}
	kind := ""
	if token.Practice {
		kind = "practice "
	}
	a.printf("You are on the %ssite %s as %s, %s.\n", kind, token.SiteName, token.Grant.Role, c.As)
	switch token.Grant.Role {
	case events.Viewer:
		a.println("A viewer reads: what you log is kept, and does not count.")
	case events.RelayRole:
		a.printf("A relay passes entries on: what is logged here is kept, and does not count.\n"+
			"To relay by a process of its own, join there instead: %s relay join TOKEN\n", a.name)
	default:
		a.println("Until a lead's device has heard of you, your entries count as provisional.")
	}
	where := " HOST:PORT"
	if len(token.Meet) > 0 {
		where = ""
	}
	a.printf("\nNext: exchange logs with the lead, or with anybody of the site who serves:\n  %s sync%s\n", a.name, where)
	a.printf("or by files where there is no network:\n  %s bundle in THEIRS\n  %s bundle out MINE\n", a.name, a.name)
	a.keysWords()
	return nil
}
