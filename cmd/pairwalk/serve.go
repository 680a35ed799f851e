package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"pairwalk/projection"
	"pairwalk/syncd/bus"
	"pairwalk/syncd/bus/nearby"
	"pairwalk/syncd/member"
)

type serveCmd struct {
	pageFlags
	Listen string   `help:"Where others of the site may call: HOST:PORT, or :PORT for every network of this machine; none to be called by nobody. Port 24517 of every network unless given." placeholder:"HOST:PORT"`
	Call   []string `help:"Call there and stay: another device that serves." placeholder:"HOST:PORT"`
}

func (serveCmd) Help() string {
	return "Example: pairwalk serve --call 192.0.2.17:24517\n\nKeeps the site open, shows its page, and exchanges entries with everybody it meets, until stopped. Other commands work as ever meanwhile."
}

func (c *serveCmd) Run(a *app) error {
	if a.host != nil {
		return errors.New("pairwalk serve has this site open already")
	}
	full := func(_ *member.Home, err error, _ func(*member.Member) error) error { return openFull{err} }
	err := a.withSite(func(m *member.Member) error { return c.session(a, m, false) }, full)
	for errors.Is(err, errRoom) {
		err = a.withSite(func(m *member.Member) error { return c.session(a, m, true) }, full)
		if err != nil && !errors.Is(err, errRoom) && a.ctx.Err() == nil { // full again, or a command was quicker
			fmt.Fprintf(a.stderr, "pairwalk: %s; trying again\n", err)
			err = a.pause(roomLook)
		}
	}
	return err
}

// pause is errRoom after a while, unless the command is to end.
func (a *app) pause(d time.Duration) error {
	select {
	case <-a.ctx.Done():
		return nil
	case <-time.After(d):
		return errRoom
	}
}

// session serves an open site until the command is to end. It is errRoom where a
// full disk stopped the site and takes entries again: to go on, the site must be
// opened and checked anew.
func (c *serveCmd) session(a *app, m *member.Member, again bool) error {
	h, err := a.home()
	if err != nil {
		return err
	}
	folder, err := a.siteFolder(h)
	if err != nil {
		return err
	}
	t := &teller{a: a, m: m, took: make(chan struct{}, 1)}
	at, note, err := meetServing(context.WithoutCancel(a.ctx), m, c.Listen, t.notice)
	if err != nil {
		return err
	}
	t.begin(at)
	door, err := openDoor(&host{m: m, world: a.world, clock: a.env("PAIRWALK_CLOCK"), meet: at}, folder)
	if err != nil {
		return errors.Join(err, at.Close())
	}
	page, err := c.serve(a, m, at, folder)
	switch {
	case err != nil:
	case again:
		t.tell("mended", "the disk takes entries again: everything was checked, and work goes on", bus.Notice{})
	default:
		err = t.opening(note, page)
	}
	if err != nil {
		return errors.Join(err, page.close(), door.close(), at.Close())
	}
	c.stayAt(at, page)
	room := c.keep(a.ctx, t, m, at)
	return errors.Join(page.close(), door.close(), at.Close(), room)
}

// stayAt remembers where it was served, so that it is found there again.
func (c *serveCmd) stayAt(at *meeting, page *pageServer) {
	if addrs := at.Addrs(); len(addrs) > 0 {
		_, port, _ := net.SplitHostPort(addrs[0])
		host, _, _ := net.SplitHostPort(c.Listen)
		c.Listen = net.JoinHostPort(host, port)
	}
	if page != nil {
		host, _, err := net.SplitHostPort(c.Page)
		_, port, _ := net.SplitHostPort(page.ln.Addr().String())
		if err != nil {
			host = "127.0.0.1"
		}
		c.Page = net.JoinHostPort(host, port)
	}
}

// keep calls at everybody who is known and looks for others, until ctx ends or the
// site must be opened again ([errRoom]).
func (c *serveCmd) keep(ctx context.Context, t *teller, m *member.Member, at *meeting) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	for _, addr := range c.Call {
		at.visit(addr)
	}
	own := at.Addrs()
	for _, x := range m.Meetings() {
		if !slices.Contains(own, x.Addr) {
			at.visit(x.Addr)
		}
	}
	var work sync.WaitGroup
	work.Go(func() { t.findings(ctx) })
	if c.Listen != "none" && !isLoopback(c.Listen) {
		work.Go(func() { t.nearby(ctx, m, at) })
	}
	err := awaitRoom(ctx, m, func(kind, words string) { t.tell(kind, words, bus.Notice{}) })
	cancel()
	work.Wait()
	return err
}

// teller prints what happens while serving, one line for each change.
type teller struct {
	a    *app
	m    *member.Member
	took chan struct{} // entries came in

	mu   sync.Mutex
	at   *meeting
	zone *time.Location  // the site's, nil until it is known
	seen map[string]bool // conflicts and standings that were told
}

func (t *teller) begin(at *meeting) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.at = at
	t.seen = map[string]bool{}
	for _, f := range t.facts() {
		t.seen[f] = true
	}
}

// clock writes a time in the site's zone. Nothing is folded for it once that is known:
// a site's zone stays what it was opened in, and notices come in the middle of a sync.
func (t *teller) clock(at time.Time) string {
	if t.zone == nil {
		s := t.m.Now()
		if s.Zone == "" {
			return at.In(s.Location()).Format(time.TimeOnly)
		}
		t.zone = s.Location()
	}
	return at.In(t.zone).Format(time.TimeOnly)
}

