package handover

import (
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/checks"
)

var testWords = map[events.TestKind]string{
	events.TestOccupancy:  "occupancy",
	events.TestVacancy:    "vacancy",
	events.TestDaylight:   "daylight",
	events.TestTimeSwitch: "time switch",
	events.TestManual:     "manual control",
	events.TestEgress:     "egress lighting",
	events.TestAnswer:     "answers its hub",
	events.TestOther:      "other",
}

func testName(k events.TestKind) string {
	if w, ok := testWords[k]; ok {
		return w
	}
	return said(k)
}

var testStates = map[checks.State]string{
	checks.Owed:   "owed",
	checks.Passed: "passed",
	checks.Failed: "failed: to be repeated",
	checks.Stale:  "to be repeated: what was tested was paired or pushed since",
}

// tests lists every test of the book with its room, in the book's order.
func (c *composer) tests() []checks.Test {
	var out []checks.Test
	for _, r := range c.Book.Rooms {
		out = append(out, r.Tests...)
	}
	return out
}

// testNumbers counts what is tested in rooms: that a hub hears a device is no test
// that anybody records.
func (c *composer) testNumbers() string {
	return c.numbersOf(func(k events.TestKind) bool { return k != events.TestAnswer })
}

func (c *composer) answerNumbers() string {
	return c.numbersOf(func(k events.TestKind) bool { return k == events.TestAnswer })
}

func (c *composer) numbersOf(counts func(events.TestKind) bool) string {
	by, n := map[checks.State]int{}, 0
	for _, t := range c.tests() {
		if counts(t.Test) {
			by[t.State]++
			n++
		}
	}
	var words []string
	for _, x := range []struct {
		state checks.State
		words string
	}{{checks.Passed, "passed"}, {checks.Failed, "failed"}, {checks.Stale, "to be repeated"}, {checks.Owed, "not done"}} {
		if by[x.state] > 0 {
			words = append(words, fmt.Sprintf("%d %s", by[x.state], x.words))
		}
	}
	if n == 0 {
		return "none is known to be owed"
	}
	return totalOf(n, strings.Join(words, ", "))
}

// owed adds what is still to be tested to the list of what is not finished.
func (c *composer) owed(add adder) {
	for _, kind := range events.TestKinds {
		for _, x := range []struct {
			words string
			state []checks.State
		}{{"Tests failed", []checks.State{checks.Failed}}, {"Tests to be done or repeated", []checks.State{checks.Owed, checks.Stale}}} {
			of, n := c.testedOf(kind, x.state)
			add(x.words+": "+testName(kind), n, of)
		}
	}
	if rooms := c.unknownRooms(); len(rooms) > 0 {
		add("Rooms of which nobody has said what tests they owe", len(rooms), strings.Join(rooms, ", "))
	}
}

func (c *composer) unknownRooms() []string {
	var out []string
	for _, r := range c.Book.Rooms {
		if r.Unknown != "" {
			out = append(out, roomName(r))
		}
	}
	return out
}

func roomName(r checks.Room) string {
	if r.Room == "" {
		return "no known room"
	}
	return said(r.Room)
}

// testedOf names what a sort of test in some states is of.
func (c *composer) testedOf(kind events.TestKind, states []checks.State) (string, int) {
	var tags []events.Tag
	var rooms []string
	n := 0
	for _, t := range c.tests() {
		if t.Test != kind || !slices.Contains(states, t.State) {
			continue
		}
		n++
		if tag, ok := t.Of.Tag(); ok {
			tags = append(tags, tag)
		} else {
			rooms = append(rooms, c.subject(t.Of))
		}
	}
	return join(", ", strings.Join(unique(rooms), ", "), c.tags(tags)), n
}

// testPart lists, room by room, what was owed and what came of it.
func (c *composer) testPart() Part {
	p := Part{
		ID: "tests", Title: "Test results",
		Lead: "What each room owed in functional tests, what it was held against, and what came of it.",
		Blocks: []Block{
			Facts{[][2]string{{"Functional tests", c.testNumbers()}, {"Devices that are to answer their hub", c.answerNumbers()}, {"Still owed, of both", number(c.Book.Owed)}}},
			c.owedTable(), c.resultTable(),
		},
	}
	if rooms := c.unknownRooms(); len(rooms) > 0 {
		p.Blocks = append(p.Blocks, Text{"Nobody has said which tests " + verb(len(rooms), "this room owes", "these rooms owe") + ": " + strings.Join(rooms, ", ") + "."})
	}
	for _, r := range c.Book.Remarks {
		p.Blocks = append(p.Blocks, Text{sentence(r) + "."})
	}
	p.Blocks = append(p.Blocks, Heading{Text: "The sample"}, Text{c.ruleWords()}, c.sampleTable(), Heading{Text: "Signatures"}, c.signatures())
	of := map[events.Subject]bool{}
	for _, s := range c.site.Signed {
		of[s.Of] = true
	}
	return Part{ID: p.ID, Title: p.Title, Lead: p.Lead, Blocks: append(p.Blocks, c.photos("Photos of what was signed", of)...)}
}

