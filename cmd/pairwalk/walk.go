package main

import (
	"fmt"
	"strings"

	"pairwalk/syncd/member"
)

type walkCmd struct {
	momentFlags
	People []string `help:"How many people walk, 1 to 4, or their names; the team unless given." placeholder:"N|NAMES"`
	From   string   `help:"When the walk begins; now unless given." placeholder:"TIME"`
	All    bool     `help:"List every stop, not only the turns of the job."`
}

func (walkCmd) Help() string {
	return "Example: pairwalk walk --people 2 --from 08:00\n\n" +
		"Lays out everybody's whole job from the present state: hubs ready first, devices outward from them so that there is always a path home, " +
		"star devices in the settle wait, records home, push, and a check that each device answers. " +
		"The times it counts with are settings: pair_minutes, pair_minutes_of, ready_minutes, push_minutes, check_minutes, walk_cm_s, stairs_seconds, room_seconds."
}

func (c *walkCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		moment, err := c.moment(a, m)
		if err != nil {
			return err
		}
		people, err := m.Walkers(c.People)
		if err != nil {
			return err
		}
		from := a.world.Now().Wall.At
		if c.From != "" {
			if from, err = a.parseMoment(m, c.From); err != nil {
				return err
			}
		}
		doc := m.Walk(moment, people, from)
		if a.cli.JSON {
			return a.printJSON(doc)
		}
		a.walk(doc, c.All)
		return nil
	})
}

func (a *app) walk(doc member.WalkAnswer, all bool) {
	a.printf("from the state of %s, beginning %s\n", short(doc.Moment.When), short(doc.From))
	a.printf("links: %s\n", doc.Model)
	for _, n := range doc.Notes {
		a.println(a.dim("note: " + n))
	}
	if len(doc.Hubs) == 0 {
		a.println("Nothing is left to do that this log knows of.")
		return
	}
	for _, p := range doc.People {
		a.printf("\n%s: %s, until %s", a.bold(p.Member), plural(len(p.Steps), "stop"), short(p.Ends))
		if p.Metres > 0 {
			a.printf(", %d m on foot where places are known", p.Metres)
		}
		a.println()
		a.stops(p.Steps, all)
	}
	a.println()
	t := table{head: []string{"hub", "ready", "paired", "settled", "pushed", "every device checked"}}
	for _, h := range doc.Hubs {
		t.add(h.ID, dash(clockTime(h.Ready)), dash(clockTime(h.Paired)), dash(clockTime(h.Settled)), dash(clockTime(h.Pushed)), dash(clockTime(h.Proved)))
	}
	a.table(&t)
	a.printf("\nfinish: %s\n", short(doc.Finish))
}

// stops lists a person's stops; unless all are wanted, a run of the same act on
// one hub shares a row.
func (a *app) stops(steps []member.WalkStep, all bool) {
	t := table{head: []string{"at", "until", "act", "what", "why"}}
	cautions := []string{}
	for i := 0; i < len(steps); {
		j := i + 1
		for !all && j < len(steps) && steps[j].Act == steps[i].Act && steps[j].Hub == steps[i].Hub && steps[i].Tag != "" && steps[j].Tag != "" {
			j++
		}
		x, last := steps[i], steps[j-1]
		what, why := x.Subject, x.Why
		if x.Tag != "" {
			what = x.Tag
			if x.Via != "" {
				what += " through " + x.Via
			}
		}
		if j-i > 1 {
			what, why = fmt.Sprintf("%s … %s, %d on %s", x.Tag, last.Tag, j-i, x.Hub), ""
		}
		t.add(clockTime(x.At), clockTime(last.Until), x.Act, what, why)
		for _, s := range steps[i:j] {
			for _, c := range s.Cautions {
				if !strings.Contains(strings.Join(cautions, "\n"), c) {
					cautions = append(cautions, c)
				}
			}
		}
		i = j
	}
	a.table(&t)
	for _, c := range cautions {
		a.println(a.warn(c))
	}
}