// opening says where others can call.
func (t *teller) opening(note string, page *pageServer) error {
	info, addrs := t.m.Info(), t.at.Addrs()
	if t.a.cli.JSON {
		doc := map[string]any{"v": member.AnswerVersion, "kind": "serving", "site": info.Name, "addrs": texts(addrs), "pages": []string{}}
		if page != nil {
			doc["pages"] = page.addrs
		}
		return t.line(doc)
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	t.a.printf("Serving %s%s.\n", info.Name, practiceWords(info.Practice))
	switch {
	case len(addrs) == 1 && isLoopback(addrs[0]):
		t.a.printf("Nobody on another device can call: only this machine can, at %s\n", addrs[0])
	case len(addrs) > 0:
		t.a.printf("Others of the site may call at %s\n", strings.Join(addrs, " or "))
	}
	if note != "" {
		t.a.printf("(%s)\n", note)
	}
	for _, line := range page.words() {
		t.a.println(line)
	}
	t.a.println("Stop with Ctrl-C.")
	return nil
}

func practiceWords(practice bool) string {
	if practice {
		return ", a practice site"
	}
	return ""
}

func (t *teller) notice(n bus.Notice) {
	t.mu.Lock()
	at := t.at
	t.mu.Unlock()
	if at == nil { // nobody can have come yet
		return
	}
	t.tell(string(n.Kind), at.words(n), n)
	if n.Kind == bus.Took || n.Kind == bus.Same {
		select {
		case t.took <- struct{}{}:
		default:
		}
	}
}

// tell prints one change.
func (t *teller) tell(kind, words string, n bus.Notice) {
	if words == "" {
		return
	}
	now := t.a.world.Now().Wall.At
	if t.a.cli.JSON {
		doc := map[string]any{"v": member.AnswerVersion, "kind": kind, "at": now.String(), "words": words}
		if n.Peer != "" {
			doc["member"] = t.m.NameOf(n.Peer)
		}
		if n.Addr != "" {
			doc["addr"] = n.Addr
		}
		if n.N > 0 {
			doc["entries"] = n.N
		}
		_ = t.line(doc) // output remembers its failure
		return
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	t.a.printf("%s  %s\n", t.clock(now.Time()), oneLine(words))
}

func (t *teller) line(doc map[string]any) error {
	t.mu.Lock()
	defer t.mu.Unlock()
	return json.NewEncoder(t.a.stdout).Encode(doc)
}

// facts are what is worth a word when it is new: who may be relied on, and what
// clashes.
func (t *teller) facts() []string {
	s := t.m.Now()
	var out []string
	for i := range s.Members {
		x := &s.Members[i]
		switch x.Standing {
		case projection.Admitted:
			out = append(out, s.MemberName(x.Key)+" is admitted")
		case projection.Provisional:
			out = append(out, s.MemberName(x.Key)+" counts as provisional until a lead's device admits them")
		case projection.Quarantined:
			out = append(out, fmt.Sprintf("%s waits for a lead's word (%s): %s members admit NAME", s.MemberName(x.Key), x.Why, t.a.name))
		}
	}
	out = append(out, clocksApart(t.m)...)
	for _, c := range t.m.Conflicts(s) {
		out = append(out, fmt.Sprintf("conflict: %s; see %s conflicts", c.Why, t.a.name))
	}
	return out
}

// findings tells what entries from others have changed.
func (t *teller) findings(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-t.took:
		}
		for _, f := range t.facts() {
			t.mu.Lock()
			told := t.seen[f]
			t.seen[f] = true
			t.mu.Unlock()
			if !told {
				t.tell("finding", f, bus.Notice{})
			}
		}
	}
}

// lookAgain is after how long a device without a network looks for one again.
const lookAgain = 30 * time.Second

// nearby makes this device known on the local network and calls at others of the
// site there, until ctx ends. Where there is no network it says so once, and goes
// on when there is one.
func (t *teller) nearby(ctx context.Context, m *member.Member, at *meeting) {
	again := time.NewTicker(lookAgain)
	defer again.Stop()
	for told := false; ctx.Err() == nil; {
		err := t.nearbyNow(ctx, m, at)
		if err != nil && !told {
			told = true
			t.tell("alone", "devices nearby are not found by themselves yet: "+err.Error(), bus.Notice{})
		}
		select {
		case <-ctx.Done():
		case <-again.C:
		}
	}
}

// isLoopback says whether an address is this machine's alone.
func isLoopback(addr string) bool {
	host, _, _ := net.SplitHostPort(addr)
	return net.ParseIP(host).IsLoopback()
}

var errNoNetwork = errors.New("this device is on no network")

func (t *teller) nearbyNow(ctx context.Context, m *member.Member, at *meeting) error {
	_, text, _ := net.SplitHostPort(at.Addrs()[0])
	port, err := strconv.Atoi(text)
	if err != nil || isLoopback(at.Addrs()[0]) {
		return errNoNetwork
	}
	sign, err := nearby.Announce(m.Info().ID, port, t.a.world.Rand, t.a.world.Log)
	if err != nil {
		return err
	}
	defer sign.Close()
	return at.look(ctx, m.Info().ID)
}
