package handover

import (
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/checks"
	"pairwalk/projection/walk"
)

// faultPart lists what is wrong, what is on hold, what clashes, and what the log
// keeps without counting it.
func (c *composer) faultPart() Part {
	all := checks.Faults(c.site)
	of := map[events.Subject]bool{}
	for _, f := range all {
		of[f.Of] = true
	}
	p := Part{
		ID: "faults", Title: "Faults, holds and conflicts",
		Lead:   "What is wrong and whose work it is, what nobody is to touch, and what the log can't agree on.",
		Blocks: []Block{Caution{walk.CautionMains}, Heading{Text: "Faults"}, c.openFaults(all), c.clearedFaults(all), c.steps(all)},
	}
	add := func(bs ...Block) { p.Blocks = append(p.Blocks, bs...) }
	add(c.photos("Photos of faults", of)...)
	add(Heading{Text: "Holds"}, Caution{walk.CautionHold}, c.holds())
	add(Heading{Text: "Not done, and why"}, c.refusals())
	add(Heading{Text: "Remarks"}, c.remarks())
	add(Heading{Text: "What clashes"}, c.clashes(), c.resolved())
	add(Heading{Text: "Kept, and not counted"}, c.odd(), c.doubts())
	return p
}

// openFaults lists the worst first, then the oldest.
func (c *composer) openFaults(all []checks.Trouble) Table {
	t := Table{
		Caption: "Open faults, the worst first",
		Columns: []Column{{"Severity", 4, false}, {"On", 3, false}, {"Floor, room", 3, false}, {"Symptom", 6, false}, {"Trade", 3, false}, {"Owner", 4, false}, {"What is to be done", 5, false}, {"Found", 5, false}, {"Age, days", 3, true}},
		None:    "No fault is open.",
	}
	open := slices.DeleteFunc(slices.Clone(all), func(f checks.Trouble) bool { return !f.Fault.Open() })
	slices.SortStableFunc(open, func(a, b checks.Trouble) int {
		return slices.Index(events.Severities, a.Severity) - slices.Index(events.Severities, b.Severity)
	})
	for _, f := range open {
		symptom := said(f.Symptom)
		if f.Reopened != nil {
			symptom += " (came back " + c.whenBy(f.Reopened) + ")"
		}
		t.Rows = append(t.Rows, []string{string(f.Severity), c.subject(f.Of), c.placeOf(f.Of), symptom, said(f.Trade), said(f.Owner), said(f.Action), c.whenBy(&f.Found), fmt.Sprint(max(f.Age, 0))})
	}
	return t
}

// placeOf is the floor and room of what an entry is about.
func (c *composer) placeOf(of events.Subject) string {
	if tag, ok := of.Tag(); ok {
		return c.where(tag)
	}
	if id, ok := of.Hub(); ok {
		if h, known := c.site.Hub(id); known {
			return join(", ", said(c.hubFloor[id]), said(h.Room))
		}
	}
	if of.Class == events.OfRoom {
		for _, r := range c.site.Rooms {
			if string(r.Room) == of.ID {
				return join(", ", said(r.Floor), said(r.Room))
			}
		}
	}
	return ""
}

func (c *composer) clearedFaults(all []checks.Trouble) Table {
	t := Table{
		Caption: "Faults that were cleared",
		Columns: []Column{{"On", 2, false}, {"Symptom", 4, false}, {"Severity", 2, false}, {"Found", 3, false}, {"Cleared", 3, false}, {"What was done", 4, false}},
		None:    "No fault was cleared.",
	}
	for _, f := range all {
		if !f.Fault.Open() {
			t.Rows = append(t.Rows, []string{c.subject(f.Of), said(f.Symptom), string(f.Severity), c.whenBy(&f.Found), c.whenBy(f.Cleared), said(f.Action)})
		}
	}
	return t
}

// steps tell how each fault went, from the first word of it.
func (c *composer) steps(all []checks.Trouble) Table {
	t := Table{
		Caption: "How the faults went",
		Columns: []Column{{"On", 2, false}, {"When, and by whom", 3, false}, {"What", 2, false}, {"Words", 6, false}},
		None:    "No fault was found.",
	}
	for _, f := range all {
		for _, s := range f.Steps {
			t.Rows = append(t.Rows, []string{c.subject(f.Of), c.whenBy(&s.Done), said(s.What), sentence(s.Words)})
		}
	}
	return t
}

func (c *composer) holds() Table {
	t := Table{
		Caption: "Holds that stand",
		Columns: []Column{{"On", 2, false}, {"Why", 4, false}, {"For", 3, false}, {"Since", 3, false}},
		None:    "No hold stands.",
	}
	for _, h := range c.site.Holds {
		t.Rows = append(t.Rows, []string{c.subject(h.Of), said(h.Why), said(h.Who), c.whenBy(&h.Placed)})
	}
	return t
}

