package handover

import (
	"cmp"
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// people says who was in it, and when the main acts were.
func (c *composer) people() Part {
	return Part{
		ID: "people", Title: "Who and when",
		Lead:   "Who kept the log, and the main acts of the job in the order of site time. Single entries are in the log itself.",
		Blocks: []Block{c.members(), c.acts()},
	}
}

func (c *composer) members() Table {
	t := Table{
		Caption: "Members",
		Columns: []Column{{"Name", 6, false}, {"Contact", 6, false}, {"Role", 3, false}, {"Standing", 6, false}, {"Entries", 4, true}, {"First", 5, false}, {"Last", 5, false}},
		None:    "Nobody has joined.",
	}
	first, last, n := map[events.Key]projection.Cause{}, map[events.Key]projection.Cause{}, map[events.Key]int{}
	for _, x := range c.told {
		k := x.Member()
		if n[k] == 0 {
			first[k] = x.Cause
		}
		last[k] = x.Cause
		n[k]++
	}
	for i := range c.site.Members {
		m := &c.site.Members[i]
		t.Rows = append(t.Rows, []string{
			said(c.site.MemberName(m.Key)), said(m.Contact), said(m.Role), join(": ", said(m.Standing), said(m.Why)), fmt.Sprint(n[m.Key]), c.when(first[m.Key]), c.when(last[m.Key]),
		})
	}
	return t
}

// act is one line of the story.
type act struct {
	projection.Cause
	when, words, by string
}

func (c *composer) acts() Table {
	t := Table{
		Caption: "The main acts",
		Columns: []Column{{"When", 3, false}, {"What", 6, false}, {"By", 2, false}},
		None:    "None is recorded.",
	}
	acts := c.spans()
	for _, x := range c.told {
		if x.Withdrawn == "" && x.Quarantined == "" && mainAct(x.Event.Payload) {
			acts = append(acts, act{x.Cause, c.when(x.Cause), c.actWords(x), said(x.By)})
		}
	}
	slices.SortStableFunc(acts, func(a, b act) int { return cmp.Compare(a.At, b.At) })
	for _, a := range acts {
		t.Rows = append(t.Rows, []string{a.when, a.words, a.by})
	}
	return t
}

func mainAct(p events.Payload) bool {
	switch p.(type) {
	case events.SiteOpened, events.MemberJoined, events.MemberRevoked, events.HubReady, events.HubLost, events.HubChannel, events.HubLoaded,
		events.PushDone, events.PushFailed, events.RecordsExported, events.RecordsMerged, events.ConflictResolved, events.WorkSigned, events.DeviceReplaced, events.PowerOff, events.PowerOn:
		return true
	}
	return false
}

// actWords says what was done. Of a push it does not list every device.
func (c *composer) actWords(x projection.Told) string {
	switch p := x.Event.Payload.(type) {
	case events.PushDone:
		words := "pushed " + said(p.Program) + " from " + said(p.Hub)
		if len(p.Tried) > 0 {
			words += " to " + count(len(p.Tried), "device")
		}
		if len(p.Missed) > 0 {
			words += "; missed by " + c.tags(p.Missed)
		}
		return words
	case events.HubLoaded:
		if p.All {
			return "loaded " + said(p.Hub) + " with " + said(p.Program)
		}
		return "loaded " + said(p.Hub) + " with " + said(p.Program) + ", which lists " + count(len(p.Lists), "device")
	case events.RecordsExported:
		return "wrote the records for the office: " + said(p.Export)
	case events.SiteOpened:
		return "opened the site " + said(p.Name)
	case events.WorkSigned:
		return "signed: " + join("; ", c.subject(p.Of), said(p.Scope)) + ", by " + said(p.Signer) + asRole(p.As)
	}
	return sentence(x.Event.Payload.String())
}

// span is what was paired on one hub on one day.
type span struct {
	hub         events.HubID
	first, last projection.Cause
	tags        []events.Tag
	by          []string
}

func (s *span) take(p projection.Pairing, by string) {
	if s.first.IsZero() || s.first.After(p.Cause) {
		s.first = p.Cause
	}
	if s.last.IsZero() || p.After(s.last) {
		s.last = p.Cause
	}
	s.tags, s.by = append(s.tags, p.Device), append(s.by, by)
}

// spans gathers the pairings by hub and day.
func (c *composer) spans() []act {
	type key struct {
		day string
		hub events.HubID
	}
	at := map[key]*span{}
	var order []*span
	for i := range c.site.Hubs {
		h := &c.site.Hubs[i]
		for _, p := range h.Pairings {
			if !p.Stands() {
				continue
			}
			k := key{c.at(p.At)[:10], h.Hub}
			if at[k] == nil {
				at[k] = &span{hub: h.Hub}
				order = append(order, at[k])
			}
			at[k].take(p, said(c.site.DoneBy(p.Event)))
		}
	}
	var out []act
	for _, s := range order {
		when := c.at(s.first.At)
		if until := c.at(s.last.At); until != when {
			when += " to " + until[11:]
		}
		if !s.first.Placed || !s.last.Placed {
			when += " by their own clock"
		}
		slices.Sort(s.by)
		out = append(out, act{s.first, when, "paired on " + said(s.hub) + ": " + c.tags(s.tags), and(slices.Compact(s.by)...)})
	}
	return out
}
