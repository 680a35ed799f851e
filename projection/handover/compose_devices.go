package handover

import (
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
)

// devicePart lists every position there ever was, also what was taken off the
// schedule.
func (c *composer) devicePart() Part {
	what := Table{
		Caption: "All devices: what they are and where they sit",
		Columns: []Column{{"Tag", 4, false}, {"Kind", 5, false}, {"Hub", 3, false}, {"Serial", 5, false}, {"Floor, room", 4, false}, {"Circuit", 4, false}, {"Maker, model, type, warranty", 6, false}, {"State", 5, false}},
		None:    "No devices are listed.",
	}
	how := Table{
		Caption: "How devices came into service",
		Columns: []Column{{"Tag", 2, false}, {"Serial read", 3, false}, {"Paired", 3, false}, {"How", 2, false}, {"Program, and when it took it", 3, false}, {"Heard by its hub", 3, false}},
		None:    "Nothing is entered of any device.",
	}
	var idle []events.Tag
	for i := range c.site.Devices {
		d := &c.site.Devices[i]
		what.Rows = append(what.Rows, []string{
			c.called(d), kindWords(d), said(hubOf(d)), said(d.Serial), c.where(d.Device),
			c.circuitWords(d), join(", ", said(d.Maker), said(d.Model), said(d.Type), warranty(d)), c.state(d),
		})
		if row := []string{said(d.Device), c.whenBy(d.Fitted), c.paired(d), c.how(d), c.pushed(d), c.whenBy(d.Heard)}; anything(row[1:]) {
			how.Rows = append(how.Rows, row)
		} else {
			idle = append(idle, d.Device)
		}
	}
	blocks := []Block{Text{takenFor}, what, how}
	if len(idle) > 0 {
		blocks = append(blocks, Text{"Of " + verb(len(idle), "this position", "these positions") + " nothing of the sort is entered: " + c.tags(idle) + "."})
	}
	return Part{
		ID: "devices", Title: "Devices",
		Lead:   "Every position on the schedule, and every one found in the field. An empty cell means that nobody has said.",
		Blocks: blocks,
	}
}

// takenFor says what the log takes a device for where its row says nothing: it does
// not keep whether anybody said so.
const takenFor = "Radio and power stand beside the kind only where they are not what the log takes for granted: mesh; mains, or a battery for a sensor. It does not keep whether anybody said that much. Emergency stands where the schedule says so; where it does not, nobody need have looked."

// kindWords is a device's kind, with what is said of its radio and power.
func kindWords(d *projection.Device) string {
	radio, power := d.Radio, d.Power
	if radio == events.UsualRadio {
		radio = ""
	}
	if power == d.Is.UsualPower() {
		power = ""
	}
	return join(", ", said(d.Is), said(radio), said(power))
}

// anything says whether a cell of a row is filled.
func anything(row []string) bool {
	return slices.ContainsFunc(row, func(cell string) bool { return cell != "" })
}

// called is a device's tag, with those it had before.
func (c *composer) called(d *projection.Device) string {
	if len(d.Was) == 0 {
		return said(d.Device)
	}
	was := make([]string, len(d.Was))
	for i, t := range d.Was {
		was[i] = said(t)
	}
	return said(d.Device) + " (was " + strings.Join(was, ", ") + ")"
}

// where is a device's floor and room, as far as they are known.
func (c *composer) where(t events.Tag) string {
	d, ok := c.site.Device(t)
	if !ok {
		return ""
	}
	return join(", ", said(c.floorOf[t]), said(d.Room))
}

// circuits are those a device hangs on: the scheduled one first, then those it was
// seen to go dark with.
func (c *composer) circuits(d *projection.Device) []events.CircuitID {
	var out []events.CircuitID
	if d.Circuit != "" {
		out = append(out, d.Circuit)
	}
	for _, id := range c.learned[d.Device] {
		if id != d.Circuit {
			out = append(out, id)
		}
	}
	return out
}

func (c *composer) circuitWords(d *projection.Device) string {
	var out []string
	for _, id := range c.circuits(d) {
		if id == d.Circuit {
			out = append(out, said(id))
		} else {
			out = append(out, said(id)+" (learned)")
		}
	}
	return strings.Join(out, ", ")
}

