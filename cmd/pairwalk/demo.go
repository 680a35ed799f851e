package main

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"time"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/events/invite"
	"pairwalk/events/journal"
	"pairwalk/projection"
	"pairwalk/projection/settle"
	"pairwalk/syncd/bus"
	"pairwalk/syncd/member"
)

type demoCmd struct {
	Dir string `help:"Where to leave the made-up site; a folder of its own among the temporary files unless given."`
}

func (demoCmd) Help() string {
	return "Example: pairwalk demo\n\nTwo technicians, one afternoon, a basement without signal, and a callback four months later. It checks every step and stops at the first that does not hold."
}

func (c *demoCmd) Run(a *app) error {
	dir := c.Dir
	if dir == "" {
		made, err := os.MkdirTemp("", "pairwalk-demo-")
		if err != nil {
			return err
		}
		dir = made
	}
	s := &stage{app: a, dir: dir, time: events.InstantOf(time.Date(2026, 3, 3, 11, 30, 0, 0, time.UTC))}
	defer s.close()
	return s.play()
}

// stage is where the made-up job is played: a true clock, and the people.
type stage struct {
	*app
	dir    string
	time   events.Instant
	people []*person
	act    int
	err    error
}

// person is somebody with a device of their own.
type person struct {
	*member.Member
	name string
	skew time.Duration // of the device's wall clock
	boot string
	s    *stage
}

// play runs the acts in order and stops at the first that fails.
func (s *stage) play() error {
	s.printf("%s\nA made-up job on a practice site. Everybody and everything in it is invented.\n%s\n", s.bold("pairwalk demo"), notPermit)
	story := story{stage: s}
	for _, act := range story.acts() {
		s.act++
		s.printf("\n%s\n", s.bold(fmt.Sprintf("%d  %s", s.act, act.title)))
		act.play()
		if s.err != nil {
			return fmt.Errorf("demo, act %d (%s): %w", s.act, act.title, s.err)
		}
	}
	return nil
}

func (s *stage) close() {
	for _, p := range s.people {
		_ = p.Close()
	}
}

// enter gives somebody a device. Its boot began an hour ago.
func (s *stage) enter(name string, skew time.Duration) *person {
	p := &person{name: name, skew: skew, boot: name + "'s boot", s: s}
	s.people = append(s.people, p)
	return p
}

func (p *person) home() string { return filepath.Join(p.s.dir, p.name) }

func (p *person) world() member.World {
	return member.World{Now: p.stamp, Rand: rand.Reader, MadeUp: true}
}

func (p *person) stamp() events.Stamp {
	wall := p.s.time.Add(p.skew)
	return events.Stamp{
		Wall: events.Wall{At: wall, Offset: 60},
		Mono: events.Mono{Boot: p.boot, Ms: int64(p.s.time - practiceEpoch)},
	}
}

func (p *person) folder() *member.Home {
	p.s.check(os.MkdirAll(p.home(), 0o700))
	return member.NewHome(journal.Dir(p.home()), p.world())
}

// check keeps the first error; later steps do nothing.
func (s *stage) check(err error) {
	if s.err == nil && err != nil {
		s.err = err
	}
}

// hold fails the demo where something it shows is not so.
func (s *stage) hold(ok bool, format string, args ...any) {
	if !ok {
		s.check(errors.New("does not hold: " + fmt.Sprintf(format, args...)))
	}
}

// at moves the true clock to a time of day, which is Vienna's.
func (s *stage) at(clock string) {
	loc, err := time.LoadLocation(demoZone)
	s.check(err)
	day := s.time.Time().In(loc)
	t, err := time.ParseInLocation("2006-01-02 15:04", day.Format(time.DateOnly)+" "+clock, loc)
	s.check(err)
	if next := events.InstantOf(t); next > s.time {
		s.time = next
	}
}

func (s *stage) pass(d time.Duration) { s.time = s.time.Add(d) }

// tell prints what somebody does or sees.
func (p *person) tell(format string, args ...any) {
	if p.s.err == nil {
		p.s.printf("  %s %-4s %s\n", p.s.shown(p.s.time), p.name, fmt.Sprintf(format, args...))
	}
}

func (s *stage) shown(at events.Instant) string {
	loc, err := time.LoadLocation(demoZone)
	s.check(err)
	return at.Time().In(loc).Format("15:04")
}

// log records entries and returns them.
func (p *person) log(payloads ...events.Payload) []events.Event {
	if p.s.err != nil {
		return nil
	}
	entries := make([]member.Entry, len(payloads))
	for i, x := range payloads {
		entries[i] = member.Entry{Payload: x}
	}
	evs, err := p.Record(context.Background(), entries...)
	p.s.check(err)
	return evs
}

