package member

import (
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection/callback"
	"pairwalk/projection/walk"
)

// ExplainAnswer is what the log knows of a complaint: what to ask first, then the
// causes, likeliest first.
type ExplainAnswer struct {
	V       int               `json:"v"`
	Subject string            `json:"subject"`
	Devices []string          `json:"devices"`
	Symptom string            `json:"symptom"` // "" unknown
	From    string            `json:"from"`
	To      string            `json:"to"`
	Known   string            `json:"known"` // "everything", or a member's name and a time
	Head    string            `json:"head"`
	Silence *ExplainSilence   `json:"silence,omitempty"` // absent where never handed over
	Ask     []string          `json:"ask"`
	Causes  []ExplainCause    `json:"causes"`
	Left    []string          `json:"left"` // devices that no cause concerns
	Nothing bool              `json:"nothing"`
	Open    bool              `json:"open"`  // nothing that happened explains it well
	Notes   []ExplainEvidence `json:"notes"` // noted since on what is asked about, the newest first
	Words   string            `json:"words"`
	Caution string            `json:"caution"`
}

// ExplainSilence is how much was logged since handover.
type ExplainSilence struct {
	SignedAt string `json:"signed_at"`
	By       string `json:"by"`
	As       string `json:"as"`
	Event    string `json:"event"`
	Days     int    `json:"days"`
	Entries  int    `json:"entries"`
	Within   int    `json:"within"`           // those of the time asked about
	Newest   string `json:"newest,omitempty"` // the newest of them
}

// ExplainCause is one cause with what speaks for and against it.
type ExplainCause struct {
	Kind           string            `json:"kind"`
	Subject        string            `json:"subject"`
	Devices        []string          `json:"devices"`
	Words          string            `json:"words"`
	Weight         int               `json:"weight"`
	Events         []string          `json:"events"`
	For            []ExplainEvidence `json:"for"`
	Against        []ExplainEvidence `json:"against"`
	Check          []string          `json:"check"`
	Cautions       []string          `json:"cautions"`
	Record         []string          `json:"record"`
	Counterfactual string            `json:"counterfactual"`
	Acted          []string          `json:"acted"`
}

// ExplainEvidence is an entry that speaks for or against a cause.
type ExplainEvidence struct {
	Words string `json:"words"`
	Event string `json:"event"`
	At    string `json:"at"`
	By    string `json:"by"` // "" for what is computed
}

// Explain says what in the log would explain a complaint.
func (m *Member) Explain(q callback.Question) (ExplainAnswer, error) {
	if q.Symptom != "" && !slices.Contains(callback.Symptoms, q.Symptom) {
		return ExplainAnswer{}, fmt.Errorf("explain: %q is no symptom; there are %v", q.Symptom, callback.Symptoms)
	}
	switch q.About.Class {
	case events.OfDevice, events.OfRoom, events.OfFloor, events.OfCircuit, events.OfHub:
	default:
		return ExplainAnswer{}, fmt.Errorf("explain: %s is no device, room, floor, circuit or hub", q.About.Words())
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	e := callback.Explain(&m.history, q)
	return ExplainOf(&e), nil
}

// Complained finds what a complaint is about; a device may be called by a tag it had
// before, and a room by what devices say of where they are.
func (m *Member) Complained(text string) (events.Subject, error) {
	x, err := m.Subject(text)
	if err == nil {
		return x, nil
	}
	for _, d := range m.Now().Devices {
		if slices.Contains(d.Was, events.Tag(text)) {
			return events.Device(d.Device), nil
		}
		if string(d.Room) == text {
			return events.Room(d.Room), nil
		}
	}
	return x, err
}

// ExplainOf writes an explanation as a document.
func ExplainOf(e *callback.Explanation) ExplainAnswer {
	w := writer{e.Site, e.Site.Location()}
	a := ExplainAnswer{
		V: AnswerVersion, Subject: e.About.String(), Devices: texts(e.Devices), Symptom: string(e.Symptom),
		From: w.time(e.From.Value), To: w.time(e.To.Value), Known: w.moment().Known, Head: e.Head,
		Ask: append([]string{}, e.Ask...), Left: texts(e.Left), Nothing: e.Nothing, Open: e.Open, Words: e.Words, Caution: walk.CautionPermit,
	}
	if s := e.Silence; s != nil {
		a.Silence = &ExplainSilence{
			SignedAt: w.time(s.Signed.Signed.At), By: s.Signed.Signer, As: s.Signed.As, Event: refOf(&s.Signed.Signed), Days: s.Days, Entries: s.Entries, Within: s.Within,
		}
		if s.Newest != nil {
			a.Silence.Newest = refOf(&s.Newest.Cause)
		}
	}
	a.Notes = listOf(e.Notes, w.evidence)
	a.Causes = listOf(e.Causes, w.explained)
	return a
}

func (w writer) evidence(x *callback.Evidence) ExplainEvidence {
	return ExplainEvidence{x.Words, x.Event.String(), w.time(x.At), x.By}
}

func (w writer) explained(c *callback.Cause) ExplainCause {
	return ExplainCause{
		Kind: string(c.Kind), Subject: c.Subject.String(), Devices: texts(c.Devices), Words: c.Words, Weight: c.Weight,
		Events: texts(c.Events), For: listOf(c.For, w.evidence), Against: listOf(c.Against, w.evidence),
		Check: append([]string{}, c.Check...), Cautions: append([]string{}, c.Cautions...), Record: append([]string{}, c.Record...),
		Counterfactual: c.Counterfactual, Acted: append([]string{}, c.Acted...),
	}
}
