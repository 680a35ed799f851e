package handover

import (
	"maps"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/walk"
)

// isolateFirst stands at the head of every circuit.
const isolateFirst = "Isolate this circuit first, lock it out, and prove absence of voltage. Only qualified persons. What this log calls off is not isolated."

// job is one thing for the electrician to look at.
type job struct {
	position, where, device, symptom string
}

// electrician lists what is to be looked at, circuit by circuit.
func (c *composer) electrician() Part {
	p := Part{
		ID: "electrician", Title: "For the electrician",
		Lead:   "What does not work or does not answer, by supply circuit.",
		Blocks: []Block{Caution{walk.CautionMains}, Caution{walk.CautionPower}},
	}
	jobs := c.jobs()
	for _, id := range slices.SortedFunc(maps.Keys(jobs), events.ByName[events.CircuitID]) {
		if id == "" {
			continue
		}
		p.Blocks = append(p.Blocks, Heading{Text: "Circuit " + said(id)}, Caution{isolateFirst})
		if tags := c.emergencyOn(id); len(tags) > 0 {
			p.Blocks = append(p.Blocks, Caution{"Emergency lighting hangs on this circuit: " + c.tags(tags) + ". " + walk.CautionEmergency})
		}
		if x := c.circuit(id); x != nil && x.Off != nil {
			p.Blocks = append(p.Blocks, Caution{"It was entered as off: " + c.whenBy(x.Off) + ". That is an entry, not isolation."})
		}
		p.Blocks = append(p.Blocks, jobTable("Circuit "+said(id), jobs[id]))
	}
	if len(jobs[""]) > 0 {
		p.Blocks = append(p.Blocks, Heading{Text: "Circuit not known"},
			Caution{"Nobody knows which circuit feeds these. Find it, isolate it, lock it out, and prove absence of voltage before you open anything."},
		)
		if tags := c.emergencyOn(""); len(tags) > 0 {
			p.Blocks = append(p.Blocks, Caution{"Emergency lighting is on no known circuit, so any may feed it: " + c.tags(tags) + ". " + walk.CautionEmergency})
		}
		p.Blocks = append(p.Blocks, jobTable("Circuit not known", jobs[""]))
	}
	if len(jobs) == 0 {
		p.Blocks = append(p.Blocks, Text{"This log knows of nothing for the electrician to look at."})
	}
	p.Blocks = append(p.Blocks, c.idle(jobs)...)
	p.Blocks = append(p.Blocks, Caution{walk.CautionPermit})
	return p
}

// idle says on which circuits nothing is to be done, and what is on no known one.
func (c *composer) idle(jobs map[events.CircuitID][]job) (out []Block) {
	var idle []string
	for _, x := range c.site.Circuits {
		if len(jobs[x.ID]) == 0 && x.ID != "" {
			idle = append(idle, said(x.ID))
		}
	}
	if len(idle) > 0 {
		out = append(out, Text{"Nothing is recorded against " + verb(len(idle), "circuit ", "circuits ") + and(idle...) + "."})
	}
	if tags := c.devicesThat(func(d *projection.Device) bool {
		return d.Struck == nil && d.Power != events.Battery && len(c.circuits(d)) == 0
	}); len(tags) > 0 {
		out = append(out, Text{"The circuit of " + verb(len(tags), "this position", "these positions") + " is not known, whether or not anything is wrong there: " + c.tags(tags) + "."})
	}
	return out
}

// emergencyOn are the emergency devices that a circuit is known to feed; those of ""
// are on no known one.
func (c *composer) emergencyOn(id events.CircuitID) []events.Tag {
	return c.devicesThat(func(d *projection.Device) bool {
		on := c.circuits(d)
		return d.Emergency && d.Struck == nil && (slices.Contains(on, id) || id == "" && len(on) == 0)
	})
}

// deviceWords is what a device is, and whether it is emergency lighting.
func deviceWords(d *projection.Device) string {
	if d.Emergency {
		return join(", ", hyphens(d.Is), "emergency")
	}
	return hyphens(d.Is)
}

func (c *composer) circuit(id events.CircuitID) *projection.Circuit {
	for i := range c.site.Circuits {
		if c.site.Circuits[i].ID == id {
			return &c.site.Circuits[i]
		}
	}
	return nil
}

func jobTable(caption string, jobs []job) Table {
	t := Table{
		Caption: caption + ": what to look at",
		Columns: []Column{{"Position", 2, false}, {"Floor, room", 2, false}, {"Device", 2, false}, {"Symptom", 6, false}},
		None:    "Nothing.",
	}
	for _, j := range jobs {
		t.Rows = append(t.Rows, []string{j.position, j.where, j.device, j.symptom})
	}
	return t
}

// jobs sorts what is wrong by circuit; "" holds what is on no known one.
func (c *composer) jobs() map[events.CircuitID][]job {
	out := map[events.CircuitID][]job{}
	put := func(ids []events.CircuitID, j job) {
		if len(ids) == 0 {
			ids = []events.CircuitID{""}
		}
		for _, id := range ids {
			out[id] = append(out[id], j)
		}
	}
	for i := range c.site.Devices {
		d := &c.site.Devices[i]
		if words := c.symptoms(d); d.Struck == nil && words != "" {
			put(c.circuits(d), job{said(d.Device), c.where(d.Device), deviceWords(d), words})
		}
	}
	for _, f := range c.site.Faults {
		if _, device := f.Of.Tag(); device || !f.Open() {
			continue
		}
		put(c.circuitsOf(f.Of), job{c.subject(f.Of), c.placeOf(f.Of), string(f.Of.Class), faultWords(f)})
	}
	for i := range c.site.Hubs {
		h := &c.site.Hubs[i]
		if h.Struck == nil && h.Lost != nil {
			put(c.circuitsOf(events.Hub(h.Hub)), job{said(h.Hub), c.placeOf(events.Hub(h.Hub)), "hub", c.hubState(h)})
		}
	}
	return out
}

// circuitsOf are the circuits that something other than a device hangs on.
func (c *composer) circuitsOf(of events.Subject) []events.CircuitID {
	if of.Class == events.OfCircuit {
		return []events.CircuitID{events.CircuitID(of.ID)}
	}
	if id, ok := of.Hub(); ok {
		if h, known := c.site.Hub(id); known && h.Circuit != "" {
			return []events.CircuitID{h.Circuit}
		}
	}
	return nil
}

// symptoms says what is wrong with a device, "" for nothing.
func (c *composer) symptoms(d *projection.Device) string {
	var out []string
	for _, f := range c.site.Faults {
		if f.Open() && f.Of == events.Device(d.Device) {
			out = append(out, faultWords(f))
		}
	}
	add := func(x *projection.Cause, words string) {
		if x != nil {
			out = append(out, words+" ("+c.when(*x)+")")
		}
	}
	add(d.Dark, "no power, as far as known")
	if d.Refused != nil {
		add(d.Refused, "would not pair: "+why(d.Refused))
	}
	if x := d.Skipped; x != nil {
		add(x, "skipped: "+why(x))
	}
	add(d.Missed, "missed the push")
	return strings.Join(out, "; ")
}

func faultWords(f *projection.Fault) string {
	words := "fault, " + string(f.Severity) + ": " + said(f.Symptom)
	return words + join("", prefixed("; trade: ", f.Trade), prefixed("; to be done: ", f.Action))
}

func prefixed(before, words string) string {
	if words == "" {
		return ""
	}
	return before + said(words)
}
