package main

import (
	"fmt"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
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
	home := t.cleo.home()
	for _, p := range t.people {
		t.check(p.Close())
	}
	t.people = nil
	ask := func(command string, args ...any) {
		t.printf("  %s --home %s %s\n", t.name, quoted(home), fmt.Sprintf(command, args...))
	}
	t.printf("The caretaker calls: \"%s has been dark since that night.\" Nobody remembers why.\nThree commands on the log that this demo leaves behind tell who did what, and who knew:\n\n", dark)
	ask("show %s", dark)
	ask("history circuit:%s", t.breaker)
	ask("show %s --known-by Ada --known-at '%s'", dark, asked)
	t.printf("\n(Ben's clock was 4 minutes fast. His device and Ada's compared clocks when they met, so his entries stand at the true time.)\n")
	t.printf("\nEvery step above was checked, and held.\n")
}
