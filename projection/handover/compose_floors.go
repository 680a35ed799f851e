package handover

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
	"pairwalk/projection/storey"
)

// floor is what is on one floor; ID is "" for what nobody said the floor of.
type floor struct {
	ID      events.FloorID
	Devices []*projection.Device
	Hubs    []*projection.Hub
}

// gatherFloors sorts what there is by floors, from the lowest up; what is on no
// known floor comes last.
func (c *composer) gatherFloors(t *storey.Storeys) {
	at := map[events.FloorID]*floor{}
	on := func(id events.FloorID) *floor {
		if at[id] == nil {
			at[id] = &floor{ID: id}
		}
		return at[id]
	}
	for _, f := range c.site.Floors {
		on(f.Floor)
	}
	c.floorOf = map[events.Tag]events.FloorID{}
	for i := range c.site.Devices {
		d := &c.site.Devices[i]
		id := t.Floor(d.Floor, d.Room, d.Place)
		c.floorOf[d.Device] = id
		on(id).Devices = append(on(id).Devices, d)
	}
	for i := range c.site.Hubs {
		h := &c.site.Hubs[i]
		id := t.Floor(h.Floor, h.Room, h.Place)
		c.hubFloor[h.Hub] = id
		on(id).Hubs = append(on(id).Hubs, h)
	}
	for _, f := range at {
		c.floors = append(c.floors, *f)
	}
	level := func(id events.FloorID) int {
		if n, ok := t.Level(id, events.Maybe[events.Point]{}); ok {
			return n
		}
		return 1 << 20
	}
	slices.SortFunc(c.floors, func(a, b floor) int {
		if (a.ID == "") != (b.ID == "") {
			return cmp.Compare(b.ID, a.ID)
		}
		return cmp.Or(cmp.Compare(level(a.ID), level(b.ID)), events.ByName(a.ID, b.ID))
	})
}

// title names a floor in a heading.
func (f floor) title() string {
	if f.ID == "" {
		return "Floor not known"
	}
	return "Floor " + said(f.ID)
}

// floorPart draws each floor and lists what is on it.
func (c *composer) floorPart() Part {
	p := Part{ID: "floors", Title: "Floors", Lead: "What sits where, how far each device has come, and its way to its hub. An empty cell means that nobody has said."}
	if len(c.floors) == 0 {
		p.Blocks = append(p.Blocks, Text{"The schedule has neither floors nor devices."})
	}
	for i, f := range c.floors {
		p.Blocks = append(p.Blocks, Heading{Text: f.title(), NewPage: i > 0})
		drawings, partOf, words := c.draw(f)
		if words != "" {
			p.Blocks = append(p.Blocks, Text{words})
		}
		for _, d := range drawings {
			p.Blocks = append(p.Blocks, d)
		}
		p.Blocks = append(p.Blocks, c.floorTable(f, partOf))
	}
	p.Blocks = append(p.Blocks, c.howReachIsKnown()...)
	return p
}

func (c *composer) floorTable(f floor, partOf map[events.Tag]string) Table {
	t := Table{
		Caption: f.title() + ": devices",
		Columns: []Column{{"Tag", 5, false}, {"Kind", 5, false}, {"Room", 5, false}, {"Hub", 3, false}, {"State", 6, false}, {"Serial", 6, false}, {"Way to its hub", 10, false}, {"Known by", 7, false}},
		None:    "No devices are listed here.",
	}
	if len(partOf) > 0 {
		t.Columns = append(t.Columns, Column{"Part", 3, false})
	}
	for _, d := range f.Devices {
		way, basis := c.way(d)
		row := []string{said(d.Device), said(d.Is), said(d.Room), said(hubOf(d)), c.state(d), said(d.Serial), way, basis}
		if len(partOf) > 0 {
			row = append(row, partOf[d.Device])
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// hubOf is the hub a device is paired to, else the one it is scheduled on.
func hubOf(d *projection.Device) events.HubID {
	if d.Paired != nil {
		return d.Paired.Hub
	}
	return d.Hub
}

// state sums a device up: how far it has come, and what is odd about it.
func (c *composer) state(d *projection.Device) string {
	words := []string{string(d.State)}
	for _, f := range d.Flags {
		words = append(words, flagWords[f])
	}
	return strings.Join(words, "; ")
}

var flagWords = map[projection.Flag]string{
	projection.FlagEmergency:   "emergency",
	projection.FlagFound:       "found in the field",
	projection.FlagStruck:      "taken off the schedule",
	projection.FlagHold:        "hold",
	projection.FlagDark:        "no power",
	projection.FlagConflict:    "conflict",
	projection.FlagSkipped:     "skipped",
	projection.FlagRefused:     "refused",
	projection.FlagMissed:      "missed its last push",
	projection.FlagNotReady:    "paired before its hub was ready",
	projection.FlagNotListed:   "not in the hub's program",
	projection.FlagNotMerged:   "not yet in the design file",
	projection.FlagOtherHub:    "paired to another hub than scheduled",
	projection.FlagChannel:     "channel changed since",
	projection.FlagFault:       "open fault",
	projection.FlagProvisional: "on the word of a member nobody has confirmed",
}

// way says in words how a device reaches its hub, and what that is known by.
func (c *composer) way(d *projection.Device) (words, basis string) {
	r, ok := c.Net.Reach(d.Device)
	switch {
	case !ok && d.Struck != nil:
		return "", ""
	case !ok && !d.Is.Pairs() && d.Row != nil:
		return "never pairs", ""
	case !ok:
		return "not paired", ""
	}
	switch {
	case r.Answer == mesh.Yes && r.Basis == mesh.Observed:
		words = "yes" + c.mostLikely(r)
	case r.Answer == mesh.Yes:
		words = "yes: " + sentence(r.Why)
	case r.Answer == mesh.No:
		words = "no: " + sentence(r.Why)
	default:
		words = "not known: " + sentence(r.Why)
	}
	return words, c.basis(r)
}

// mostLikely is the path of a device that was observed to have one.
func (c *composer) mostLikely(r mesh.Reach) string {
	switch r.Hops {
	case 0:
		return ""
	case 1:
		return ", most likely straight to the hub"
	}
	via := make([]string, 0, len(r.Path))
	for _, t := range r.Path[1 : len(r.Path)-1] {
		via = append(via, said(t))
	}
	return ", most likely by " + strings.Join(via, ", ")
}

func (c *composer) basis(r mesh.Reach) string {
	switch r.Basis {
	case mesh.NoBasis:
		return "nothing"
	case mesh.Observed:
		if r.Since.Known {
			return "observed " + c.at(r.Since.Value)
		}
	}
	return string(r.Basis)
}

// howReachIsKnown says what the answers rest on.
func (c *composer) howReachIsKnown() []Block {
	out := []Block{
		Heading{Text: "How the ways are known"},
		Text{"Observed: the hub was seen to hear the device, or the device took a push, at that time. Measured: every link of the path was measured. Predicted: worked out from places. Nothing: the log does not tell, so no way is claimed. A time without a date is of the day of this pack, and “yesterday” is the day before it."},
		Text{"Predictions are by " + sentence(c.Net.Model()) + "."},
	}
	for _, n := range append(c.Net.Ground().Notes(), c.Net.Notes()...) {
		out = append(out, Text{first(sentence(n)) + "."})
	}
	return out
}

func metres(mm int64) string {
	sign := ""
	if mm < 0 {
		sign, mm = "-", -mm
	}
	return fmt.Sprintf("%s%d.%d", sign, mm/1000, mm%1000/100)
}
