package main

import (
	"context"
	"fmt"
	"slices"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/settle"
	"pairwalk/projection/walk"
	"pairwalk/syncd/member"
	"pairwalk/testdata"
)

const (
	demoSite = "Kiln Lane Works"
	demoZone = "Europe/Vienna"
)

// act is one scene of the demo.
type act struct {
	title string
	play  func()
}

// story is the made-up job: who is in it, and what they remember between acts.
type story struct {
	*stage
	ada, ben, cleo *person

	basement, third []*projection.Device // what Ada and Ben pair
	shared          *projection.Device   // what both pair
	locked          []*projection.Device
	breaker         events.CircuitID
	missed          []events.Tag
	dead            events.Tag
	opened          events.Instant // when nothing was set yet
	then            events.Instant // the moment of the callback's question
	cut             events.Instant // when the breaker of the puzzle went off
}

func (t *story) acts() []act {
	return []act{
		{"Ada opens the site, and Ben joins", t.opening},
		{"Ada looks ahead: channels, paths home, and who walks where", t.planning},
		{"Both lose contact: Ada in the basement, Ben on floor 3, his clock 4 minutes fast", t.apart},
		{"One device, paired by both in ignorance of each other", t.twice},
		{"A breaker goes off in the wait", t.breakerOff},
		{"Ada changes a channel after pairing, and pushes too early", t.early},
		{"They meet, exchange logs, and see what clashes", t.meeting},
		{"They ask, settle it, bring the records home and push again", t.again},
		{"Paired is not reachable: an island in the boiler house", t.island},
		{"A dead unit is replaced", t.replaced},
		{"The owner gets a pack that proves itself", t.handsOver},
		{"Four months later: a new laptop, and a question", t.callback},
		{"A puzzle for you", t.puzzle},
	}
}

func (t *story) opening() {
	t.at("12:30")
	t.ada = t.enter("Ada", 0)
	m, _, err := t.ada.folder().Init(context.Background(), member.Opening{Name: demoSite, Person: "Ada", Zone: demoZone, Practice: true})
	t.check(err)
	if t.err != nil {
		return
	}
	t.ada.Member = m
	rows := 0
	for _, sheet := range [][]byte{testdata.WorksFloors, testdata.WorksSchedule, testdata.WorksWalls, testdata.WorksLinks, testdata.WorksSurvey} {
		rows += t.ada.takes(sheet)
	}
	t.opened = t.time
	s := t.ada.Now()
	t.hold(len(s.Devices) > 400 && len(s.Hubs) == 4, "the schedule has %d devices on %d hubs", len(s.Devices), len(s.Hubs))
	t.ada.tell("opens %s and takes in %d rows: %d devices, %d hubs, %d floors", demoSite, rows, len(s.Devices), len(s.Hubs), len(s.Floors))
	token, err := t.ada.Invite(events.Tech, 48*time.Hour, "")
	t.check(err)
	t.ben = t.enter("Ben", 4*time.Minute)
	t.pass(2 * time.Minute)
	t.ben.join(token)
	t.ben.tell("joins by Ada's invite, %d characters of text", len(token.String()))
	t.ben.meets(t.ada)
	if t.err != nil {
		return
	}
	who, ok := t.ada.Now().Member(t.ben.Key())
	t.hold(ok && who.Standing == projection.Admitted, "Ada's device admits Ben by itself")
	t.ben.tell("calls at Ada's device over the site's network; it admits him, and he has the whole log")
	t.hold(len(t.ada.Now().Comparisons) > 0, "their clocks were compared")
	t.ada.tell("sees that Ben's clock is %s fast: the devices compare clocks whenever they meet", span(t.ben.skew))
	t.readyHubs()
	t.ben.meets(t.ada)
	t.agree(t.ada, t.ben, t.time)
}

