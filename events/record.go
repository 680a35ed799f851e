package events

import "fmt"

// HoldPlaced says nobody touches a subject until the hold is lifted. A hold is
// not a lockout.
type HoldPlaced struct {
	said
	Of  Subject
	Why string
	Who string // who asked for it, such as "electrician in C3-7"
}

func (HoldPlaced) Kind() Kind            { return "hold.placed" }
func (p HoldPlaced) Subjects() []Subject { return []Subject{p.Of} }
func (p HoldPlaced) String() string {
	return words(fmt.Sprintf("hold on %s: %s", p.Of.Words(), p.Why), optional("for ", p.Who))
}

func (p *HoldPlaced) fields(w *walk) {
	subject(w, "of", &p.Of)
	text(w, "why", &p.Why, line)
	textOpt(w, "who", &p.Who, line)
}

// HoldLifted ends every hold on a subject.
type HoldLifted struct {
	said
	Of   Subject
	Note string
}

func (HoldLifted) Kind() Kind            { return "hold.lifted" }
func (p HoldLifted) Subjects() []Subject { return []Subject{p.Of} }
func (p HoldLifted) String() string {
	return words("lifted the hold on", p.Of.Words(), optional("- ", p.Note))
}

func (p *HoldLifted) fields(w *walk) {
	subject(w, "of", &p.Of)
	textOpt(w, "note", &p.Note, prose)
}

// FaultFound says what is wrong with a subject.
type FaultFound struct {
	said
	Of       Subject
	Symptom  string
	Severity Severity
	Trade    string // whose work it is, such as "electrical"
	Owner    string
	Action   string
}

func (FaultFound) Kind() Kind            { return "fault.found" }
func (p FaultFound) Subjects() []Subject { return []Subject{p.Of} }
func (p FaultFound) String() string {
	return fmt.Sprintf("%s fault on %s: %s", p.Severity, p.Of.Words(), p.Symptom)
}

func (p *FaultFound) fields(w *walk) {
	subject(w, "of", &p.Of)
	text(w, "symptom", &p.Symptom, prose)
	text(w, "severity", &p.Severity, oneOf(Severities...))
	textOpt(w, "trade", &p.Trade, line)
	textOpt(w, "owner", &p.Owner, line)
	textOpt(w, "action", &p.Action, prose)
}

// FaultAssigned says who is to mend a fault.
type FaultAssigned struct {
	said
	Fault  Ref
	Trade  string
	Owner  string
	Action string
}

func (FaultAssigned) Kind() Kind          { return "fault.assigned" }
func (FaultAssigned) Subjects() []Subject { return nil }
func (p FaultAssigned) String() string {
	return words("assigned the fault", optional("to ", p.Owner), optional("of trade ", p.Trade), optional("- ", p.Action))
}

func (p *FaultAssigned) fields(w *walk) {
	refText(w, "fault", &p.Fault)
	textOpt(w, "trade", &p.Trade, line)
	textOpt(w, "owner", &p.Owner, line)
	textOpt(w, "action", &p.Action, prose)
	if w.err == nil && p.Trade == "" && p.Owner == "" && p.Action == "" {
		w.fail("one of trade, owner and action is missing")
	}
}

// FaultCleared says a fault is mended, and how.
type FaultCleared struct {
	said
	Fault  Ref
	Action string
}

func (FaultCleared) Kind() Kind          { return "fault.cleared" }
func (FaultCleared) Subjects() []Subject { return nil }
func (p FaultCleared) String() string    { return words("cleared the fault", optional("- ", p.Action)) }

func (p *FaultCleared) fields(w *walk) {
	refText(w, "fault", &p.Fault)
	textOpt(w, "action", &p.Action, prose)
}

// FaultReopened says a cleared fault is back.
type FaultReopened struct {
	said
	Fault Ref
	Why   string
}

func (FaultReopened) Kind() Kind          { return "fault.reopened" }
func (FaultReopened) Subjects() []Subject { return nil }
func (p FaultReopened) String() string    { return "reopened the fault: " + p.Why }

func (p *FaultReopened) fields(w *walk) {
	refText(w, "fault", &p.Fault)
	text(w, "why", &p.Why, line)
}

// CheckDone is the result of a functional test of a room or device.
type CheckDone struct {
	said
	Of         Subject
	Test       TestKind
	Reading    string // with its unit, such as "12 min"
	Instrument string
	Limit      string // what it was held against, such as "20 min"
	Pass       bool
	Note       string
}

