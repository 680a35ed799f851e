package main

import (
	"fmt"
	"strings"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/callback"
)

func (t *story) callback() {
	t.ben.meets(t.ada)
	token, err := t.ada.Invite(events.Tech, 200*24*time.Hour, "")
	t.check(err)
	t.time = t.time.Add(124 * 24 * time.Hour)
	t.cleo = t.enter("Cleo", 0)
	t.cleo.join(token)
	got := t.ada.gives(t.cleo)
	t.cleo.tell("%s: takes in the bundle on a new laptop: %s", t.time.Time().Format(time.DateOnly), got.Words())
	t.agreeWithCleo()
	if t.err != nil {
		return
	}
	s := t.cleo.At(projection.At(t.then))
	d, _ := s.Device(t.shared.Device)
	t.cleo.tell("asks: what was true of %s on that afternoon at %s? It was %s, by %s, serial %s", d.Device, t.shown(t.then), d.State, s.DoneBy(d.Since.Event), d.Serial)
	t.hold(d.Serial == serialFor(t.ben, d.Device), "what stands is what was settled later")
	for _, p := range []*person{t.ada, t.ben} {
		then := t.cleo.At(projection.Moment{Known: projection.Known{Member: p.Key(), At: events.Some(t.then)}})
		d, _ := then.Device(t.shared.Device)
		t.hold(d.Serial == serialFor(p, d.Device) && len(then.Conflicts) == 0, "%s knew only of the own pairing then", p.name)
		t.cleo.tell("and what did %s know then? %s, serial %s, and of no conflict", p.name, d.State, d.Serial)
	}
	t.boilerHouse()
}

// boilerHouse asks of a room where nothing happened: no cause is made up for it, and
// what it hangs on is named.
func (t *story) boilerHouse() {
	e, err := t.cleo.Explain(callback.Question{About: events.Room(boilerRoom), Symptom: callback.Intermittent, Now: t.time})
	t.check(err)
	if t.err != nil {
		return
	}
	var hangs []string
	for _, c := range e.Causes {
		t.hold(c.Kind == string(callback.BySingle) || c.Kind == string(callback.ByNeverHeard), "nothing happened to the boiler house, and the log names %s", c.Kind)
		if _, device, found := strings.Cut(c.Subject, "device:"); found && c.Kind == string(callback.BySingle) {
			hangs = append(hangs, device)
		}
	}
	t.hold(len(hangs) == len(bridges), "the boiler house hangs on %v", hangs)
	t.cleo.tell("asks: the boiler house flickers, why? No entry shows that anything went; but all of it hangs on %s, and its hub was never seen to hear it. She asks first: %s", strings.Join(hangs, " and on "), e.Ask[0])
}

// agreeWithCleo holds that a third who has the log sees what the two saw.
func (t *story) agreeWithCleo() {
	if t.err != nil {
		return
	}
	a := t.ada.At(projection.At(t.then))
	c := t.cleo.At(projection.At(t.then))
	t.hold(len(a.Devices) == len(c.Devices), "Cleo has all devices")
	for i := range a.Devices {
		x, y := &a.Devices[i], &c.Devices[i]
		t.hold(x.State == y.State && x.Serial == y.Serial, "Ada and Cleo see %s differently", x.Device)
	}
}

func (t *story) puzzle() {
	dark := t.third[0].Device
	d, _ := t.cleo.Now().Device(dark)
	t.hold(d.Has(projection.FlagDark), "%s has no power, says the log", dark)
	if t.err != nil {
		return
	}
	asked := t.cut.Add(time.Minute).Time().In(t.cleo.Now().Location()).Format("2006-01-02 15:04")
	then := t.cleo.At(projection.Moment{Known: projection.Known{Member: t.ada.Key(), At: events.Some(t.cut.Add(time.Minute))}})
	known, _ := then.Device(dark)
	t.hold(known != nil && !known.Has(projection.FlagDark), "Ada did not know then that %s went dark", dark)
	why, err := t.cleo.Explain(callback.Question{About: events.Device(dark), Symptom: callback.NoAnswer, Now: t.time})
	t.check(err)
	t.hold(len(why.Causes) > 0 && why.Causes[0].Kind == string(callback.ByPower) && why.Causes[0].Subject == events.Circuit(t.breaker).String(), "the likeliest cause is %s", t.breaker)
	if t.err != nil {
		return
	}
	home := t.cleo.home()
	for _, p := range t.people {
		t.check(p.Close())
	}
	t.people = nil
	ask := func(command string, args ...any) {
		t.printf("  %s --home %s %s\n", t.name, quoted(home), fmt.Sprintf(command, args...))
	}
	t.printf("The caretaker calls: \"%s has been dark since that night.\" Nobody remembers why.\nFour commands on the log that this demo leaves behind tell why, who did what, and who knew:\n\n", dark)
	ask("explain %s --symptom no-answer", dark)
	ask("show %s", dark)
	ask("history circuit:%s", t.breaker)
	ask("show %s --known-by Ada --known-at '%s'", dark, asked)
	t.printf("\n(Ben's clock was 4 minutes fast. His device and Ada's compared clocks when they met, so his entries stand at the true time.)\n")
	t.printf("\nEvery step above was checked, and held.\n")
}