// warranty is what is known of it.
func warranty(d *projection.Device) string {
	var words []string
	if d.WarrantyStart != "" {
		words = append(words, "from "+said(d.WarrantyStart))
	}
	if d.WarrantyMonths != 0 {
		words = append(words, "for "+count(d.WarrantyMonths, "month"))
	}
	if len(words) == 0 {
		return ""
	}
	return "warranty " + strings.Join(words, " ")
}

func (c *composer) paired(d *projection.Device) string {
	if d.Paired != nil {
		return c.whenBy(&d.Paired.Cause)
	}
	if d.Unpaired != nil {
		return "not any more: " + c.whenBy(d.Unpaired)
	}
	return ""
}

func (c *composer) how(d *projection.Device) string {
	if d.Paired == nil {
		return ""
	}
	return said(d.Paired.How)
}

func (c *composer) pushed(d *projection.Device) string {
	var words []string
	if d.Pushed != nil {
		words = append(words, join(", ", said(d.Pushed.Program), c.when(d.Pushed.Cause)))
	}
	if d.Missed != nil {
		words = append(words, "missed the push of "+c.when(*d.Missed))
	}
	return strings.Join(words, "; ")
}

// hubPart lists the hubs, and the channels of their radios.
func (c *composer) hubPart() Part {
	hubs := Table{
		Caption: "Hubs",
		Columns: []Column{{"Hub", 2, false}, {"Floor, room", 3, false}, {"Circuit", 2, false}, {"State", 4, false}, {"Program", 3, false}, {"Devices scheduled", 3, true}, {"Paired", 2, true}, {"Pushed", 2, true}, {"Last push", 3, false}},
		None:    "No hubs are listed.",
	}
	channels := Table{
		Caption: "Channels",
		Columns: []Column{{"Hub", 1, false}, {"Radio", 1, false}, {"Channel", 1, true}, {"Set", 3, false}, {"Remark", 4, false}},
		None:    "Nobody has said which channel any hub is on.",
	}
	for i := range c.site.Hubs {
		h := &c.site.Hubs[i]
		listed, paired, pushed := c.onHub(h.Hub)
		last := ""
		if p, ok := h.LastPush(); ok {
			last = c.whenBy(&p.Cause)
		}
		hubs.Rows = append(hubs.Rows, []string{
			said(h.Hub), join(", ", said(c.hubFloor[h.Hub]), said(h.Room)), said(h.Circuit), c.hubState(h), said(h.Program),
			fmt.Sprint(listed), fmt.Sprint(paired), fmt.Sprint(pushed), last,
		})
		for _, r := range events.Radios {
			ch, ok := h.Channels[r]
			if !ok {
				continue
			}
			remark := ""
			if ch.Changed != nil {
				remark = "changed after devices were paired, and no push since"
			}
			channels.Rows = append(channels.Rows, []string{said(h.Hub), string(r), fmt.Sprint(ch.Number), c.whenBy(&ch.Set), remark})
		}
	}
	return Part{ID: "hubs", Title: "Hubs and channels", Lead: "The controllers, what they hold, and which channels their radios are on.", Blocks: []Block{hubs, channels}}
}

// onHub counts devices of a hub.
func (c *composer) onHub(id events.HubID) (listed, paired, pushed int) {
	for i := range c.site.Devices {
		d := &c.site.Devices[i]
		if d.Struck != nil {
			continue
		}
		if d.Hub == id {
			listed++
		}
		if d.Paired != nil && d.Paired.Hub == id {
			paired++
			if d.State == projection.Pushed {
				pushed++
			}
		}
	}
	return listed, paired, pushed
}

func (c *composer) hubState(h *projection.Hub) string {
	switch {
	case h.Struck != nil:
		return "taken off the schedule: " + c.whenBy(h.Struck)
	case h.Lost != nil:
		return join(": ", "lost since "+c.whenBy(h.Lost), said(h.LostWhy))
	case h.Ready != nil:
		return "ready since " + c.whenBy(h.Ready)
	}
	return "not ready"
}
