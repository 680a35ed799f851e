package member

import (
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/checks"
)

// ChecksAnswer is what a site owes in functional checks, and what came of them.
type ChecksAnswer struct {
	V       int           `json:"v"`
	Moment  StatusMoment  `json:"moment"`
	Rule    ChecksRule    `json:"rule"`
	Groups  []ChecksGroup `json:"groups"`
	Rooms   []ChecksRoom  `json:"rooms"`
	Signed  []ChecksSign  `json:"signed"`
	Owed    int           `json:"owed"` // of the rooms listed
	Remarks []string      `json:"remarks"`
}

// ChecksRule is the sampling rule.
type ChecksRule struct {
	AllUpTo int64  `json:"all_up_to"`
	Percent int64  `json:"percent"`
	Widen   int64  `json:"widen_percent"`
	Source  string `json:"source"`
}

// ChecksGroup is sensors that are alike, and those of them that are drawn.
type ChecksGroup struct {
	Test     string   `json:"test"`
	Type     string   `json:"type"`     // "" not known
	Geometry string   `json:"geometry"` // "" not known
	Devices  []string `json:"devices"`
	Drawn    []string `json:"drawn"`
	Failed   int      `json:"failed"`
	Passed   int      `json:"passed"`
	FailedOf []string `json:"failed_devices"` // those that ever failed
	PassedOf []string `json:"passed_devices"`
	Widened  bool     `json:"widened"`
	Words    string   `json:"words"`
}

// ChecksRoom is what one room owes; the one with no name is that of devices in no
// known room.
type ChecksRoom struct {
	Room    string       `json:"room"`
	Floor   string       `json:"floor"`
	Tests   []ChecksTest `json:"tests"`
	Owed    int          `json:"owed"`
	Unknown string       `json:"unknown,omitempty"` // why nothing is known to be owed
}

// ChecksTest is one functional test.
type ChecksTest struct {
	Test     string         `json:"test"`
	Of       string         `json:"of"`
	Devices  []string       `json:"devices"`
	From     string         `json:"from"` // plan, schedule, sample, log
	Why      string         `json:"why"`
	Limits   []ChecksLimit  `json:"limits"`
	Verify   []string       `json:"verify"`
	State    string         `json:"state"` // owed, passed, failed, stale
	Owed     bool           `json:"owed"`
	Waits    string         `json:"waits,omitempty"`
	Cautions []string       `json:"cautions"`
	Results  []ChecksResult `json:"results"`
}

// ChecksLimit is a number that a test is held against.
type ChecksLimit struct {
	Name   string `json:"name"`
	Value  int64  `json:"value"`
	Unit   string `json:"unit"`
	Source string `json:"source"`
	Words  string `json:"words"`
}

// ChecksResult is one time that a test was done.
type ChecksResult struct {
	Of         string `json:"of"`
	Pass       bool   `json:"pass"`
	Reading    string `json:"reading"`
	Instrument string `json:"instrument"`
	Limit      string `json:"limit"`
	At         string `json:"at"`
	By         string `json:"by"`
	Event      string `json:"event"`
	Note       string `json:"note"`
	Repeats    string `json:"repeats,omitempty"` // the failed result before it
	Stale      string `json:"stale,omitempty"`   // why it does not count any more
}

// ChecksSign is a signature, with what was owed of it then.
type ChecksSign struct {
	Of     string   `json:"of"`
	Scope  string   `json:"scope"`
	Signer string   `json:"signer"`
	As     string   `json:"as"`
	At     string   `json:"at"`
	By     string   `json:"by"`
	Event  string   `json:"event"`
	Owed   int      `json:"owed"`
	Left   []string `json:"left"`   // those tests, in words
	Faults []string `json:"faults"` // that were open, by the entries that found them
}

// Checks is what the site, or one room of it, owes at a moment.
func (m *Member) Checks(moment projection.Moment, keep func(checks.Room) bool) ChecksAnswer {
	m.mu.Lock()
	book := checks.At(&m.history, moment)
	m.mu.Unlock()
	return ChecksOf(book, keep)
}

// ChecksOf writes a book as a document, of the rooms that are to be kept; nil keeps
// all.
func ChecksOf(book checks.Book, keep func(checks.Room) bool) ChecksAnswer {
	w := writer{book.Site, book.Site.Location()}
	rooms := book.Rooms
	if keep != nil {
		rooms = slices.DeleteFunc(slices.Clone(rooms), func(r checks.Room) bool { return !keep(r) })
	}
	a := ChecksAnswer{
		V: AnswerVersion, Moment: w.moment(), Rule: ChecksRule{book.Rule.All, book.Rule.Share, book.Rule.Widen, book.Rule.Source},
		Groups: listOf(book.Groups, checksGroup), Rooms: listOf(rooms, w.checksRoom),
		Signed: listOf(book.Signed, w.checksSign), Remarks: append([]string{}, book.Remarks...),
	}
	for _, r := range a.Rooms {
		a.Owed += r.Owed
	}
	return a
}

func checksGroup(g *checks.Group) ChecksGroup {
	return ChecksGroup{
		string(g.Test), g.Type, g.Geometry, texts(g.Devices), texts(g.Drawn),
		len(g.Failed), len(g.Passed), texts(g.Failed), texts(g.Passed), g.Widened, g.Words,
	}
}

func (w writer) checksRoom(r *checks.Room) ChecksRoom {
	return ChecksRoom{string(r.Room), string(r.Floor), listOf(r.Tests, w.checksTest), r.Owed(), r.Unknown}
}

func (w writer) checksTest(t *checks.Test) ChecksTest {
	return ChecksTest{
		Test: string(t.Test), Of: t.Of.String(), Devices: texts(t.Devices), From: t.From, Why: t.Why,
		Limits: listOf(t.Limits, func(l *checks.Limit) ChecksLimit { return ChecksLimit(*l) }),
		Verify: append([]string{}, t.Verify...), State: string(t.State), Owed: t.Owed(), Waits: t.Waits,
		Cautions: append([]string{}, t.Cautions...), Results: listOf(t.Results, w.checksResult),
	}
}

func (w writer) checksResult(r *checks.Result) ChecksResult {
	a := ChecksResult{
		Of: r.Of.String(), Pass: r.Pass, Reading: r.Reading, Instrument: r.Instrument, Limit: r.Limit,
		At: w.timeOf(&r.Done), By: r.By, Event: refOf(&r.Done), Note: r.Note, Stale: r.Stale,
	}
	if r.Repeats != (events.Ref{}) {
		a.Repeats = r.Repeats.String()
	}
	return a
}

func (w writer) checksSign(x *checks.Signed) ChecksSign {
	return ChecksSign{
		Of: x.Of.String(), Scope: x.Scope, Signer: x.Signer, As: x.As, At: w.timeOf(&x.Signed), By: x.By, Event: refOf(&x.Signed), Owed: x.Owed.Value,
		Left:   listOf(x.Left, func(t *checks.Test) string { return string(t.Test) + " of " + t.Of.Words() + ": " + string(t.State) }),
		Faults: listOf(x.Open, func(f *projection.Fault) string { return refOf(&f.Found) }),
	}
}
