package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection/callback"
	"pairwalk/syncd/member"
)

type explainCmd struct {
	momentFlags
	Subject string `arg:"" optional:"" help:"What the complaint is about: a device, room, floor, circuit or hub."`
	Room    string `help:"A room, where its name could be something else too."`
	From    string `help:"Since when, as the caller says; since handover unless given." placeholder:"TIME"`
	To      string `help:"Until when; until the last entry unless given. A date is the start of its day." placeholder:"TIME"`
	Symptom string `help:"What is seen: no-answer, wrong-level, intermittent or always-on." placeholder:"WHAT"`
	All     bool   `help:"Every cause in full: what speaks for and against it, what to check, what to mind, and how to record it."`
}

func (explainCmd) Help() string {
	return "Example: pairwalk explain 3-114 --from \"2026-06-09 08:00\" --symptom no-answer\n         pairwalk explain --room 3.12 --all\n\n" +
		"For the call months after handover: what to ask first, then what in the log would explain it, likeliest first, with the entries for and against it. " +
		"No cause is named without an entry. A path is never invented: where none is known, nothing on it is blamed."
}

func (c *explainCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		q, err := c.question(a, m)
		if err != nil {
			return err
		}
		doc, err := m.Explain(q)
		if err != nil {
			return err
		}
		if len(doc.Devices) == 0 {
			return errors.New(doc.Words)
		}
		if a.cli.JSON {
			return a.printJSON(doc)
		}
		a.explain(doc, c.All)
		return nil
	})
}

func (c *explainCmd) question(a *app, m *member.Member) (callback.Question, error) {
	q := callback.Question{Symptom: callback.Symptom(c.Symptom), Now: a.world.Now().Wall.At}
	if q.Symptom != "" && !slices.Contains(callback.Symptoms, q.Symptom) {
		return q, usef("--symptom is no-answer, wrong-level, intermittent or always-on, and not %q; leave it out if nobody described one", c.Symptom)
	}
	if (c.Subject == "") == (c.Room == "") {
		return q, usef("say what the complaint is about: a device, room, floor, circuit or hub; or --room ROOM")
	}
	if c.To != "" && c.At != "" {
		return q, usef("--to and --at both say until when; give one of them")
	}
	moment, err := c.moment(a, m)
	if err != nil {
		return q, err
	}
	q.To, q.Known = moment.When, moment.Known
	if c.To != "" {
		if q.To.Value, err = a.parseMoment(m, c.To); err != nil {
			return q, err
		}
		q.To.Known = true
	}
	if c.From != "" {
		if q.From.Value, err = a.parseMoment(m, c.From); err != nil {
			return q, err
		}
		q.From.Known = true
	}
	if q.From.Known && q.To.Known && q.From.Value > q.To.Value {
		return q, usef("--from is later than the end of the time asked about; exchange them?")
	}
	if c.Room != "" {
		q.About = events.Room(events.RoomID(c.Room))
		return q, m.Knows(q.About)
	}
	q.About, err = m.Complained(c.Subject)
	return q, err
}

// explain prints an explanation for a small screen: the head, what to ask, and the
// causes; all of each only if wanted.
func (a *app) explain(doc member.ExplainAnswer, all bool) {
	a.printf("%s\n", a.bold(aboutWords(doc.Subject)))
	if len(doc.Devices) > 1 {
		a.printf("%s: %s\n", plural(len(doc.Devices), "device"), listTags(doc.Devices))
	}
	a.println(doc.Head)
	switch {
	case doc.Open:
		a.println(a.bold(oneLine(doc.Words)))
	case len(doc.Left) > 0:
		a.printf("Nothing is known that would explain %s.\n", listTags(doc.Left))
	}
	a.evidence("noted  ", doc.Notes)
	if len(doc.Ask) > 0 {
		a.println("\nask first:")
	}
	for _, q := range doc.Ask {
		a.printf("  - %s\n", q)
	}
	most := 5
	if all {
		most = len(doc.Causes)
	}
	for i := range doc.Causes[:min(most, len(doc.Causes))] {
		a.cause(i+1, &doc.Causes[i], all || i == 0)
	}
	if n := len(doc.Causes) - most; n > 0 {
		a.println(a.dim(plural(n, "cause") + " more; --all lists them"))
	} else if !all && len(doc.Causes) > 1 {
		a.println(a.dim("(--all shows what to check, and how to record it, for each)"))
	}
	a.printf("\n%s\n", doc.Caution)
}

// cause prints one cause; in short it is one line and its newest entry.
func (a *app) cause(n int, c *member.ExplainCause, full bool) {
	a.printf("\n%d  %s  %s\n", n, a.bold(c.Kind), oneLine(c.Words))
	a.evidence("for    ", c.For)
	a.evidence("against", c.Against)
	if !full {
		return
	}
	if c.Counterfactual != "" {
		a.printf("     %s\n", c.Counterfactual)
	}
	for _, w := range c.Acted {
		a.printf("     %s\n", w)
	}
	for i, w := range c.Check {
		a.printf("     check %d  %s\n", i+1, oneLine(w))
	}
	for _, w := range c.Cautions {
		a.printf("     %s\n", a.warn(w))
	}
	for _, w := range c.Record {
		a.printf("     then: %s\n", a.name+strings.TrimPrefix(w, "pairwalk"))
	}
}

// evidence prints the entries of one side, the one that matters first.
func (a *app) evidence(side string, list []member.ExplainEvidence) {
	const most = 4
	for _, e := range list[:min(most, len(list))] {
		by := ""
		if e.By != "" {
			by = ", by " + oneLine(e.By)
		}
		a.printf("     %s  %s  %s%s\n", side, short(e.At), oneLine(e.Words), by)
	}
	if n := len(list) - most; n > 0 {
		a.println(a.dim(fmt.Sprintf("     (and %d more; --json lists them)", n)))
	}
}
