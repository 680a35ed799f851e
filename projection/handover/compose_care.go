package handover

import (
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/walk"
)

// caretaker is one page a floor: what must stay on, and what goes out with it.
func (c *composer) caretaker() Part {
	p := Part{
		ID: "caretaker", Title: "For the caretaker",
		Lead: "Which breakers and which devices must stay on, and what each floor loses without them. If something stops answering, look here first.",
		Blocks: []Block{
			Caution{walk.CautionMains}, Caution{walk.CautionEmergency},
			Text{"A controls device that has lost its way to its hub still has power: its light may stay as it was and not answer. The devices that pass its messages on must have power."},
		},
	}
	for i, f := range c.floors {
		p.Blocks = append(p.Blocks, Heading{Text: f.title(), NewPage: i > 0})
		p.Blocks = append(p.Blocks, c.careOf(f)...)
	}
	p.Blocks = append(p.Blocks, Caution{walk.CautionPermit})
	return p
}

// onlyLook stands wherever somebody is sent to a breaker.
const onlyLook = "Only look at a breaker, don't switch it: somebody may be working on what it feeds."

// offNow says what a floor lacks at this moment, before anybody looks for a reason.
func (c *composer) offNow(f floor) []Block {
	var out []Block
	for _, x := range c.site.Circuits {
		if x.Off == nil {
			continue
		}
		k := c.keepOf(f, events.Circuit(x.ID))
		dark := c.goesDark(k)
		if dark == "" && len(k.cut) == 0 {
			continue
		}
		words := "Circuit " + said(x.ID) + " was off at the moment of this pack, since " + c.whenBy(x.Off) + "."
		if dark != "" {
			words += " Dark with it: " + dark + "."
		}
		if len(k.cut) > 0 {
			words += " With power, and without a way to the hub: " + c.inRooms(k.cut) + "."
		}
		out = append(out, Text{words + " Ask who switched it off, and why, before anybody switches it on."})
	}
	return out
}

func (c *composer) careOf(f floor) []Block {
	keeps := c.keeps(f)
	out := c.offNow(f)
	if slices.ContainsFunc(keeps, func(k keep) bool { return len(k.cut) > 0 }) {
		out = append(out, Caution{onlyLook})
	}
	t := Table{
		Caption: f.title() + ": what must stay on",
		Columns: []Column{{"Keep on", 2, false}, {"Goes dark without it", 4, false}, {"Has power, and stops answering without it", 4, false}, {"How this is known", 3, false}},
		None:    "Of this floor it is not known which breaker or device anything hangs on.",
	}
	for _, k := range keeps {
		if words := c.lookFirst(k); words != "" {
			out = append(out, Text{words})
		}
		t.Rows = append(t.Rows, []string{c.subject(k.of), c.goesDark(k), c.inRooms(k.cut), c.howKnown(k)})
	}
	out = append(out, t)
	return append(out, c.findOut(f)...)
}

// lookFirst is the plain advice for what is cut off although it has power, and for
// a whole hub.
func (c *composer) lookFirst(k keep) string {
	if len(k.cut) == 0 {
		return ""
	}
	first := c.subject(k.of) + " is on"
	if tag, ok := k.of.Tag(); ok {
		first = c.deviceAt(tag) + " has power"
	}
	return "If " + verb(len(k.cut), "this device stops", "these devices stop") + " answering, first look whether " + first + ": " + c.inRooms(k.cut) + "."
}

// deviceAt names a device so that it can be found: 2-114 (a driver on floor 2, in room
// 2-R05).
func (c *composer) deviceAt(tag events.Tag) string {
	d, _ := c.site.Device(tag)
	what := "a device"
	if d.Is != "" {
		what = "a " + hyphens(d.Is)
	}
	where := ""
	if id := c.floorOf[tag]; id != "" {
		where = "on floor " + said(id)
	}
	if d.Room != "" {
		where = join(", ", where, "in room "+said(d.Room))
	}
	return said(tag) + " (" + join(" ", what, where) + ")"
}