// owedTable has a row for each test; those of devices that are alike in all share
// one.
func (c *composer) owedTable() Table {
	t := Table{
		Caption: "What is owed, room by room",
		Columns: []Column{{"Floor, room", 2, false}, {"Test", 2, false}, {"Of", 3, false}, {"Asked for by", 3, false}, {"Limits and where they come from", 4, false}, {"State", 2, false}},
		None:    "No test is known to be owed.",
	}
	for _, r := range c.Book.Rooms {
		alike := map[string]int{}
		tags := map[int][]events.Tag{}
		for _, x := range r.Tests {
			row := []string{join(", ", said(r.Floor), roomName(r)), testName(x.Test), c.subject(x.Of), askedBy(x), c.limits(x.Limits), testState(x)}
			tag, device := x.Of.Tag()
			if !device || x.Test != events.TestAnswer {
				t.Rows = append(t.Rows, row)
				continue
			}
			key := row[1] + "\x00" + row[3] + "\x00" + row[5]
			if _, had := alike[key]; !had {
				alike[key] = len(t.Rows)
				t.Rows = append(t.Rows, row)
			}
			i := alike[key]
			tags[i] = append(tags[i], tag)
			t.Rows[i][2] = c.tags(tags[i])
		}
	}
	return t
}

func askedBy(t checks.Test) string {
	if t.Test == events.TestAnswer {
		return "every paired device is to answer its hub"
	}
	return sentence(t.Why)
}

func testState(t checks.Test) string {
	words := testStates[t.State]
	if t.State.Owed() && t.Waits != "" && t.Test != events.TestAnswer {
		words += "; waits, since " + sentence(t.Waits)
	}
	return words
}

func (c *composer) limits(ls []checks.Limit) string {
	out := make([]string, len(ls))
	for i, l := range ls {
		out[i] = sentence(l.Words) + " [" + limitSource(l) + "]"
	}
	return strings.Join(out, "; ")
}

// limitSource says where a limit comes from, without the name that the setting has for
// programs: the rule, or that it was set otherwise, as the record lists.
func limitSource(l checks.Limit) string {
	for _, s := range events.Settings {
		if rest, ok := strings.CutPrefix(l.Source, "setting "+string(s.Key)); ok {
			return sentence(strings.Trim(rest, "(), "))
		}
	}
	return sentence(l.Source)
}

// resultTable lists each time a test was done. That a hub heard a device is in the
// list of devices.
func (c *composer) resultTable() Table {
	t := Table{
		Caption: "Results, oldest first in each room",
		Columns: []Column{{"Of", 4, false}, {"Test", 4, false}, {"Result", 3, false}, {"Reading", 4, false}, {"Limit noted", 4, false}, {"Instrument", 4, false}, {"Who", 4, false}, {"When", 4, false}, {"Remark", 6, false}},
		None:    noResult,
	}
	for _, x := range c.results() {
		t.Rows = append(t.Rows, c.resultRow(x))
	}
	return t
}

// noResult stands where no test was recorded; a device that answered is none.
const noResult = "Nobody has recorded a functional test. Which devices their hub has heard is in the list of devices."

// result is one time that a test was done.
type result struct {
	checks.Test
	checks.Result
}

// results lists each check that somebody recorded, once.
func (c *composer) results() []result {
	var out []result
	had := map[events.Ref]bool{}
	for _, t := range c.tests() {
		for _, r := range t.Results {
			if _, check := r.Done.Event.Payload.(events.CheckDone); check && !had[r.Done.Ref()] {
				had[r.Done.Ref()] = true
				out = append(out, result{t, r})
			}
		}
	}
	return out
}

func (c *composer) resultRow(x result) []string {
	r := x.Result
	var remark []string
	if !r.Repeats.IsZero() {
		words := "repeats a test that failed"
		if e, ok := c.find(r.Repeats); ok {
			words += " on " + c.when(e)
		}
		remark = append(remark, words)
	}
	if r.Stale != "" {
		remark = append(remark, "does not count any more: "+sentence(r.Stale))
	}
	if r.Note != "" {
		remark = append(remark, said(r.Note))
	}
	return []string{c.subject(r.Of), testName(x.Test.Test), passed(r.Pass), said(r.Reading), said(r.Limit), said(r.Instrument), said(r.By), c.when(r.Done), strings.Join(remark, "; ")}
}

// find is the cause behind an entry of the view.
func (c *composer) find(r events.Ref) (projection.Cause, bool) {
	for _, t := range c.told {
		if t.Ref() == r {
			return t.Cause, true
		}
	}
	return projection.Cause{}, false
}

func passed(yes bool) string {
	if yes {
		return "passed"
	}
	return "failed"
}