func (CheckDone) Kind() Kind            { return "check.done" }
func (p CheckDone) Subjects() []Subject { return []Subject{p.Of} }
func (p CheckDone) String() string {
	verdict := "failed"
	if p.Pass {
		verdict = "passed"
	}
	said := fmt.Sprintf("%s check of %s %s", p.Test, p.Of.Words(), verdict)
	if p.Reading != "" {
		said += ": " + p.Reading
	}
	if p.Limit != "" {
		said += " (limit: " + p.Limit + ")"
	}
	return said
}

func (p *CheckDone) fields(w *walk) {
	subject(w, "of", &p.Of)
	text(w, "test", &p.Test, oneOf(TestKinds...))
	textOpt(w, "reading", &p.Reading, line)
	textOpt(w, "instrument", &p.Instrument, line)
	textOpt(w, "limit", &p.Limit, line)
	boolean(w, "pass", &p.Pass)
	textOpt(w, "note", &p.Note, prose)
}

// WorkSigned is somebody's signature under a scope of work, in a role.
type WorkSigned struct {
	said
	Of     Subject
	Scope  string
	Signer string
	As     string // the signer's role, such as "commissioning lead"
}

func (WorkSigned) Kind() Kind            { return "work.signed" }
func (p WorkSigned) Subjects() []Subject { return []Subject{p.Of} }
func (p WorkSigned) String() string {
	return fmt.Sprintf("%s signed for %s as %s: %s", p.Signer, p.Of.Words(), p.As, p.Scope)
}

func (p *WorkSigned) fields(w *walk) {
	subject(w, "of", &p.Of)
	text(w, "scope", &p.Scope, line)
	text(w, "signer", &p.Signer, named)
	text(w, "as", &p.As, named)
}

// NoteAdded is a remark.
type NoteAdded struct {
	said
	Of   Subject
	Text string
}

func (NoteAdded) Kind() Kind            { return "note.added" }
func (p NoteAdded) Subjects() []Subject { return []Subject{p.Of} }
func (p NoteAdded) String() string      { return fmt.Sprintf("note on %s: %s", p.Of.Words(), p.Text) }

func (p *NoteAdded) fields(w *walk) {
	subject(w, "of", &p.Of)
	text(w, "text", &p.Text, prose)
}

// PhotoAdded says a picture of a subject is kept beside the log.
type PhotoAdded struct {
	said
	Of      Subject
	Picture Picture
	Caption string
}

func (PhotoAdded) Kind() Kind            { return "photo.added" }
func (p PhotoAdded) Subjects() []Subject { return []Subject{p.Of} }
func (p PhotoAdded) String() string {
	return words("photo of", p.Of.Words(), optional("- ", p.Caption))
}

func (p *PhotoAdded) fields(w *walk) {
	subject(w, "of", &p.Of)
	p.Picture.fields(w)
	textOpt(w, "caption", &p.Caption, line)
}

// ConflictResolved closes a conflict: what stands, and why. What stands is the
// reference of an event or a serial, as the conflict offers.
type ConflictResolved struct {
	said
	Key    string
	Stands string
	Why    string
}

func (ConflictResolved) Kind() Kind          { return "conflict.resolved" }
func (ConflictResolved) Subjects() []Subject { return nil }
func (p ConflictResolved) String() string {
	return words("resolved", p.Key+":", optional("stands ", p.Stands), optional("- ", p.Why))
}

func (p *ConflictResolved) fields(w *walk) {
	text(w, "key", &p.Key, line)
	textOpt(w, "stands", &p.Stands, line)
	text(w, "why", &p.Why, prose)
}

// EventVoided withdraws an earlier entry. Nothing is erased.
type EventVoided struct {
	said
	Event Ref
	Why   VoidWhy
	Note  string
}

func (EventVoided) Kind() Kind          { return "event.voided" }
func (EventVoided) Subjects() []Subject { return nil }
func (p EventVoided) String() string {
	return words(fmt.Sprintf("voided entry %d of %s: %s", p.Event.Seq, p.Event.Feed.Short(), p.Why), optional("- ", p.Note))
}

func (p *EventVoided) fields(w *walk) {
	refText(w, "event", &p.Event)
	text(w, "why", &p.Why, oneOf(VoidWhys...))
	textOpt(w, "note", &p.Note, prose)
}
