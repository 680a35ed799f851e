package handover

import (
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection/checks"
	"pairwalk/projection/walk"
)

// inspector is who tested what, with what, against what, and what was not done.
func (c *composer) inspector() Part {
	return Part{
		ID: "inspector", Title: "For the inspector",
		Lead: "Who tested, with what, to which limit; which sample was drawn and how to draw it again; what failed; what was not done.",
		Blocks: []Block{
			c.testers(), c.limitsInForce(),
			Heading{Text: "The sample, and how to draw it again"},
			Text{c.ruleWords()}, Text{redraw(c.site.ID)}, c.sampleTable(),
			Heading{Text: "Failures and repeated tests"}, c.failures(),
			Heading{Text: "Owed and not done"}, c.notDone(),
			Heading{Text: "Signatures"}, c.signatures(),
			Caution{walk.CautionEmergency}, Caution{walk.CautionPermit},
		},
	}
}

// redraw says how anybody can draw the sample again, without this program.
func redraw(site events.SiteID) string {
	return "Nobody chose the sample. Each sensor has a lot: the SHA-256 of these seven texts with a zero byte between each two: the site's name in the log (" + string(site) +
		"), the test (occupancy or vacancy), the maker, the model, the type, the geometry of the space, and the sensor's first tag. Within each group the sensors with the lowest lots are drawn, as many as the rule asks, rounded up."
}

// testers lists each person and instrument, and what they tested.
func (c *composer) testers() Table {
	t := Table{
		Caption: "Who tested, and with what",
		Columns: []Column{{"Who", 3, false}, {"Instrument", 3, false}, {"Tests", 3, false}, {"Passed", 1, true}, {"Failed", 1, true}, {"From", 2, false}, {"To", 2, false}},
		None:    noResult,
	}
	type tester struct{ who, instrument string }
	at := map[tester][]result{}
	var order []tester
	for _, x := range c.results() {
		k := tester{x.By, x.Instrument}
		if at[k] == nil {
			order = append(order, k)
		}
		at[k] = append(at[k], x)
	}
	slices.SortStableFunc(order, func(a, b tester) int {
		return strings.Compare(a.who+"\x00"+a.instrument, b.who+"\x00"+b.instrument)
	})
	for _, k := range order {
		good, bad := 0, 0
		var kinds []string
		list := at[k]
		first, last := list[0].Done, list[0].Done
		for _, x := range list {
			if x.Pass {
				good++
			} else {
				bad++
			}
			kinds = append(kinds, testName(x.Test.Test))
			if first.After(x.Done) {
				first = x.Done
			}
			if x.Done.After(last) {
				last = x.Done
			}
		}
		slices.Sort(kinds)
		t.Rows = append(t.Rows, []string{said(k.who), orElse(said(k.instrument), "none noted"), strings.Join(slices.Compact(kinds), ", "), fmt.Sprint(good), fmt.Sprint(bad), c.when(first), c.when(last)})
	}
	return t
}

func orElse(words, other string) string {
	if words == "" {
		return other
	}
	return words
}

// limitsInForce lists what tests were held against, each limit once.
func (c *composer) limitsInForce() Table {
	t := Table{
		Caption: "Limits, and where they come from",
		Columns: []Column{{"Test", 2, false}, {"Limit", 3, false}, {"Source", 4, false}, {"Rooms", 4, false}},
		None:    "No test with a limit is owed.",
	}
	type limit struct{ test, words, source string }
	rooms := map[limit][]string{}
	var order []limit
	for _, r := range c.Book.Rooms {
		for _, x := range r.Tests {
			for _, l := range x.Limits {
				k := limit{testName(x.Test), sentence(l.Words), limitSource(l)}
				if rooms[k] == nil {
					order = append(order, k)
				}
				rooms[k] = append(rooms[k], roomName(r))
			}
		}
	}
	slices.SortStableFunc(order, func(a, b limit) int { return strings.Compare(a.test, b.test) })
	for _, k := range order {
		t.Rows = append(t.Rows, []string{k.test, k.words, k.source, strings.Join(unique(rooms[k]), ", ")})
	}
	return t
}

// failures lists every result that failed, and every one that repeats such a one.
func (c *composer) failures() Table {
	t := c.resultTable()
	t.Caption, t.Rows, t.None = "Results that failed, and their repeats", nil, "No test result failed."
	for _, x := range c.results() {
		if !x.Pass || !x.Repeats.IsZero() {
			t.Rows = append(t.Rows, c.resultRow(x))
		}
	}
	return t
}

// notDone lists what is owed, by room and sort of test.
func (c *composer) notDone() Table {
	t := Table{
		Caption: "Tests owed and not passed",
		Columns: []Column{{"Test", 2, false}, {"State", 3, false}, {"How many", 1, true}, {"Of", 6, false}},
		None:    "No test is known to be owed.",
	}
	for _, kind := range events.TestKinds {
		for _, s := range []checks.State{checks.Failed, checks.Stale, checks.Owed} {
			if of, n := c.testedOf(kind, []checks.State{s}); n > 0 {
				t.Rows = append(t.Rows, []string{testName(kind), testStates[s], fmt.Sprint(n), of})
			}
		}
	}
	if rooms := c.unknownRooms(); len(rooms) > 0 {
		t.Rows = append(t.Rows, []string{"not known", "nobody has said which tests these rooms owe", fmt.Sprint(len(rooms)), strings.Join(rooms, ", ")})
	}
	return t
}
