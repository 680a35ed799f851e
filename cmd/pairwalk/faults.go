package main

import (
	"fmt"
	"slices"
	"strings"

	"pairwalk/projection/checks"
	"pairwalk/projection/walk"
	"pairwalk/syncd/member"
)

type faultsCmd struct {
	momentFlags
	All   bool   `help:"Also those that are cleared."`
	Floor string `help:"Only on this floor."`
	Trade string `help:"Only those that are this trade's to mend."`
}

func (faultsCmd) Help() string {
	return "Example: pairwalk faults --trade electrical\n\n" +
		"Each fault with its whole story, the worst and oldest first. One that came back counts its days from the first finding, up to now or to --at. Record what becomes of one with log assigned, log cleared and log reopened."
}

func (c *faultsCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		moment, err := c.moment(a, m)
		if err != nil {
			return err
		}
		doc := m.Faults(moment, func(t checks.Trouble) bool {
			return (c.All || t.State != checks.Cleared) && (c.Floor == "" || string(t.Floor) == c.Floor) && (c.Trade == "" || strings.EqualFold(t.Trade, c.Trade))
		})
		if a.cli.JSON {
			return a.printJSON(doc)
		}
		if len(doc.Faults) == 0 {
			a.println(c.none())
			return nil
		}
		a.faults(doc)
		return nil
	})
}

// none says of what there is nothing, so that a slip of the hand does not pass for
// good news.
func (c *faultsCmd) none() string {
	words := "No open fault"
	if c.All {
		words = "No fault"
	}
	if c.Floor != "" {
		words += " on a floor called " + oneLine(c.Floor)
	}
	if c.Trade != "" {
		words += " of a trade called " + oneLine(c.Trade)
	}
	words += " that this log knows of."
	if !c.All {
		words += " --all lists those that are cleared too."
	}
	return words
}

func (a *app) faults(doc member.FaultsAnswer) {
	a.printf("as of %s, as known to %s\n\n", short(doc.Moment.When), doc.Moment.Known)
	t := table{head: []string{"id", "severity", "state", "days", "what", "where", "symptom", "trade", "owner", "to do"}}
	for _, f := range doc.Faults {
		t.add(f.ID[len(f.ID)-6:], f.Severity, f.State, fmt.Sprint(f.AgeDays), bare(f.Subject), dash(faultPlace(f)), f.Symptom, dash(f.Trade), dash(f.Owner), dash(f.Action))
	}
	a.table(&t)
	for _, f := range doc.Faults {
		a.faultStory(f)
	}
	a.println("\n" + a.warn(walk.CautionMains))
	a.println(notPermit)
}

func faultPlace(f member.FaultsOne) string {
	var out []string
	if f.Floor != "" {
		out = append(out, "floor "+f.Floor)
	}
	if f.Room != "" {
		out = append(out, "room "+f.Room)
	}
	if p := f.Place; p != nil {
		out = append(out, fmt.Sprintf("at %.2f, %.2f, %.2f m", float64(p[0])/1000, float64(p[1])/1000, float64(p[2])/1000))
	}
	return strings.Join(out, ", ")
}

// faultStory tells what became of a fault, where there is more than its finding.
func (a *app) faultStory(f member.FaultsOne) {
	if len(f.History)+len(f.Photos) < 2 {
		return
	}
	a.printf("\n%s  %s\n", f.ID[len(f.ID)-6:], a.bold(oneLine(bare(f.Subject)+": "+f.Symptom)))
	t := table{head: []string{"  when", "what", "by", "said"}}
	for _, x := range f.History {
		t.add("  "+short(x.At), x.What, x.By, x.Words)
	}
	for _, p := range f.Photos {
		t.add("  "+short(p.At), "picture", "", or(p.Caption, p.SHA256[:8]))
	}
	slices.SortStableFunc(t.rows, func(x, y []string) int { return strings.Compare(x[0], y[0]) })
	a.table(&t)
}