func (t *story) readyHubs() {
	t.pass(5 * time.Minute)
	for _, hub := range []events.HubID{"H1", "H4"} {
		t.ada.log(events.HubChannel{Hub: hub, Radio: events.Mesh, Channel: 20}, events.HubLoaded{Hub: hub, Program: "r1", All: true}, events.HubReady{Hub: hub})
	}
	t.ada.log(events.HubAssigned{Hub: "H1", Member: t.ada.Key()}, events.HubAssigned{Hub: "H4", Member: t.ben.Key()})
	t.ada.tell("readies H1 and H4 on channel 20, as on their last job, with program r1; Ada takes H1, Ben H4")
}

// pairs logs devices one after the other, two minutes each.
func (p *person) pairs(devices []*projection.Device, hub events.HubID) {
	for _, d := range devices {
		p.s.pass(2 * time.Minute)
		p.log(events.DevicePaired{Device: d.Device, Hub: hub, Serial: serialFor(p, d.Device), How: d.Is.How()})
	}
}

func serialFor(p *person, t events.Tag) events.Serial {
	return events.Serial(fmt.Sprintf("SN-%s-%s", p.name[:1], t))
}

func (t *story) apart() {
	s := t.ada.Now()
	t.basement = pick(s, walk.Order(s, "H1"), "B1", events.Mesh, 8)
	on3 := pick(s, walk.Order(s, "H4"), "3", events.Mesh, 14)
	t.hold(len(t.basement) == 8 && len(on3) == 14, "the schedule has mesh devices for H1 in the basement and for H4 on floor 3")
	if t.err != nil {
		return
	}
	t.shared, t.third, t.locked = on3[0], on3[1:10], on3[10:14]
	t.at("13:30")
	t.ada.tell("no signal in the basement; next act: %s", firstAct(t.ada))
	t.ada.pairs(t.basement, "H1")
	t.ada.tell("paired %d on H1, %s to %s", len(t.basement), t.basement[0].Device, t.basement[7].Device)
	t.ben.pairs(t.third[:5], "H4")
	for _, d := range t.locked {
		t.ben.log(events.DeviceSkipped{Device: d.Device, Why: events.NoAccess, Note: "room locked, key with the caretaker"})
	}
	t.ben.tell("paired %d on H4; skips %d devices behind a locked door (his clock shows %s)", 5, len(t.locked), t.shown(t.time.Add(t.ben.skew)))
	d, _ := t.ben.Now().Device(t.locked[0].Device)
	t.hold(d.Has(projection.FlagSkipped) && d.State == projection.Listed, "%s is skipped", d.Device)
}

func firstAct(p *person) string {
	steps := p.Next()
	if len(steps) == 0 {
		return "nothing"
	}
	return fmt.Sprintf("%s %s: %s", steps[0].Act, steps[0].Subject.Words(), steps[0].Why)
}

func (t *story) twice() {
	t.pass(3 * time.Minute)
	t.ada.log(events.DevicePaired{Device: t.shared.Device, Hub: "H4", Serial: serialFor(t.ada, t.shared.Device), How: events.ByButton})
	t.ada.tell("comes up the stairs and pairs %s, which she takes for open", t.shared.Device)
	t.pass(6 * time.Minute)
	t.ben.log(events.DevicePaired{Device: t.shared.Device, Hub: "H4", Serial: serialFor(t.ben, t.shared.Device), How: events.ByButton})
	t.ben.tell("pairs %s too, with another unit's serial: he has not heard of Ada's entry", t.shared.Device)
	t.then = t.time.Add(6 * time.Minute)
	t.hold(len(t.ada.Now().Conflicts) == 0 && len(t.ben.Now().Conflicts) == 0, "neither can know yet")
}

func (t *story) breakerOff() {
	t.ben.pairs(t.third[5:], "H4")
	d, _ := t.ben.Now().Device(t.third[0].Device)
	t.breaker = d.Circuit
	t.hold(t.breaker != "", "%s is on a circuit", d.Device)
	t.pass(3 * time.Minute)
	t.ben.log(events.PowerOff{Of: events.Circuit(t.breaker), Dark: []events.Tag{t.third[0].Device, t.third[1].Device}})
	t.ben.tell("%s goes off while H4 settles; he writes down what went dark. %s", t.breaker, cautionPower)
	j := t.ben.judge("H4")
	t.hold(slices.ContainsFunc(j.Reasons, func(r settle.Reason) bool { return r.Kind == settle.PowerOff }), "the outage keeps the push back")
	t.pass(6 * time.Minute)
	t.ben.log(events.PowerOn{Of: events.Circuit(t.breaker)})
	j = t.ben.judge("H4")
	t.hold(j.At.Known && j.At.Value.Sub(t.time.Add(t.ben.skew)) > 9*time.Minute, "the wait starts again when power is back")
	t.ben.tell("power is back; the wait of H4 starts again and runs until %s by his clock", t.shown(j.At.Value))
}

