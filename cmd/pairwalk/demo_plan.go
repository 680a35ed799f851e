package main

import (
	"slices"
	"strings"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
	"pairwalk/projection/spectrum"
	"pairwalk/projection/walk"
	"pairwalk/syncd/member"
)

// What the working site is made to show: a circuit that others hang on, and a room
// that is reached through two fittings of a passage.
const (
	corridorCircuit = "C4-7"
	corridorFloor   = "3"
	boilerRoom      = "B1-R10"
	cellar          = "B1"
)

// bridges are the fittings that the boiler house hangs on.
var bridges = []events.Tag{"B1-148", "B1-134"}

func (t *story) planning() {
	t.pass(5 * time.Minute)
	if t.err != nil {
		return
	}
	t.channelPlan()
	doc := t.reach(t.ada, member.Supposed{What: mesh.What{Planned: true}})
	ok := map[string]int{}
	for _, d := range doc.Devices {
		ok[d.OK]++
	}
	t.hold(ok["yes"] > 200 && ok["no"] == 0 && ok["unknown"] > 100, "the plan gives paths where places are known, and says unknown elsewhere: %v", ok)
	t.ada.tell("asks: will every device have a path home? %d will; of %d nobody knows, since floors 2 and 4 have no coordinates; by %s", ok["yes"], ok["unknown"], beforeComma(doc.Model))

	w := member.Supposed{What: mesh.What{Planned: true, Without: []events.Subject{events.Circuit(corridorCircuit)}}}
	doc = t.reach(t.ada, w)
	t.hold(doc.Change != nil && len(doc.Change.Lost) >= 10, "%s strands a corridor", corridorCircuit)
	if t.err != nil {
		return
	}
	t.ada.tell("asks: and if breaker %s goes off? %d devices on other breakers would lose their path: %s", corridorCircuit, len(doc.Change.Lost), listTags(doc.Change.Lost))
	t.println()
	t.check(t.drawReach(t.ada.Now(), doc.Devices, doc.SinglePoints, corridorFloor, true))
	people, err := t.ada.Walkers(nil)
	t.check(err)
	plan := t.ada.Walk(projection.Moment{}, people, t.time)
	alone := t.ada.Walk(projection.Moment{}, people[:1], t.time)
	t.hold(len(plan.People) == 2 && plan.Finish < alone.Finish, "two are faster than one: %s and %s", plan.Finish, alone.Finish)
	t.ada.tell("lays out the whole job for two: each device has a path home when its turn comes; %s for two, %s alone", t.lasts(plan), t.lasts(alone))
}

// lasts says how long a planned job takes.
func (t *story) lasts(doc member.WalkAnswer) string {
	end, err := time.Parse(time.RFC3339, doc.Finish)
	t.check(err)
	return span(end.Sub(t.time.Time()))
}

// channelPlan holds the plan of channels against the usual one for all hubs.
func (t *story) channelPlan() {
	plan, err := t.ada.Channels(projection.Moment{}, spectrum.Options{Move: true})
	t.check(err)
	usual, err := t.ada.Channels(projection.At(t.opened), spectrum.Options{Move: true})
	t.check(err)
	t.hold(plan.Exact && plan.Cost*10 < usual.NowCost, "the plan of channels beats the usual one: %d to %d", plan.Cost, usual.NowCost)
	if t.err != nil {
		return
	}
	var words []string
	for _, h := range plan.Hubs {
		words = append(words, h.ID+" on "+channel(h.Plan))
	}
	t.ada.tell("plans channels by the places and the Wi-Fi survey: with all hubs on the usual one, %s devices would be disturbed; with %s it is %s, and no plan is better", thousandths(usual.NowCost), strings.Join(words, ", "), thousandths(plan.Cost))
}

func (t *story) reach(p *person, w member.Supposed) member.ReachAnswer {
	if t.err != nil {
		return member.ReachAnswer{}
	}
	doc, err := p.Reach(projection.Moment{}, w)
	t.check(err)
	return doc
}

// beforeComma is a model's first words: the recommendation.
func beforeComma(model string) string {
	words, _, _ := strings.Cut(model, ",")
	return words
}

func (t *story) island() {
	t.pass(4 * time.Minute)
	if t.err != nil {
		return
	}
	s := t.ada.Now()
	var room []*projection.Device
	for i := range s.Devices {
		if d := &s.Devices[i]; d.Room == boilerRoom && d.Wants(projection.NeedPair) {
			room = append(room, d)
		}
	}
	t.hold(len(room) > 4, "room %s is still to be paired", boilerRoom)
	t.ada.pairs(room, "H1")
	t.ada.tell("finds the boiler house open and pairs all %d there, far from the hub", len(room))
	doc := t.reach(t.ada, member.Supposed{Advise: true})
	i := slices.IndexFunc(doc.Islands, func(x member.ReachIsland) bool { return x.Sure })
	t.hold(i >= 0 && len(doc.Islands[max(i, 0)].Devices) == len(room), "they are an island")
	if t.err != nil {
		return
	}
	t.ada.tell("asks who has a path home: an island of %d, %s", len(room), listTags(doc.Islands[i].Devices))
	t.println()
	t.check(t.drawReach(t.ada.Now(), doc.Devices, doc.SinglePoints, cellar, false))
	for _, tag := range bridges {
		d, _ := t.ada.Now().Device(tag)
		t.ada.pairs([]*projection.Device{d}, "H1")
	}
	doc = t.reach(t.ada, member.Supposed{})
	t.hold(!slices.ContainsFunc(doc.Islands, func(x member.ReachIsland) bool { return x.Sure }), "no island is left")
	far := slices.IndexFunc(doc.Devices, func(d member.ReachDevice) bool { return d.Tag == string(room[0].Device) })
	t.hold(far >= 0 && doc.Devices[far].OK == "yes", "%s has a path", room[0].Device)
	if t.err != nil {
		return
	}
	t.ada.tell("pairs %s in the passage between; now %s goes home %s", listTags([]string{string(bridges[0]), string(bridges[1])}), room[0].Device, strings.Join(doc.Devices[far].Path[1:], " - "))
	t.ada.bringHome()
	t.pass(11 * time.Minute)
	judged{t.ada.judge("H1"), t.stage}.says("ready")
	t.ada.log(events.PushDone{Hub: "H1", Program: "r1"})
	t.ada.tell("brings the records home, waits, and pushes H1 once more. %s", walk.CautionPush)
}
