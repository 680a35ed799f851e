package checks

import (
	"pairwalk/events"
	"pairwalk/projection"
)

// Book is what a site owes in functional checks at a moment, and what came of
// them.
type Book struct {
	Site    *projection.Site
	Rule    Rule
	Groups  []Group
	Rooms   []Room // in natural order; last the one without a name, of devices that are in no known room
	Signed  []Signed
	Remarks []string // what the schedule does not tell, and what to do about it
	Owed    int      // tests that are not passed
}

// Rule is the sampling rule as the site has it.
type Rule struct {
	All    int64 // up to so many sensors on the site, every one is tested
	Share  int64 // of more, at least so many percent of each group, and at least one
	Widen  int64 // so many percent failed bring in the rest of the group
	Source string
}

// Group is sensors that are alike: of one test, type and geometry of the space.
type Group struct {
	Test     events.TestKind
	Type     string // maker, model and type in one; "" not known
	Geometry string // "" not known
	Devices  []events.Tag
	Drawn    []events.Tag // those that are to be tested, in natural order
	Failed   []events.Tag // those that ever failed, also where a later test passed
	Passed   []events.Tag // those whose test is passed
	Widened  bool         // so many failed that all are drawn
	Words    string       // how it was drawn, for people
}

// Room is what one room owes.
type Room struct {
	Room    events.RoomID
	Floor   events.FloorID
	Tests   []Test
	Unknown string // why nothing is known to be owed, and what to do; "" if something is
}

// Owed counts the tests of a room that are not passed.
func (r Room) Owed() int {
	n := 0
	for i := range r.Tests {
		if r.Tests[i].Owed() {
			n++
		}
	}
	return n
}

// State says how far a test has come.
type State string

// The states of a test.
const (
	Owed   State = "owed"   // nobody did it yet
	Passed State = "passed" // the last result that counts is good
	Failed State = "failed" // the last result that counts is bad: repeat it
	Stale  State = "stale"  // what was tested has been paired, reset or pushed since: repeat it
)

// Owed says whether a test that is asked for is still to be passed.
func (s State) Owed() bool { return s != Passed }

// Test is one functional test that a room or device owes.
type Test struct {
	Of       events.Subject // the room or the device
	Room     events.RoomID
	Test     events.TestKind
	Devices  []events.Tag     // of its room, those that it is about
	From     string           // where it comes from: [FromPlan] and so on
	Why      string           // the same for people
	Plan     *projection.Plan // nil where nobody planned it
	Limits   []Limit
	Verify   []string // what is to be seen
	Cautions []string
	State    State
	Waits    string   // what has to come before, "" if it can be done now
	Results  []Result // oldest first, also those that do not count any more
}

// Owed says whether the test is still to be passed. One that nothing asked for is
// owed where it failed and was not repeated with success.
func (t Test) Owed() bool {
	if t.From != FromLog {
		return t.State.Owed()
	}
	n := len(t.Results)
	return n > 0 && !t.Results[n-1].Pass
}

// Limit is a number that a test is held against.
type Limit struct {
	Name   string // with its unit, such as off_within_s
	Value  int64
	Unit   string
	Source string // the planned entry, or the setting and the rule it is from
	Words  string // "off within 20 min"
}

// Result is one time that a test was done.
type Result struct {
	Of         events.Subject
	Pass       bool
	Reading    string
	Instrument string
	Limit      string
	Note       string
	Done       projection.Cause
	By         string
	Repeats    events.Ref // the failed result that it repeats, zero for none
	Stale      string     // why it does not count any more, "" if it does
}

// Signed is a signature under a scope of work.
type Signed struct {
	projection.Signature
	By   string             // who recorded it
	Owed events.Maybe[int]  // tests of what was signed for that were not passed then; see [At]
	Left []Test             // those tests
	Open []projection.Fault // faults that were open there then
}