func (t *story) early() {
	t.ada.log(events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 25})
	t.ada.tell("remembers the plan, and moves H1 to channel 25 with %d devices paired on it", len(t.basement))
	t.hold(slices.Contains(kindsOf(member.AllConflicts(t.ada.Now())), projection.ChannelChanged), "the change after pairing is flagged")
	s := t.ada.Now()
	late := pick(s, walk.Order(s, "H1"), "B1", events.Mesh, 1)
	t.hold(len(late) == 1, "H1 has one more device in the basement")
	t.ada.pairs(late, "H1")
	t.pass(3 * time.Minute)
	t.missed = []events.Tag{t.basement[6].Device, t.basement[7].Device}
	t.ada.shows(t.ada.judge("H1"))
	t.ada.log(events.PushDone{Hub: "H1", Program: "r1", Missed: t.missed})
	t.ada.tell("pushes H1 all the same, 3 minutes after %s was paired; %s and %s miss it", late[0].Device, t.missed[0], t.missed[1])
	kinds := kindsOf(member.AllConflicts(t.ada.Now()))
	t.hold(slices.Contains(kinds, projection.PushedEarly) && slices.Contains(kinds, projection.PushedUnmerged), "the early push is flagged, and that the records had not come home: %v", kinds)
}

// news is how many entries Ada and Ben hold, without the comparisons of clocks,
// which any meeting may bring.
func (t *story) news() [2]int {
	count := func(p *person) int {
		s, said := p.Now(), p.History(projection.Moment{}, events.Subject{})
		return len(said) - len(member.Chosen(s, said, member.Choice{Kinds: []string{"clock"}}))
	}
	return [2]int{count(t.ada), count(t.ben)}
}

func (t *story) meeting() {
	t.pass(5 * time.Minute)
	got, gave := t.ben.meets(t.ada)
	t.ben.tell("comes back within reach of Ada's device: %d entries from her, %d to her; the same now", got, gave)
	t.hold(got > 0 && gave > 0, "each had something new")
	before := t.news()
	t.ben.meets(t.ada)
	t.hold(t.news() == before, "a second meeting brings nothing, but for another look at the clocks")
	t.agree(t.ada, t.ben, t.then)
	t.ada.tell("and Ben now see the same, byte for byte, of this moment and of any before")
	i := slices.IndexFunc(t.ada.Now().Conflicts, func(c projection.Conflict) bool { return c.Kind == projection.PairedTwice })
	t.hold(i >= 0, "the double pairing is found, although Ben's clock is 4 minutes off")
	if t.err != nil {
		return
	}
	c := t.ada.Now().Conflicts[i]
	t.ada.tell("conflict: %s", c.Why)
	for n, o := range c.Offers {
		t.printf("             %d  %s\n", n+1, o.Words)
	}
	j := t.ben.judge("H4")
	t.ben.shows(j)
	judged{j, t.stage}.says(settle.Blocked)
}

