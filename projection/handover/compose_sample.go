package handover

import (
	"fmt"
	"strings"
)

// ruleWords says how the sample is drawn.
func (c *composer) ruleWords() string {
	r := c.Book.Rule
	return fmt.Sprintf("Up to %s on the site, every one is tested. Of more, at least %d %% of each group of like sensors in like spaces are drawn, and at least one. If %d %% or more of those fail, the rest of the group is tested too. Source: %s.",
		count(int(r.All), "occupant sensor"), r.Share, r.Widen, sentence(withoutKeys(r.Source)))
}

// withoutKeys drops the names that settings have for programs from a rule's source.
func withoutKeys(source string) string {
	rule, _, settings := strings.Cut(source, ", as the settings ")
	if settings {
		return rule + "; the numbers are settings of this site"
	}
	return source
}

func (c *composer) sampleTable() Table {
	t := Table{
		Caption: "Groups of sensors, and which of them were drawn",
		Columns: []Column{{"Test", 2, false}, {"Maker, model, type", 3, false}, {"Geometry of the space", 2, false}, {"Sensors", 3, false}, {"Drawn", 3, false}, {"How", 3, false}, {"Passed", 2, false}, {"Ever failed", 2, false}},
		None:    "No occupant sensor is on the schedule.",
	}
	for _, g := range c.Book.Groups {
		t.Rows = append(t.Rows, []string{
			testName(g.Test), orUnknown(said(g.Type)), orUnknown(said(g.Geometry)), c.tags(g.Devices), c.tags(g.Drawn), sentence(g.Words), c.tags(g.Passed), c.tags(g.Failed),
		})
	}
	return t
}

func orUnknown(words string) string {
	if words == "" {
		return "not known"
	}
	return words
}

// signatures lists who put their name under what.
func (c *composer) signatures() Table {
	t := Table{
		Caption: "Who signed, and for what",
		Columns: []Column{{"For", 2, false}, {"Scope", 4, false}, {"Signed by", 2, false}, {"As", 2, false}, {"When", 2, false}, {"Recorded by", 2, false}, {"Not passed then", 3, false}, {"Faults open then", 2, false}},
		None:    "Nobody has signed anything.",
	}
	for _, s := range c.Book.Signed {
		owed := "not known"
		if s.Owed.Known {
			owed = count(s.Owed.Value, "test")
		}
		t.Rows = append(t.Rows, []string{c.subject(s.Of), said(s.Scope), said(s.Signer), said(s.As), c.when(s.Signed), c.by(s.Signed), owed, count(len(s.Open), "fault")})
	}
	return t
}