// takes imports a sheet.
func (p *person) takes(sheet []byte) int {
	if p.s.err != nil {
		return 0
	}
	plan, err := p.Sheet(bytes.NewReader(sheet), time.Time{})
	p.s.check(err)
	evs, err := p.Import(context.Background(), plan, intake.Accept{}, false)
	p.s.check(err)
	return len(evs)
}

// meets lets two people's devices find each other on a bus of one of them, over
// this machine's own network, until both hold the same. It returns how many
// entries of others each has now and had not.
func (p *person) meets(other *person) (got, gave int) {
	s := p.s
	if s.err != nil {
		return 0, 0
	}
	mineBefore, theirsBefore := p.heard(), other.heard()
	ctx, cancel := context.WithTimeout(s.ctx, time.Minute)
	defer cancel()
	news := make(chan struct{}, 1)
	notice := func(bus.Notice) {
		select {
		case news <- struct{}{}:
		default:
		}
	}
	there, err := bus.Open(ctx, other, bus.Options{Listen: "127.0.0.1:0", Notice: notice})
	if s.check(err); err != nil {
		return 0, 0
	}
	defer there.Close()
	here, err := bus.Open(ctx, p, bus.Options{Notice: notice})
	if s.check(err); err != nil {
		return 0, 0
	}
	defer here.Close()
	here.Call(there.Addrs()[0])
	for {
		mine, theirs := here.Peers(), there.Peers()
		if len(mine) == 1 && len(theirs) == 1 && mine[0].Same && theirs[0].Same {
			return p.heard() - mineBefore, other.heard() - theirsBefore
		}
		select {
		case <-news:
		case <-ctx.Done():
			s.check(fmt.Errorf("%s and %s meet: %w", p.name, other.name, ctx.Err()))
			return 0, 0
		}
	}
}

// heard is how many entries of others somebody holds.
func (p *person) heard() int {
	n := 0
	for _, x := range p.History(projection.Moment{}, events.Subject{}) {
		if x.Event.Member() != p.Key() {
			n++
		}
	}
	return n
}

// gives carries a bundle from one to another, for want of a network.
func (p *person) gives(to *person) member.Received {
	if p.s.err != nil {
		return member.Received{}
	}
	var file bytes.Buffer
	_, err := p.BundleOut(context.Background(), &file)
	p.s.check(err)
	got, err := to.BundleIn(context.Background(), &file)
	p.s.check(err)
	return got
}

// judge asks whether a hub may be pushed.
func (p *person) judge(hub events.HubID) settle.Judgement {
	if p.s.err != nil {
		return settle.Judgement{}
	}
	js, err := p.Settle(hub)
	p.s.check(err)
	if len(js) != 1 {
		return settle.Judgement{}
	}
	return js[0]
}

// shows prints a verdict as the command would.
func (p *person) shows(j settle.Judgement) {
	if p.s.err == nil {
		p.tell("asks: may %s be pushed?", j.Hub)
		for _, doc := range member.SettleOf(p.Now(), []settle.Judgement{j}) {
			p.s.verdict(doc)
		}
	}
}

func (j judged) says(v settle.Verdict) {
	j.s.hold(j.Verdict == v, "%s is judged %q, not %q", j.Hub, j.Verdict, v)
}

type judged struct {
	settle.Judgement
	s *stage
}

// agree holds that two people with the same log see the same, byte for byte, now
// and at a past moment.
func (s *stage) agree(a, b *person, past events.Instant) {
	if s.err != nil {
		return
	}
	for _, m := range []projection.Moment{{}, projection.At(past)} {
		x, errX := json.Marshal(a.Status(m))
		y, errY := json.Marshal(b.Status(m))
		s.check(errors.Join(errX, errY))
		s.hold(bytes.Equal(x, y), "%s and %s with the same log see different things", a.name, b.name)
	}
}

func (p *person) join(token invite.Token) {
	m, err := p.folder().Join(context.Background(), token, p.name, "")
	p.s.check(err)
	p.Member = m
}

// pick lists devices of a hub on a floor that are to be paired: of that radio, no
// emergency ones, the first n in walking order.
func pick(site *projection.Site, order []events.Tag, floor events.FloorID, radio events.Radio, n int) []*projection.Device {
	var out []*projection.Device
	for _, tag := range order {
		d, ok := site.Device(tag)
		if ok && d.Floor == floor && d.Radio == radio && !d.Emergency && d.Wants(projection.NeedPair) && len(out) < n {
			out = append(out, d)
		}
	}
	return out
}

func kindsOf(cs []projection.Conflict) []projection.ConflictKind {
	var out []projection.ConflictKind
	for _, c := range cs {
		if !slices.Contains(out, c.Kind) {
			out = append(out, c.Kind)
		}
	}
	return out
}