func (t *story) again() {
	t.pass(2 * time.Minute)
	i := slices.IndexFunc(t.ada.Now().Conflicts, func(c projection.Conflict) bool { return c.Kind == projection.PairedTwice })
	c := t.ada.Now().Conflicts[i]
	k := slices.IndexFunc(c.Offers, func(o projection.Offer) bool { return o.Stands == t.pairingBy(t.ben, c) })
	_, err := t.ada.Resolve(context.Background(), c.Key, fmt.Sprint(k+1), "read the label together: it is Ben's unit, mine went back into the box")
	t.check(err)
	t.ada.tell("asks Ben, who reads the label again: his unit sits there. Resolved")
	t.ada.bringHome()
	t.ada.log(events.HubReady{Hub: "H1"})
	t.ada.meets(t.ben)
	t.pass(11 * time.Minute)
	j := t.ada.judge("H1")
	t.ada.shows(j)
	judged{j, t.stage}.says(settle.Ready)
	t.ada.log(events.PushDone{Hub: "H1", Program: "r1"})
	d, _ := t.ada.Now().Device(t.missed[0])
	t.hold(d.State == projection.Pushed, "%s, which missed the first push, has taken this one", d.Device)
	t.ada.tell("pushes H1 again, with the channel change and the two that had missed; all %d took it", len(t.basement)+1)
	t.askAndPush()
}

// pairingBy is the reference of somebody's own pairing in a conflict.
func (t *story) pairingBy(p *person, c projection.Conflict) string {
	for _, ref := range c.Events {
		if ref.Feed.Key() == p.Key() {
			return ref.String()
		}
	}
	return ""
}

func (p *person) bringHome() {
	if p.s.err != nil {
		return
	}
	out, err := p.Records()
	p.s.check(err)
	_, err = p.Exported(context.Background(), out)
	p.s.check(err)
	_, err = p.Merged(context.Background(), out.Export, "", member.Entry{})
	p.s.check(err)
	p.tell("writes the records of %d pairings for the office, and the office merges them", len(out.Pairings.Rows))
}

func (t *story) askAndPush() {
	j := t.ben.judge("H4")
	t.ben.shows(j)
	judged{j, t.stage}.says(settle.Ask)
	t.hold(len(j.Ask) == 1 && j.Ask[0].Member == t.ada.Key(), "he is to ask Ada, who paired one device on H4")
	t.ben.log(events.MemberAsked{Member: t.ada.Key(), Hub: "H4", Through: t.ben.stamp().Wall.At})
	t.ben.tell("asks Ada by voice: paired anything on H4 since? None")
	j = t.ben.judge("H4")
	judged{j, t.stage}.says(settle.Ready)
	t.ben.log(events.PushDone{Hub: "H4", Program: "r1"})
	t.ben.tell("pushes H4. %s", walk.CautionPush)
}

func (t *story) replaced() {
	t.pass(9 * time.Minute)
	t.dead = t.third[2].Device
	d, _ := t.ben.Now().Device(t.dead)
	t.ben.log(events.DeviceReplaced{Device: t.dead, Old: d.Serial, New: "SN-B-9001", Why: "dead: no light, no answer"})
	t.ben.tell("%s is dead; a new unit goes in. %s", t.dead, walk.CautionMains)
	t.ben.log(events.DevicePaired{Device: t.dead, Hub: "H4", Serial: "SN-B-9001", How: events.ByButton})
	t.ben.meets(t.ada)
	t.ada.bringHome()
	t.ben.meets(t.ada)
	t.ben.log(events.MemberAsked{Member: t.ada.Key(), Hub: "H4", Through: t.ben.stamp().Wall.At})
	judged{t.ben.judge("H4"), t.stage}.says(settle.Wait)
	t.pass(10*time.Minute + time.Second)
	judged{t.ben.judge("H4"), t.stage}.says(settle.Ready)
	t.ben.log(events.PushDone{Hub: "H4", Program: "r1", Tried: []events.Tag{t.dead}}, events.DeviceHeard{Device: t.dead, Hub: "H4"})
	d, _ = t.ben.Now().Device(t.dead)
	t.hold(d.State == projection.Pushed && d.Heard != nil && len(t.ben.Now().Conflicts) == 0, "%s is pushed and heard, and no conflict of identity stands", t.dead)
	t.ben.tell("waits ten minutes, pushes to %s alone, and the hub hears it", t.dead)
	t.pass(20 * time.Minute)
	t.cut = t.time
	t.ben.log(events.PowerOff{Of: events.Circuit(t.breaker)}, events.NoteAdded{Of: events.Circuit(t.breaker), Text: "electrician wants it off overnight; to be put on again in the morning"})
	t.ben.tell("notes that the electrician keeps %s off overnight, and goes home", t.breaker)
}