// refusals lists devices that would not pair or could not be done.
func (c *composer) refusals() Table {
	t := Table{
		Caption: "Refused and skipped devices",
		Columns: []Column{{"Tag", 2, false}, {"Floor, room", 2, false}, {"What", 2, false}, {"Why", 5, false}, {"When, and by whom", 3, false}},
		None:    "No device is refused or skipped.",
	}
	for i := range c.site.Devices {
		d := &c.site.Devices[i]
		if d.Struck != nil {
			continue
		}
		if x := d.Refused; x != nil {
			t.Rows = append(t.Rows, []string{said(d.Device), c.where(d.Device), "refused", why(x), c.whenBy(x)})
		}
		if x := d.Skipped; x != nil {
			t.Rows = append(t.Rows, []string{said(d.Device), c.where(d.Device), "skipped", why(x), c.whenBy(x)})
		}
	}
	return t
}

// why says why a device refused or was skipped.
func why(x *projection.Cause) string {
	switch p := x.Event.Payload.(type) {
	case events.DeviceRefused:
		return join(": ", hyphens(p.Why), said(p.Note))
	case events.DeviceSkipped:
		return join(": ", hyphens(p.Why), said(p.Note))
	}
	return ""
}

// hyphens writes a word of the log as people do.
func hyphens[T ~string](w T) string { return strings.ReplaceAll(said(w), "-", " ") }

// remarks are those somebody made, and those of the schedule.
func (c *composer) remarks() Table {
	t := Table{
		Caption: "What was remarked, in the log and on the schedule",
		Columns: []Column{{"About", 2, false}, {"Remark", 7, false}, {"When, and by whom", 3, false}},
		None:    "Nobody has remarked anything.",
	}
	row := func(about, words, when string) {
		if words != "" {
			t.Rows = append(t.Rows, []string{about, words, when})
		}
	}
	for _, n := range c.site.Notes {
		row(c.subject(n.Of), said(n.Text), c.whenBy(&n.Noted))
	}
	for i := range c.site.Hubs {
		h := &c.site.Hubs[i]
		row(said(h.Hub), said(h.Note), "on the schedule")
	}
	for _, r := range c.site.Rooms {
		row("room "+said(r.Room), said(r.Note), "on the schedule")
	}
	for i := range c.site.Devices {
		d := &c.site.Devices[i]
		row(said(d.Device), said(d.Note), "on the schedule")
	}
	return t
}

func (c *composer) clashes() Table {
	t := Table{
		Caption: "Conflicts that stand",
		Columns: []Column{{"What", 2, false}, {"About", 2, false}, {"Why", 5, false}, {"What the facts go by meanwhile", 4, false}, {"Entries", 3, false}},
		None:    "No conflict stands.",
	}
	for _, x := range c.conflicts {
		about := make([]string, len(x.Subjects))
		for i, s := range x.Subjects {
			about[i] = c.subject(s)
		}
		refs := make([]string, len(x.Events))
		for i, r := range x.Events {
			refs[i] = ref(r)
		}
		t.Rows = append(t.Rows, []string{hyphens(x.Kind), strings.Join(about, ", "), sentence(x.Why), sentence(x.Stands), strings.Join(refs, " ")})
	}
	return t
}

func (c *composer) resolved() Table {
	t := Table{
		Caption: "Conflicts that were resolved",
		Columns: []Column{{"Conflict", 3, false}, {"What stands", 3, false}, {"Why", 5, false}, {"When, and by whom", 3, false}},
		None:    "No conflict was resolved.",
	}
	for _, x := range c.site.Resolved {
		t.Rows = append(t.Rows, []string{said(x.Key), said(x.Stands), said(x.Why), c.whenBy(&x.Cause)})
	}
	return t
}

func (c *composer) odd() Table {
	t := Table{
		Caption: "Entries that make no sense where they stand",
		Columns: []Column{{"Entry", 3, false}, {"About", 2, false}, {"What it says", 4, false}, {"Why it is odd", 4, false}, {"When, and by whom", 3, false}},
		None:    "There are none.",
	}
	at := map[string]int{} // what is odd about several subjects of an entry for one reason
	for _, a := range c.site.Anomalies {
		key := a.Ref().String() + a.Why
		if i, had := at[key]; had {
			t.Rows[i][1] += ", " + c.subject(a.Subject)
			continue
		}
		at[key] = len(t.Rows)
		t.Rows = append(t.Rows, []string{ref(a.Ref()), c.subject(a.Subject), sentence(a.Event.Payload.String()), sentence(a.Why), c.whenBy(&a.Cause)})
	}
	return t
}

func (c *composer) doubts() Table {
	t := Table{
		Caption: "Entries that are kept and do not count",
		Columns: []Column{{"Entry", 3, false}, {"What it says", 4, false}, {"Why it does not count", 4, false}, {"When, and by whom", 3, false}},
		None:    "There are none.",
	}
	for _, d := range c.site.Quarantined {
		t.Rows = append(t.Rows, []string{ref(d.Ref()), sentence(d.Event.Payload.String()), "quarantined: " + sentence(d.Why), c.whenBy(&d.Cause)})
	}
	for _, e := range c.site.NotUnderstood {
		t.Rows = append(t.Rows, []string{ref(e.Ref()), sentence(e.Payload.String()), "not understood by this version", said(c.site.DoneBy(e))})
	}
	return t
}
