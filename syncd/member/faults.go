package member

import (
	"cmp"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/checks"
)

// FaultsAnswer is the faults of a site at a moment, each with its whole history.
type FaultsAnswer struct {
	V      int          `json:"v"`
	Moment StatusMoment `json:"moment"`
	Faults []FaultsOne  `json:"faults"`
}

// FirstFaultsAnswer is the faults that come first, and how many there are.
type FirstFaultsAnswer struct {
	FaultsAnswer
	Standing int `json:"standing"` // all that are not cleared
	Cleared  int `json:"cleared"`
}

// FaultsOne is one fault.
type FaultsOne struct {
	ID       string       `json:"id"`
	Subject  string       `json:"subject"`
	Floor    string       `json:"floor"`
	Room     string       `json:"room"`
	Place    *[3]int64    `json:"place"` // mm in the site's axes, null where not known
	Symptom  string       `json:"symptom"`
	Severity string       `json:"severity"`
	Trade    string       `json:"trade"`
	Owner    string       `json:"owner"`
	Action   string       `json:"action"`
	State    string       `json:"state"` // open, assigned, cleared, reopened
	FoundAt  string       `json:"found_at"`
	By       string       `json:"by"`
	AgeDays  int          `json:"age_days"` // since the first finding; of a cleared one, how long it stood
	Event    string       `json:"event"`
	History  []FaultsStep `json:"history"`
	Photos   []FaultsPic  `json:"photos"`
}

// FaultsStep is one thing that was said of a fault.
type FaultsStep struct {
	What  string `json:"what"` // found, assigned, cleared, reopened
	At    string `json:"at"`
	By    string `json:"by"`
	Words string `json:"words"`
	Event string `json:"event"`
}

// FaultsPic is a picture of the subject, taken while the fault stood.
type FaultsPic struct {
	SHA256  string `json:"sha256"`
	Caption string `json:"caption"`
	At      string `json:"at"`
}

// Faults is the faults at a moment. Where that does not say when, they are as old as
// they are by this device's clock: a fault ages while nobody says anything.
func (m *Member) Faults(moment projection.Moment, keep func(checks.Trouble) bool) FaultsAnswer {
	return FaultsOf(m.aged(moment), keep)
}

// FirstFaults is Faults of no more than so many that stand and so many that are
// cleared, and of those besides that are meant.
func (m *Member) FirstFaults(moment projection.Moment, most int, meant func(*projection.Fault) bool) FirstFaultsAnswer {
	s := m.aged(moment)
	w := writer{s, s.Location()}
	a := FirstFaultsAnswer{FaultsAnswer: FaultsAnswer{V: AnswerVersion, Moment: w.moment(), Faults: []FaultsOne{}}}
	for _, f := range worstFirst(s.Faults) {
		n := &a.Cleared
		if f.Open() {
			n = &a.Standing
		}
		if *n++; *n <= most || meant(f) {
			t := checks.TroubleOf(s, f)
			a.Faults = append(a.Faults, w.faultStory(&t))
		}
	}
	return a
}

// aged is a site at a moment; where that does not say when, at this device's clock,
// by which everything that is known here has happened.
func (m *Member) aged(moment projection.Moment) *projection.Site {
	s := m.At(moment)
	now := m.world.wall()
	if moment.When.Known || now <= s.Moment.When.Value {
		return s
	}
	then := *s
	then.Moment.When = events.Some(now)
	return &then
}

// worstFirst puts the worst first, and then as they were found.
func worstFirst(faults []*projection.Fault) []*projection.Fault {
	return slices.SortedStableFunc(slices.Values(faults), func(x, y *projection.Fault) int {
		return cmp.Compare(slices.Index(events.Severities, x.Severity), slices.Index(events.Severities, y.Severity))
	})
}

// FaultsOf writes a site's faults as a document, the worst first and then as they
// were found; those that are to be kept, or all for nil.
func FaultsOf(s *projection.Site, keep func(checks.Trouble) bool) FaultsAnswer {
	w := writer{s, s.Location()}
	a := FaultsAnswer{V: AnswerVersion, Moment: w.moment(), Faults: []FaultsOne{}}
	for _, f := range worstFirst(s.Faults) {
		if t := checks.TroubleOf(s, f); keep == nil || keep(t) {
			a.Faults = append(a.Faults, w.faultStory(&t))
		}
	}
	return a
}

func (w writer) faultStory(t *checks.Trouble) FaultsOne {
	return FaultsOne{
		ID: t.Found.Event.ID.String(), Subject: t.Of.String(), Floor: string(t.Floor), Room: string(t.Room), Place: placeOf(t.Place),
		Symptom: t.Symptom, Severity: string(t.Severity), Trade: t.Trade, Owner: t.Owner, Action: t.Action, State: string(t.State),
		FoundAt: w.timeOf(&t.Found), By: t.By, AgeDays: t.Age, Event: refOf(&t.Found),
		History: listOf(t.Steps, func(x *checks.Step) FaultsStep {
			return FaultsStep{x.What, w.timeOf(&x.Done), x.By, x.Words, refOf(&x.Done)}
		}),
		Photos: listOf(t.Photos, func(p *projection.Photo) FaultsPic {
			return FaultsPic{p.Picture.SHA256, p.Caption, w.timeOf(&p.Added)}
		}),
	}
}
