package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/syncd/bus"
	"pairwalk/syncd/member"
	"pairwalk/syncd/member/checkup"
)

type doctorCmd struct {
	Call bool `help:"Also call at the places where others were met, to see who answers now."`
	All  bool `help:"Tell what is well in full, too."`
}

func (doctorCmd) Help() string {
	return "Example: pairwalk doctor\n\nSays whether this installation is well, and what to do about what is not: disk, clock, keys, journal, peers and mark. It changes nothing, repairs nothing and calls nobody unless told to, and works beside a running serve, and where a site can't be opened. Exit code 1: something is wrong."
}

func (c *doctorCmd) Run(a *app) error {
	if err := a.notReading(); err != nil {
		return err
	}
	r, err := c.read(a)
	if err != nil {
		return err
	}
	found := checkup.Of(r)
	if a.cli.JSON {
		err = a.printJSON(found)
	} else {
		a.found(found, c.All)
	}
	if n := found.Count(checkup.Wrong); n > 0 && err == nil {
		words := "things are"
		if n == 1 {
			words = "thing is"
		}
		return fmt.Errorf("%d %s wrong; what to do stands below each", n, words)
	}
	return err
}

// read takes all readings. A site can be in any state: only a wrong --site is an
// error.
func (c *doctorCmd) read(a *app) (checkup.Readings, error) {
	dir, err := a.homeDir()
	if err != nil {
		return checkup.Readings{}, err
	}
	if dir, err = filepath.Abs(dir); err != nil {
		return checkup.Readings{}, fmt.Errorf("find a home folder: %w", err)
	}
	r := checkup.Readings{Home: dir, Folder: readFolder(dir), Now: a.now(), MadeUp: a.env("PAIRWALK_CLOCK"), Port: readPort()}
	made, bad := newWorld(a.surroundings)
	if bad != nil {
		r.BadUp = bad.Error()
	}
	if !r.Folder.There || r.Folder.Wrong != "" {
		return r, nil
	}
	kept, err := member.NewHome(journal.Dir(dir), made).Kept()
	if err != nil {
		r.Lost = err.Error()
		return r, nil
	}
	r.Kept = len(kept)
	for _, k := range kept {
		if c.meant(a, k) {
			r.Sites = append(r.Sites, c.site(a, dir, k, made))
		}
	}
	if len(r.Sites) == 0 && a.cli.Site != "" {
		return r, fmt.Errorf("no site called %q here; %s sites lists them", a.cli.Site, a.name)
	}
	return r, nil
}

// meant says whether a site was asked for.
func (c *doctorCmd) meant(a *app, k member.Kept) bool {
	want := a.cli.Site
	return want == "" || strings.EqualFold(k.Name, want) || strings.HasPrefix(string(k.ID), want)
}

// site takes the readings of one site.
func (c *doctorCmd) site(a *app, dir string, k member.Kept, world member.World) checkup.Site {
	if !k.Practice { // which goes by the device's own clocks alone
		world.Now, world.MadeUp = a.now, false
	}
	s := member.NewHome(journal.Dir(dir), world).Examine(k)
	s.Folder = filepath.Join(dir, "sites", string(k.ID))
	readFiles(&s)
	s.Held, s.Stale = heldBy(s.Folder)
	if s.Opened != nil && c.Call {
		s.Opened.Called = true
		for i := range s.Opened.Places {
			knock(a.ctx, k.ID, &s.Opened.Places[i])
		}
	}
	return s
}

// knock asks whether somebody is where they were met.
func knock(ctx context.Context, site events.SiteID, p *checkup.Place) {
	err := bus.Knock(ctx, p.Addr, site, p.Key)
	p.Stranger = errors.Is(err, bus.ErrOther)
	if err != nil {
		p.Why = err.Error()
	}
}

// heldBy says who has a site open, and whether a serving process that is gone left
// its address behind.
func heldBy(folder string) (held checkup.Held, stale bool) {
	if conn, err := dialServing(folder); err == nil {
		_ = conn.Close()
		return checkup.Served, false
	}
	_, err := os.Stat(filepath.Join(folder, servingFile))
	stale = err == nil
	if _, err := os.Stat(filepath.Join(folder, "lock")); err != nil { // it would be made
		return checkup.Free, stale
	}
	lock, err := journal.Dir(folder).Lock("lock")
	if errors.Is(err, journal.ErrLocked) {
		return checkup.Busy, stale
	}
	if err == nil {
		_ = lock.Close()
	}
	return checkup.Free, stale
}

// readPort tries the usual port on this machine alone, so that no firewall asks.
func readPort() checkup.Port {
	_, text, _ := net.SplitHostPort(defaultListen)
	n, _ := strconv.Atoi(text)
	ln, err := net.Listen("tcp", net.JoinHostPort("127.0.0.1", text))
	if err != nil {
		return checkup.Port{Number: n, Taken: true}
	}
	_ = ln.Close()
	return checkup.Port{Number: n}
}

// found prints what a look found: the worst is marked, and what is well is short.
func (a *app) found(found checkup.Answer, all bool) {
	a.foundOf(found, "This device", "", all)
	for _, s := range found.Sites {
		title := "Site " + s.Name
		switch {
		case s.Name == "":
			title = "Site " + string(s.ID[:8])
		case s.Practice:
			title += ", a practice site"
		}
		if s.You != "" {
			title += "; you are " + s.You
		}
		a.println()
		a.foundOf(found, title, s.ID, all)
	}
	a.println()
	a.printf("%d well, %d to look at, %d wrong.%s\n", found.Count(checkup.Well), found.Count(checkup.Look), found.Count(checkup.Wrong), hintAll(all))
}

func hintAll(all bool) string {
	if all {
		return ""
	}
	return " --all tells what is well, too."
}

// foundOf prints the findings of one site, or of the installation.
func (a *app) foundOf(found checkup.Answer, title string, site events.SiteID, all bool) {
	a.println(a.bold(oneLine(title)))
	well := map[checkup.Area]int{}
	for _, f := range found.Findings {
		if f.Site == site && f.State == checkup.Well && !all {
			well[f.Area]++
		}
	}
	for _, f := range found.Findings {
		if f.Site == site && (f.State != checkup.Well || all) {
			a.finding(f)
		}
	}
	var fine []string
	for _, area := range checkup.Areas {
		if well[area] > 0 {
			fine = append(fine, string(area))
		}
	}
	if len(fine) > 0 {
		a.println(a.dim(fmt.Sprintf("  all else that was looked at is well: %s", strings.Join(fine, ", "))))
	}
}

// finding prints one of them.
func (a *app) finding(f checkup.Finding) {
	state := fmt.Sprintf("%-5s", f.State)
	switch f.State {
	case checkup.Wrong:
		state = a.warn(state)
	case checkup.Well:
		state = a.dim(state)
	}
	a.printf("  %-7s  %s  %s\n", f.Area, state, oneLine(f.Words))
	if f.Do != "" {
		a.printf("                  %s\n", oneLine(f.Do))
	}
	if f.Run != "" {
		a.printf("                  %s\n", a.bold(oneLine(a.command(f.Run))))
	}
}

// command writes a command line as this command was called.
func (a *app) command(line string) string {
	rest, ours := strings.CutPrefix(line, "pairwalk")
	if !ours {
		return line
	}
	if a.cli.Home != "" && a.cli.Home != a.env("PAIRWALK_HOME") {
		rest = " --home " + quoted(a.cli.Home) + rest
	}
	return a.name + rest
}
