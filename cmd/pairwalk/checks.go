package main

import (
	"fmt"
	"strings"

	"pairwalk/events"
	"pairwalk/projection/checks"
	"pairwalk/syncd/member"
)

type checksCmd struct {
	Room string `arg:"" optional:"" help:"Only this room."`
	momentFlags
	Floor string `help:"Only rooms on this floor."`
	All   bool   `help:"List what is passed too, and every device that is to answer."`
}

func (checksCmd) Help() string {
	return "Example: pairwalk checks 3.12\n\n" +
		"What a site owes in functional checks: those planned for a room, those its schedule asks for, and a sample of the occupant sensors that is drawn by lot (IECC C408.3.1.1), so that nobody picks the easy ones. " +
		"A failed one is repeated until it passes; so is one of what was paired, reset or pushed since. " +
		"The limits are settings: off_within_minutes, auto_on_percent, override_minutes, egress_average_cfc, egress_minimum_cfc, egress_max_to_min; so is the sample: sample_all_up_to, sample_percent, sample_widen_percent.\n\n" + notPermit
}

func (c *checksCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		moment, err := c.moment(a, m)
		if err != nil {
			return err
		}
		var room events.RoomID
		if c.Room != "" {
			if room, err = roomOf(m, c.Room); err != nil {
				return err
			}
		}
		doc := m.Checks(moment, func(r checks.Room) bool {
			return (room == "" || r.Room == room) && (c.Floor == "" || string(r.Floor) == c.Floor)
		})
		if c.Floor != "" && len(doc.Rooms) == 0 {
			return fmt.Errorf("nothing is known to be owed on a floor %q at that moment", c.Floor)
		}
		if a.cli.JSON {
			return a.printJSON(doc)
		}
		a.checks(doc, c.All, room != "")
		return nil
	})
}

// checks prints a book for people: the sample, the tests, what is not known, and
// who signed for what.
func (a *app) checks(doc member.ChecksAnswer, all, one bool) {
	a.printf("as of %s, as known to %s\n%s\n", short(doc.Moment.When), doc.Moment.Known, a.bold(plural(doc.Owed, "test")+" owed"))
	if !one {
		a.sample(doc)
	}
	cautions := a.tests(doc.Rooms, all || one)
	a.unanswered(doc.Rooms, all || one)
	if one {
		a.particulars(doc.Rooms)
	}
	for _, r := range doc.Rooms {
		if r.Unknown != "" {
			a.printf("\nroom %s: %s\n", r.Room, oneLine(r.Unknown))
		}
	}
	if !one {
		a.signatures(doc.Signed)
		for _, r := range doc.Remarks {
			a.println("\n" + a.dim("note: "+r))
		}
	}
	a.println()
	for _, c := range cautions {
		a.println(a.warn(c))
	}
	a.println(notPermit)
}

func (a *app) sample(doc member.ChecksAnswer) {
	t := table{head: []string{"sensors", "type", "space", "drawn", "failed", "passed", "how"}}
	for _, g := range doc.Groups {
		drawn := listTags(g.Drawn)
		if len(g.Drawn) == len(g.Devices) {
			drawn = "all"
		}
		t.add(fmt.Sprintf("%d %s", len(g.Devices), g.Test), or(g.Type, "not known"), or(g.Geometry, "not known"), drawn, fmt.Sprint(g.Failed), fmt.Sprint(g.Passed), g.Words)
	}
	if len(t.rows) > 0 {
		a.printf("\nThe sample, by %s:\n", doc.Rule.Source)
	}
	a.table(&t)
}

// tests lists functional tests of rooms; unless all are wanted, those that are
// owed. It returns what to mind.
func (a *app) tests(rooms []member.ChecksRoom, all bool) (cautions []string) {
	t := table{head: []string{"room", "test", "of", "state", "held against", "asked for by"}}
	for _, r := range rooms {
		for _, x := range r.Tests {
			if x.Test == string(events.TestAnswer) && x.From == checks.FromSchedule || !all && !x.Owed {
				continue
			}
			state := x.State
			if x.Owed && x.Waits != "" {
				state += ", waits: " + x.Waits
			}
			t.add(or(r.Room, "not known"), x.Test, bare(x.Of), state, or(limitWords(x.Limits), "no number"), x.Why)
			for _, c := range x.Cautions {
				if !strings.Contains(strings.Join(cautions, "\n"), c) {
					cautions = append(cautions, c)
				}
			}
		}
	}
	if len(t.rows) > 0 {
		a.println()
	}
	a.table(&t)
	return cautions
}

// unanswered says which paired devices are still to answer.
func (a *app) unanswered(rooms []member.ChecksRoom, all bool) {
	n, left := 0, []string{}
	for _, r := range rooms {
		for _, x := range r.Tests {
			if x.Test != string(events.TestAnswer) || x.From != checks.FromSchedule {
				continue
			}
			n++
			if x.Owed {
				left = append(left, bare(x.Of))
			}
		}
	}
	words := listTags(left)
	if all {
		words = strings.Join(left, ", ")
	}
	switch {
	case n == 0:
	case len(left) == 0:
		a.printf("\nEvery paired device has answered its hub: %d of %d.\n", n, n)
	default:
		a.printf("\n%d of %s still to answer: %s\n", len(left), plural(n, "paired device"), words)
	}
}

// particulars says what is to be seen in the tests of a room, and what came of
// them.
func (a *app) particulars(rooms []member.ChecksRoom) {
	for _, r := range rooms {
		for _, x := range r.Tests {
			if len(x.Verify)+len(x.Results) == 0 {
				continue
			}
			a.printf("\n%s\n", a.bold(x.Test+" of "+bare(x.Of)))
			for _, l := range x.Limits {
				a.printf("  limit: %s, %s\n", l.Words, l.Source)
			}
			for _, v := range x.Verify {
				a.printf("  see that %s\n", v)
			}
			for _, y := range x.Results {
				a.printf("  %s\n", resultWords(y))
			}
		}
	}
}

func resultWords(r member.ChecksResult) string {
	words := short(r.At) + "  failed"
	if r.Pass {
		words = short(r.At) + "  passed"
	}
	add := func(name, text string) {
		if text != "" {
			words += "; " + name + oneLine(text)
		}
	}
	add("", r.Reading)
	add("with ", r.Instrument)
	add("against ", r.Limit)
	add("", r.Note)
	words += "; by " + oneLine(r.By)
	if r.Repeats != "" {
		words += "; repeats one that failed"
	}
	add("does not count any more: ", r.Stale)
	return words
}

func (a *app) signatures(signed []member.ChecksSign) {
	t := table{head: []string{"signed", "scope", "signer", "as", "when", "owed then", "open faults then"}}
	for _, x := range signed {
		t.add(bare(x.Of), x.Scope, x.Signer, x.As, short(x.At), fmt.Sprint(x.Owed), fmt.Sprint(len(x.Faults)))
	}
	if len(t.rows) > 0 {
		a.println()
	}
	a.table(&t)
}

func limitWords(ls []member.ChecksLimit) string {
	words := make([]string, len(ls))
	for i, l := range ls {
		words[i] = l.Words
	}
	return strings.Join(words, "; ")
}

// bare names a subject as people do.
func bare(subject string) string {
	x, err := events.ParseSubject(subject)
	if err != nil {
		return subject
	}
	return x.Words()
}

func or(s, none string) string {
	if s == "" {
		return none
	}
	return s
}