func (c *composer) goesDark(k keep) string {
	words := c.inRooms(append(slices.Clone(k.scheduled), k.seen...))
	if len(k.hubs) > 0 {
		words = join("; ", words, verb(len(k.hubs), "hub ", "hubs ")+and(k.hubs...)+", and with "+verb(len(k.hubs), "it", "them")+" all control by "+verb(len(k.hubs), "it", "them"))
	}
	return words
}

func (c *composer) howKnown(k keep) string {
	var out []string
	if len(k.scheduled) > 0 || len(k.hubs) > 0 {
		out = append(out, "supply: by the schedule")
	}
	if len(k.seen) > 0 {
		out = append(out, "supply of "+c.tags(k.seen)+": learned, seen to go dark with it")
	}
	if len(k.cut) > 0 {
		out = append(out, "ways: worked out from the paths in this pack")
	}
	return strings.Join(out, "; ")
}

// inRooms names positions room by room.
func (c *composer) inRooms(tags []events.Tag) string {
	by := map[events.RoomID][]events.Tag{}
	var rooms []events.RoomID
	for _, t := range tags {
		d, ok := c.site.Device(t)
		if !ok {
			continue
		}
		if by[d.Room] == nil {
			rooms = append(rooms, d.Room)
		}
		by[d.Room] = append(by[d.Room], t)
	}
	slices.SortFunc(rooms, events.ByName[events.RoomID])
	var out []string
	for _, r := range rooms {
		if r == "" {
			continue
		}
		out = append(out, "room "+said(r)+" ("+c.marked(by[r])+")")
	}
	if bare := by[""]; len(bare) > 0 {
		words := c.marked(bare)
		if len(out) > 0 {
			words += " (no room known)"
		}
		out = append(out, words)
	}
	return strings.Join(out, ", ")
}

// marked names positions, and those among them that are emergency lighting once more,
// which a range would hide.
func (c *composer) marked(tags []events.Tag) string {
	var emergency []events.Tag
	for _, t := range tags {
		if d, ok := c.site.Device(t); ok && d.Emergency {
			emergency = append(emergency, t)
		}
	}
	switch len(emergency) {
	case 0:
		return c.tags(tags)
	case len(tags):
		return c.tags(tags) + ", emergency"
	}
	return c.tags(tags) + "; emergency: " + c.tags(emergency)
}

// findOut says what nobody knows of a floor yet, and how it gets known.
func (c *composer) findOut(f floor) []Block {
	var devices []events.Tag
	for _, d := range f.Devices {
		if d.Struck == nil && d.Power != events.Battery && len(c.circuits(d)) == 0 {
			devices = append(devices, d.Device)
		}
	}
	var hubs []string
	for _, h := range f.Hubs {
		if h.Struck == nil && h.Circuit == "" {
			hubs = append(hubs, said(h.Hub))
		}
	}
	var out []Block
	if len(devices) > 0 {
		out = append(out, Text{"To find out: on which breaker " + verb(len(devices), "this position is", "these positions are") + ": " + c.tags(devices) + ". When a breaker is switched off for other work, walk the floor and write down what went dark; that is how circuits are learned."})
	}
	if len(hubs) > 0 {
		out = append(out, Text{"To find out: on which breaker " + verb(len(hubs), "hub ", "hubs ") + and(hubs...) + verb(len(hubs), " is.", " are.")})
	}
	unknown := c.devicesThat(func(d *projection.Device) bool {
		return d.Struck == nil && c.floorOf[d.Device] == f.ID && c.unjudged(d)
	})
	if len(unknown) > 0 {
		out = append(out, Text{"Of " + verb(len(unknown), "this device", "these devices") + " nobody knows what carries " + verb(len(unknown), "it", "them") + " to the hub, so this page can't say what else must stay on for " + verb(len(unknown), "it", "them") + ": " + c.tags(unknown) + "."})
	}
	return out
}

// unjudged says whether a paired device's way is not known hop by hop.
func (c *composer) unjudged(d *projection.Device) bool {
	r, ok := c.Net.Reach(d.Device)
	return ok && r.Hops == 0 && r.Answer != "no"
}
